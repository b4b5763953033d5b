"""The photo board: the photograph on its mat with marks beside the signs, and what is done on it.

Conventions: full-size image pixels after EXIF rotation, of the picture as it is read (see ``photo_display``). Every
gesture is one step of undo. The board holds its parts, each of which answers its own askings: ``showing`` (views and
tiles), ``facts`` (surface and lamp), ``surface`` (several photographs of one surface), ``inscribing`` (which
inscription zones go to), ``proposing``, ``ruling``, ``receipt`` (photographs from the
reader's disk) and ``work`` (what runs beside the loop).
"""

from __future__ import annotations

import base64
import statistics
from typing import Any

import traitlets as t

from readaid.core.errors import OptionError
from readaid.core.photo import Photo, Zone, rectangle
from readaid.core.preference import prefer, preferred
from readaid.core.texts import plural, told, wording
from readaid.piece import allotment, sign_order
from readaid.widgets.desk import Desk, short
from readaid.widgets.inscription_choice import Inscribing
from readaid.widgets.known_lengths import scale_words, with_length
from readaid.widgets.long_work import LongWork
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.photo_display import Showing
from readaid.widgets.photo_facts import PhotoFacts
from readaid.widgets.photo_receipt import PhotoReceipt
from readaid.widgets.pinned_notes import PinnedNotes
from readaid.widgets.ruler_offer import Ruling
from readaid.widgets.surface_work import SurfaceWork
from readaid.widgets.zone_proposals import Proposing
from readaid.widgets.zone_rows import zone_label, zone_rows


