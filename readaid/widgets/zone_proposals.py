"""Zones proposed by the computer: found, sorted against those that are there, shown with how sure they are, mended.

Conventions: a proposal never doubles a sign. What lies on a zone that is there already, drawn on this photograph or on
one it is laid with, is left out; where it differs it is offered as a *correction*. A photograph that shows the same
signs and is not laid over the other one is asked about before anything is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from readaid.core.character import Inscription
from readaid.core.errors import OptionError, PhotoError
from readaid.core.photo import Photo, Point, Zone, rectangle
from readaid.core.texts import plural, told, wording
from readaid.piece.doubles import sorted_out
from readaid.widgets.desk import short
from readaid.widgets.inscription_choice import kind_of
from readaid.widgets.panel import Part
from readaid.widgets.zone_rows import inscription_title, sign_of, to_look_at, zone_label


class Proposing(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""


    def __init__(self, panel: Any) -> None:
        super().__init__(panel)
        self.question: dict[str, Any] | None = None
        self.corrections: list[dict[str, Any]] = []

    def shown(self, photo: Photo) -> dict[str, Any]:
        """The question and the corrections that wait for the reader."""
        zones = {z.id: z for z in self.panel.desk.piece.surfaces.zones_on(photo)}
        self.corrections = [c for c in self.corrections if c["photo"] == photo.id and set(c["zones"]) <= set(zones)]
        rows = []
        for n, c in enumerate(self.corrections):
            labels = [zone_label(self.panel.desk, z) or wording("without a number") for z in c["zones"]]
            words = {
                "outline": wording("Zone {0}: another outline", labels[0]),
                "split": wording("Zone {0}: perhaps {1} signs", labels[0], len(c['boxes'])),
                "join": wording("Zones {0}: perhaps one sign", wording(', ').join(labels)),
            }[c["what"]]
            boxes = [dict(zip("xywh", self.panel.showing.turned(b, photo), strict=True)) for b in c["boxes"]]
            rows.append({"n": n, "zone": c["zones"][0], "words": words, "boxes": boxes})
        question = self.question if self.question and self.question["photo"] == photo.id else None
        return {"corrections": rows, "question": question,
                "to_look": [z.id for z in zones.values() if to_look_at(z)]}

    # --- looking for writing ----------------------------------------------------------------
    def do_propose(self, region: list[float] | None = None, where: str = "") -> None:
        """Propose zones (in ``region``: x, y, width, height); the result is to be mended.

        ``where`` answers the question asked before signs would be counted twice: "add", "lay", or "+" and a kind.
        """
        photo = self.panel.desk.find(Photo, self.panel.desk.photo)
        if photo is None:
            raise OptionError("No photograph is shown", cure="add one first")
        if not where and (question := self._doubling(photo)):
            self.question = {**question, "photo": photo.id, "region": region}
            self.refresh()
            self.say(question["text"])
            return
        self.question = None
        if where == "lay":
            self._lay_then_propose(photo, region)
            return
        inscribing = self.panel.inscribing
        target = inscribing.start(kind_of(where[1:])) if where.startswith("+") else inscribing.target()
        self._look_for_writing(photo, target, region)

    def do_leave_question(self) -> None:
        """Draw nothing."""
        self.question = None
        self.refresh()
        self.say(wording("Nothing was drawn."))

    def _look_for_writing(self, photo: Photo, target: str, region: list[float] | None) -> None:
        options = {"region": tuple(self.panel.showing.turned(region, photo))} if region else {}

        def done(columns: list[list[Zone]]) -> None:
            self._found(photo, target, columns)

        self.panel.work.run(wording("Looking for columns and signs …"),
                   lambda _step: self.panel.desk.piece.layout.propose(photo, **options), done)

    def _found(self, photo: Photo, target: str, columns: list[list[Zone]]) -> None:
        known = {z.id: z.box for z in self.panel.desk.piece.surfaces.zones_on(photo)}
        new, corrections, on_zones = sorted_out(columns, known)
        read = {z for k in self.panel.desk.contents.characters if sign_of(k)[1] == "read" for z in k.zones}
        corrections = [c for c in corrections if not set(c["zones"]) <= read]  # the reader has made those out already
        self.corrections = [{**c, "photo": photo.id} for c in corrections]
        said = []
        if new:
            layout = self.panel.desk.piece.layout
            self.panel.desk.gesture(wording("zones proposed"), lambda: layout.draw_columns(target, photo, new))
            n = sum(len(column) for column in new)
            many, where = plural(n, "{0} zone", "{0} zones"), plural(len(new), "{0} column", "{0} columns")
            said.append(wording("{0} in {1} proposed. Look at each: move, delete and add what is wrong.", many, where))
        else:
            self.refresh()
        if on_zones:
            said.append(plural(
                on_zones,
                "{0} more lies on zones that are there already: nothing was doubled.",
                "{0} more lie on zones that are there already: nothing was doubled.") if new else
                        wording("All {0} signs that were found have zones already: nothing was doubled.", on_zones))
        if corrections:
            n = len(corrections)
            said.append(plural(
                n,
                "{0} of them differs; see the corrections offered beside the photograph.",
                "{0} of them differ; see the corrections offered beside the photograph."))
        heights = sorted(z.box[3] for column in columns for z in column)
        if heights and heights[len(heights) // 2] < 60:
            said.append(wording(
                "The signs are only about {0} pixels high: below 60, fine strokes are lost. A nearer photograph "
                "would help.",
                f"{heights[len(heights) // 2]:.0f}"))
        if not said:
            said.append(wording(
                "No writing was found that has no zone yet. Draw the zones by hand, try another view or "
                "photograph, or zoom to the writing first."))
        self.say(" ".join(said))

    # --- the same signs on another photograph ---------------------------------------------------
    def _doubling(self, photo: Photo) -> dict[str, Any] | None:
        """What to ask where the chosen inscription has its signs on photographs that this one is not laid with."""
        c, surfaces = self.panel.desk.contents, self.panel.desk.piece.surfaces
        target = self.panel.desk.find(Inscription, self.panel.desk.inscription)
        members = set(target.characters) if target else set()
        mine = {z for k in c.characters if k.id in members for z in k.zones}
        homes = [z.photo for z in c.zones if z.id in mine]
        if target is None or not homes or any(surfaces.together(photo, h) for h in set(homes)):
            return None
        home = self.panel.desk.find(Photo, max(set(homes), key=homes.count))
        name = inscription_title(target, [i.id for i in c.inscriptions].index(target.id))
        other = short(home, home.file) if home else wording("another photograph")
        text = (wording(
            "{0} has its {1} zones on {2}, and this photograph is not laid over that one. If it shows the same "
            "signs, they would be counted twice.",
            name,
            len(homes),
            other))
        choices = [["+", wording("They are other signs: a new inscription")],
                   ["add", wording("They are further signs of {0}: add them", name)]]
        if home is not None and not (home.surface and photo.surface and home.surface != photo.surface):
            choices.insert(0, ["lay", wording(
                "The same surface: lay it over {0}, then propose what has no zone yet",
                other)])
        return {"text": text, "choices": choices, "base": home.id if home else ""}

    def _lay_then_propose(self, photo: Photo, region: list[float] | None) -> None:
        question = self._doubling(photo)
        if question is None or not question["base"]:
            self._look_for_writing(photo, self.panel.inscribing.target(), region)
            return
        surfaces = self.panel.desk.piece.surfaces

        def done(found: Photo) -> None:
            self.panel.desk.gesture(wording("photograph laid over another"), lambda: surfaces.keep_alignment(found))
            self._look_for_writing(found, self.panel.inscribing.target(), region)

        def work(_step: Any) -> Photo:
            try:
                found: Photo = surfaces.find_alignment(photo, question["base"])
                return found
            except PhotoError as error:
                raise PhotoError(wording("{0}, so nothing was drawn", told(error.what)), error.where,
                                 wording("{0}; or say that these are other signs", told(error.cure))) from error

        self.panel.work.run(wording("Laying the photograph over the other …"), work, done)

    # --- mending ----------------------------------------------------------------------------------
    def do_right(self, zone: str) -> None:
        """The proposed zone is right as it is."""
        label = zone_label(self.panel.desk, zone)
        self.panel.desk.gesture(wording(
            "zone {0} found right",
            label), lambda: self.panel.desk.piece.layout.approve(zone))
        self.say(wording("Zone {0} counts as yours now.", label))

    def do_correct(self, which: int, take: bool = True) -> None:
        """Take one of the corrections offered, or leave it."""
        if not 0 <= which < len(self.corrections):
            raise OptionError("That correction is not offered any more", cure="propose zones again")
        offered = self.corrections.pop(which)
        if take:
            self._take(offered)
        self.refresh()
        self.say(wording("Taken over; Undo takes it back.") if take else wording("Left as it is."))

    def do_leave_corrections(self) -> None:
        """Leave everything as it is."""
        self.corrections = []
        self.refresh()
        self.say(wording("The zones were left as they are."))

    def _take(self, offered: dict[str, Any]) -> None:
        layout, boxes, zones = self.panel.desk.piece.layout, offered["boxes"], offered["zones"]
        record = self.panel.desk.find(Zone, zones[0])
        if record is None:
            raise OptionError("That zone is not there any more", zones[0], "propose zones again")
        place = next(((i, t, k) for t in self.panel.desk.contents.inscriptions for k, column in enumerate(t.columns)
                      for i, c in enumerate(column) if c in self._holding(zones[0])), None)

        def work() -> None:
            layout.move(record, self._home_outline(record, boxes[0]))
            for gone in zones[1:]:
                layout.delete(gone)
            for step, box in enumerate(boxes[1:], start=1):
                if place is not None:
                    at, target, column = place
                    layout.draw(target.id, offered["photo"], rectangle(*box), column=column, at=at + step)

        self.panel.desk.gesture({"outline": wording(
            "outline corrected"), "split": wording(
            "zone split"), "join": wording(
            "zones made one")}
                          [offered["what"]], work)

    def _holding(self, zone: str) -> set[str]:
        return {k.id for k in self.panel.desk.contents.characters if zone in k.zones}

    def _home_outline(self, zone: Zone, box: Sequence[float]) -> tuple[Point, ...]:
        """A box of the shown photograph on the photograph the zone was drawn on."""
        desk = self.panel.desk
        found: tuple[Point, ...] | None = desk.piece.surfaces.carried(rectangle(*box), desk.photo, zone.photo)
        if found is None:
            raise OptionError("The zone has no place there on its own photograph", cure="draw it by hand")
        return found
