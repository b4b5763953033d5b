"""The tracing panel: strokes traced over the chosen sign, kept as vectors.

Conventions: a kept tracing's points are counted from the top-left of the zone's box, in millimetres where the photo
has a scale, else in full-size pixels. One tracing by the reader and one by the computer stand for a zone at most.
Under the sheet may lie another photo of the surface or a view, turned back so that it fits the zone's own photo.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import traitlets as t

from readaid.core.character import Character
from readaid.core.errors import OptionError
from readaid.core.photo import Photo, Tracing, Zone
from readaid.core.texts import wording
from readaid.piece.crops import PLAIN, Look
from readaid.widgets.desk import Desk
from readaid.widgets.letter_rows import look_choices
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.sign_states import LookChoices

#: Margin round the zone on the tracing sheet, as a share of its size.
MARGIN = 0.15


class TracingPanel(Panel):
    """Strokes over the first zone of the desk's sign."""

    _esm = module_text("tracing_panel.js")
    _css = style_text("tracing_panel.css")
    crop = t.Bytes(b"").tag(sync=True)

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.turn = 0
        self.strokes: list[list[tuple[float, float]]] = []
        self.by = "reader"
        self.look = PLAIN
        self._shown: tuple[Any, ...] = ()
        self._under: tuple[Any, ...] = ()
        super().__init__()
        self.refresh()
        desk.listen(lambda what: self.refresh() if what != "reading" else None)

    def _zone(self) -> tuple[Zone, Photo] | None:
        record = self.desk.find(Character, self.desk.character) if self.desk.character else None
        zone = self.desk.find(Zone, record.zones[0]) if record and record.zones else None
        photo = self.desk.find(Photo, zone.photo) if zone else None
        return (zone, photo) if zone and photo else None

    def refresh(self) -> None:
        """Show the chosen sign with its tracing."""
        found = self._zone()
        kept = [x for x in self.desk.contents.tracings if found and x.zone == found[0].id]
        key = (found[0].id, found[0].outline, tuple(kept)) if found else ()
        if key != self._shown:
            self._shown = key
            self.turn += 1
            self.strokes, self.by = [], "reader"
            if found:
                best = next((x for x in kept if x.by == "reader"), kept[0] if kept else None)
                if best:
                    self.strokes, self.by = self._on_sheet(best, *found), best.by
        if found:
            self._cut(*found)
        else:
            self._under, self.crop = (), b""
        width, height = self._size(*found) if found else (1, 1)
        self.state = {
            "ready": True,
            "zone": found[0].id if found else "",
            "turn": self.turn,
            "width": width,
            "height": height,
            "strokes": self.strokes,
            "kept": len(kept),
            "locked": self.desk.piece.read_only,
            "look": self._looks(found[0]) if found else None,
            "words": self._words(found, bool(kept)),
        }

    def _looks(self, zone: Zone) -> LookChoices:
        from readaid.photo.views import VIEWS

        rows = look_choices(self.desk, zone, self._looked(zone))
        flat = {p.id for p in self.desk.piece.decipherment.crops.photos(zone, flat=True)}
        rows["photos"] = [p for p in rows["photos"] if p[0] in flat]
        rows["views"] = [v for v in rows["views"] if not (v[0] and VIEWS[v[0]].mirrors)]
        return rows

    def _looked(self, zone: Zone) -> Look:
        """The chosen look, the untouched photo where the zone does not show on the chosen one."""
        crops = self.desk.piece.decipherment.crops
        return self.look if not self.look.photo or self.look.photo in {p.id for p in crops.photos(zone)} else PLAIN

    def _words(self, found: tuple[Zone, Photo] | None, kept: bool) -> str:
        if not found:
            return wording("Choose a sign first.")
        if not kept:
            return wording(
                "Trace what you see, stroke by stroke, or let the computer propose the middle lines and mend them.")
        return (
            wording("A tracing of this sign is in the register")
            + (wording(", proposed by computer. ") if self.by == "skeleton" else ". ")
            + wording(
                "Letters can be looked for in it (By shape, The tracing), forms compared by it, and the report "
                "shows it.")
        )

    def _window(self, zone: Zone, photo: Photo) -> tuple[int, int, int, int]:
        from readaid.photo.file import window

        return window((photo.width, photo.height), zone.box, MARGIN)

    def _size(self, zone: Zone, photo: Photo) -> tuple[int, int]:
        left, top, right, bottom = self._window(zone, photo)
        return right - left, bottom - top

    def _on_sheet(self, tracing: Tracing, zone: Zone, photo: Photo) -> list[list[tuple[float, float]]]:
        left, top, _, _ = self._window(zone, photo)
        unit = photo.scale.mm_per_pixel if tracing.unit == "mm" and photo.scale else 1.0
        x, y = zone.box[0] - left, zone.box[1] - top
        return [[(px / unit + x, py / unit + y) for px, py in stroke] for stroke in tracing.strokes]

    def _cut(self, zone: Zone, photo: Photo) -> None:
        look, crops = self._looked(zone), self.desk.piece.decipherment.crops
        sliders = [v for v in self.desk.contents.views if v.view == look.view] if look.view else []
        key = (zone.id, zone.outline, photo.scale, look, *sliders)
        if key == self._under:
            return
        self._under = key

        def work() -> bytes:
            from readaid.photo.file import jpeg

            return jpeg(crops.sheet(zone, look, MARGIN), 90)

        def put(data: bytes) -> None:
            if key == self._under:
                self.crop = data

        self.later(work, put)

    # --- asked ---------------------------------------------------------------------------
    def do_look(self, photo: str | None = None, view: str | None = None) -> None:
        """Lay another photo of the surface, or a view, under the sheet; the strokes stay where they are."""
        found = self._zone()
        if found is None:
            raise OptionError("No sign is chosen", cure="choose a zone on the photograph")
        look = Look(self.look.photo if photo is None else photo, self.look.view if view is None else view)
        if look.photo == found[0].photo:
            look = Look("", look.view)
        self.desk.piece.decipherment.crops.check(found[0], look)
        self.look = look
        self.refresh()

    def do_propose(self) -> None:
        """Propose strokes from the middle lines of what lies under the sheet; nothing is kept."""
        found = self._zone()
        if found is None:
            raise OptionError("No sign is chosen", cure="choose a zone on the photograph")
        zone, look, crops = found[0], self._looked(found[0]), self.desk.piece.decipherment.crops

        def work() -> Any:
            from readaid.forms.tracing import strokes

            return strokes(crops.sheet(zone, look, MARGIN))

        def done(lines: Any) -> None:
            now = self._zone()
            if now is None or now[0].id != zone.id:
                return
            self.turn += 1
            self.strokes = [[(float(x), float(y)) for x, y in line] for line in lines]
            self.by = "skeleton"
            self.refresh()
            self.say(
                wording(
                    "{0} strokes proposed; rub out what is scratch or stain, and draw what is missing.",
                    len(self.strokes))
            )

        self.later(work, done)

    def do_keep(self, strokes: list[list[list[float]]], mine: bool = True) -> None:
        """Keep the tracing; ``mine`` where the reader drew or mended it. An empty one takes what was kept away."""
        before = self.desk.contents
        found = self._zone()
        kept = [x for x in before.tracings if found and x.zone == found[0].id]
        strokes = [line for line in strokes if line]
        if found is None or not (strokes or kept):
            raise OptionError("There is nothing to keep", cure="draw a stroke first")
        if not strokes:
            self.desk.gesture(
                wording("tracing taken away"),
                lambda: self.desk.piece.save(
                    withdraw=[x.id for x in kept], reason="tracing taken away", base=before),
            )
            self.say(wording("The tracing is taken away; it stays in the history."))
            return
        if not all(math.isfinite(v) for line in strokes for point in line for v in point):
            raise OptionError("A point of the tracing is no number", cure="draw the stroke again")
        zone, photo = found
        left, top, _, _ = self._window(zone, photo)
        unit = photo.scale.mm_per_pixel if photo.scale else 1.0
        x, y = zone.box[0] - left, zone.box[1] - top
        digits = 4 if photo.scale else 1
        lines = tuple(
            tuple((round((float(px) - x) * unit, digits), round((float(py) - y) * unit, digits)) for px, py in line)
            for line in strokes
        )
        by = "reader" if mine or self.by == "reader" else "skeleton"
        over = self.desk.piece.decipherment.crops.words(zone, self._looked(zone))
        made = Tracing(zone.id, lines, unit="mm" if photo.scale else "px", by=by, note=f"over {over}" if over else "")
        former = [x for x in kept if x.by == by]
        if former:
            made = dataclasses.replace(made, id=former[0].id)
        self.desk.gesture(wording(
            "tracing kept"), lambda: self.desk.piece.save(made, reason="tracing kept", base=before))
        self.say(wording("The tracing is in the register."))