class PhotoBoard(Panel):
    """The photograph of the desk with its zones."""

    _esm = module_text("photo_board.js")
    _css = style_text("photo_board.css")
    overview = t.Bytes(b"").tag(sync=True)
    overview_layer = t.Int(0).tag(sync=True)
    editing = t.Bool(True).tag(sync=True)

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.work = LongWork(self)
        self.receipt = PhotoReceipt(self)
        self.showing = Showing(self)
        self.facts = PhotoFacts(self)
        self.surface = SurfaceWork(self)
        self.inscribing = Inscribing(self)
        self.ruling = Ruling(self)
        self.proposing = Proposing(self)
        self.pins = PinnedNotes(self)
        self.parts = (self.pins, self.work, self.receipt, self.showing, self.facts, self.surface, self.inscribing,
                      self.ruling, self.proposing)
        self._advised: tuple[Any, list[str]] | None = None
        super().__init__(editing=not desk.piece.read_only)
        self.refresh()
        desk.listen(self._heard)

    def _heard(self, what: str) -> None:
        if what != "reading":
            self.refresh()

    @property
    def layer(self) -> int:
        """Number of the look that is on the screen."""
        return self.showing.layer

    # --- what is shown -----------------------------------------------------
    def refresh(self) -> None:
        """Show the desk as it is now."""
        desk = self.desk
        photo = desk.find(Photo, desk.photo)
        state: dict[str, Any] = {
            "stage": desk.stage,
            "photo": desk.photo,
            "width": 1,
            "height": 1,
            "max_z": 0,
            "mat": preferred(desk.piece.reader, "mat"),
            "tile": 512,
            "zones": [],
            "regions": [],
            "photos": self.facts.rows(),
            "companions": [],
            "notes": [],
            **self.inscribing.shown(),
            "selected": desk.zone,
            "busy": self.work.busy,
            "scale": None,
            "views": [],
            "view": "plain",
            "usual": None,
            "trouble": "",
            "layer": self.showing.layer,
            "parted": [[k, told(words)] for k, words in allotment.KINDS.items()],
        }
        if photo is not None:
            state |= self._of(photo)
        self.state = state

    def _of(self, photo: Photo) -> dict[str, Any]:
        """What is shown of the photograph that lies on the mat."""
        desk, c = self.desk, self.desk.contents
        shown = self.showing.shown(photo)
        flip = float(photo.width) if self.showing.flip(photo) else None
        zones = zone_rows(desk, flip)
        scale = scale_words(photo, c.piece)
        if scale is not None and flip is not None:
            for end in ("a", "b", "check_a", "check_b"):
                scale[end] = scale[end] and self.showing.turned_points([scale[end]], photo)[0]
        state: dict[str, Any] = {
            **shown,
            "zones": zones,
            "elsewhere": None if zones else self._elsewhere(),
            "regions": self._regions(photo),
            "scale": scale,
            "advice": [told(a) for a in self._advice() if self._about_shown(a, photo)],
            "advice_others": [told(a) for a in self._advice() if not self._about_shown(a, photo)],
            "about": self.facts.shown(photo),
            "notes": self.pins.shown(photo),
            "companions": self.facts.companions(photo),
            **self.surface.shown(photo),
            **self.proposing.shown(photo),
            **self.ruling.shown(photo),
        }
        if zones:
            state["usual"] = [statistics.median(z["w"] for z in zones), statistics.median(z["h"] for z in zones)]
        return state

    def _elsewhere(self) -> dict[str, str] | None:
        """The photograph on which the chosen inscription's marks lie, id and title, where none shows here."""
        desk = self.desk
        lying = (desk.find(Zone, z) for k in desk.ordered() for z in k.zones)
        home = next((desk.find(Photo, zone.photo) for zone in lying if zone is not None), None)
        return None if home is None else {"id": home.id, "title": short(home, home.file)}

    def _regions(self, photo: Photo) -> list[dict[str, Any]]:
        """Marked regions of the photograph, in pixels of the picture as it is read."""
        return [{"outline": self.showing.turned_points(r.outline, photo), "words": f"{r.cause}: {r.advice}"}
                for r in self.desk.contents.regions if r.photo == photo.id]

    @staticmethod
    def _about_shown(advice: str, photo: Photo) -> bool:
        """Whether a piece of advice is about the shown photograph or its surface: it begins with the name of one."""
        return advice.startswith((f"{photo.title or photo.file}:", f"{photo.surface or 'The surface'}:"))

    def _advice(self) -> list[str]:
        """What the photographs lack, told once for each state of photographs and zones."""
        c = self.desk.contents
        key = (c.photos, len(c.zones) // 4)  # the size of the signs hardly changes from zone to zone
        if self._advised is None or self._advised[0] != key:
            self._advised = (key, self.desk.piece.advice())
        return self._advised[1]

    def do_mat(self) -> None:
        """Lay a light mat under the photograph, or a dark one; kept for the reader."""
        reader = self.desk.piece.reader
        prefer(reader, "mat", "dark" if preferred(reader, "mat") == "light" else "light")
        self.refresh()

    # --- choosing ---------------------------------------------------------------
    def do_select(self, zone: str) -> None:
        """Choose a zone."""
        self.desk.choose(zone=zone)

    def do_photo(self, photo: str) -> None:
        """Show another photograph; what is chosen stays chosen where it shows there."""
        self.desk.choose(photo=photo)

    # --- zones ---------------------------------------------------------------------
    def do_add_zone(self, box: list[float]) -> None:
        """Draw one zone round one sign."""
        target, outline = self.inscribing.target(), rectangle(*self.showing.turned(box))
        zone, _ = self.desk.gesture(
            wording("zone drawn"), lambda: self.desk.piece.layout.draw(target, self.desk.photo, outline)
        )
        self.desk.choose(zone=zone.id)
        self.desk.flush()
        self.send({"type": "go", "zone": zone.id, "focus": True})
        self.say(wording("Zone {0} drawn.", zone_label(self.desk, zone.id)))

    def do_change_zone(self, zone: str, box: list[float]) -> None:
        """Move or resize a zone; an outline that is no rectangle keeps its form."""
        record = self._zone(zone)
        outline = self.surface.outline_home(record, self.showing.turned(box))
        self.desk.gesture(wording("zone changed"), lambda: self.desk.piece.layout.move(record, outline))

    def do_delete_zone(self, zone: str) -> None:
        """Take a zone away."""
        label = zone_label(self.desk, zone)
        self.desk.gesture(wording("zone {0} deleted", label), lambda: self.desk.piece.layout.delete(self._zone(zone)))
        self.say(wording("Zone {0} taken away; Undo brings it back.", label))

    def do_allot(self, zones: list[str], what: str) -> None:
        """Say what the chosen zones are: a signature, a monogram, a seal, another inscription, or no writing."""
        words = told(allotment.KINDS.get(what, what))
        made = self.desk.gesture(wording(
            "said to be {0}",
            words), lambda: allotment.allot(self.desk.piece, zones, what))
        n = plural(len(zones), "{0} mark", "{0} marks")
        if made is not None:
            self.desk.choose(inscription=made.id)
        became = {"damage": wording("a damaged place now: say its cause beside the report"),
                  "nothing": wording("taken away as no writing"),
                  "monogram": wording("a monogram now, outside the text")}
        self.say(wording("{0}: {1}. Undo takes it back.", n, became.get(what, words)))

    def do_join_two(self, zone: str) -> None:
        """The outline holds two signs written in one stroke."""
        self.desk.gesture(wording("two signs joined"), lambda: self.desk.piece.layout.join(self._zone(zone)))
        self.say(wording("Zone now holds signs {0}.", zone_label(self.desk, zone)))

    def do_merge_next(self, zone: str) -> None:
        """The sign lies in this zone and in the next one."""
        order = [z for k in self.desk.ordered() for z in k.zones]
        after = order[order.index(zone) + 1 :] if zone in order else []
        follower = next((z for z in after if z != zone), None)
        if follower is None:
            raise OptionError("There is no next zone", zone_label(self.desk, zone), "choose the upper of the two zones")
        self.desk.gesture(
            wording(
                "one sign in two zones"), lambda: self.desk.piece.layout.spread(self._zone(zone), self._zone(follower))
        )
        self.say(wording("Sign {0} now lies in two zones.", zone_label(self.desk, zone)))

    def do_unjoin(self, zone: str) -> None:
        """One sign for one zone again."""
        desk = self.desk
        desk.gesture(wording("joining undone"), lambda: sign_order.unjoin(desk.piece, desk.inscription, zone))

    # --- scale ---------------------------------------------------------------------------
    def do_scale(self, points: list[list[float]], length: str, what: str, which: str) -> None:
        """Set the scale from two points and a length in mm, or check it with a second length."""
        photo = self.desk.find(Photo, self.desk.photo)
        if photo is None:
            return
        scale = with_length(photo, [list(p) for p in self.showing.turned_points(points, photo)], length, what, which)
        self.keep_scale(photo, scale)

    def keep_scale(self, photo: Photo, scale: Any) -> None:
        """Record a scale and tell what it says."""
        self.desk.gesture(wording("scale set"), lambda: self.desk.piece.set_scale(photo, scale))
        words = scale_words(self.shown_photo(), self.desk.contents.piece)
        self.say(words["words"] if words else "")

    # --- helpers ---------------------------------------------------------------------------
    def shown_photo(self) -> Photo:
        """The photograph on the mat; raises OptionError where there is none."""
        photo = self.desk.find(Photo, self.desk.photo)
        if photo is None:
            raise OptionError("No photograph is shown", cure="add one first")
        return photo

    def _zone(self, zone: str) -> Zone:
        record = self.desk.find(Zone, zone)
        if record is None:
            raise OptionError("That zone is not there any more", zone, "choose another")
        return record

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The widget, with the overview as a still picture for places without a kernel."""
        bundle = super()._repr_mimebundle_(**kwargs)
        data, meta = bundle if isinstance(bundle, tuple) else (bundle or {}, {})
        if self.overview:
            data = {**data, "image/jpeg": base64.b64encode(self.overview).decode("ascii")}
        return data, meta

