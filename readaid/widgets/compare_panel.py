"""The comparison panel: two forms laid on each other, and what their likeness is made of.

Conventions: ``transform`` maps pixels of the second form to the first;
pictures travel as bytes. A likeness (0..1) is evidence of form, never of authorship.
A form is compared as photographed, or as its zone was traced; what is kept is what was shown.
"""

from __future__ import annotations

import dataclasses
import io
from typing import Any

import numpy as np
from PIL import Image

from readaid.core.errors import OptionError, ReadaidError, unknown_option
from readaid.core.photo import Photo, Zone
from readaid.core.specimen import KAO_KINDS, ComparisonRecord, FormCounts, Specimen
from readaid.core.texts import refusal, told, wording
from readaid.piece.crops import Look
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.school_states import ComparedForms, SpecimenRow
from readaid.widgets.signature_panel import year
from readaid.widgets.zone_rows import zone_label

_COUNTS = {
    "proportions": "width to height",
    "strokes": "strokes",
    "ends": "ends",
    "crossings": "crossings",
    "closed_spaces": "closed spaces",
    "dots": "dots",
}
#: Longest side of the pictures sent, in pixels.
LONGEST = 900
#: A part this far below the likeness of the whole is told.
DISAGREES = 0.35


class ComparePanel(Panel):
    """Two specimens of the register, compared."""

    _esm = module_text("compare_panel.js")
    _css = style_text("compare_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.a = self.b = ""
        self.turn = "as it stands"
        self.traced = {"a": False, "b": False}
        self.busy = False
        self.words = wording("Choose two forms above.")
        self.result: Any = None
        self._shrunk = (1.0, 1.0)
        self._asked_pair: tuple[Any, ...] = ()
        self._pictures: list[bytes] = []
        super().__init__()
        self.refresh()
        ids = [s.id for s in desk.contents.specimens]
        if len(ids) >= 2:
            self.a, self.b = ids[0], ids[1]
            self._compare()
        desk.listen(lambda _what: self.refresh())

    def refresh(self) -> None:
        """Show the forms as they are now."""
        c = self.desk.contents
        names = {p.id: p.name for p in c.persons}
        known = {s.id: s for s in c.specimens}
        taken = {s.zone for s in c.specimens}
        zones = [
            [z.id, f"{zone_label(self.desk, z.id) or wording('no number')} ({_photo_title(self.desk, z)})"]
            for z in c.zones
            if z.id not in taken
        ]
        self.state = {
            "specimens": [specimen_row(s, names) for s in c.specimens],
            "a": self.a,
            "b": self.b,
            "turn": self.turn,
            "traced": [
                {"side": side, "words": words, "on": self.traced[side]}
                for side, words in (("a", wording("First")), ("b", wording("Second")))
                if self._tracing(known.get(getattr(self, side))) is not None
            ],
            "people": [[p.id, p.name] for p in c.persons],
            "kinds": [[k, told(k)] for k in KAO_KINDS],
            "counts": [[name, told(words)] for name, words in _COUNTS.items()],
            "zones": zones,
            "busy": self.busy,
            "words": self.words,
            "result": None
            if self.result is None or self.a not in known or self.b not in known
            else self._result_row(known[self.a], known[self.b]),
        }

    def _result_row(self, a: Specimen, b: Specimen) -> ComparedForms:
        r = self.result
        ka, kb = self._shrunk
        m = np.vstack([np.reshape(np.asarray(r.transform, float), (2, 3)), [0, 0, 1]])
        shown = np.diag([ka, ka, 1]) @ m @ np.diag([1 / kb, 1 / kb, 1])
        n = len(self.desk.contents.specimens)
        change = r.change
        return {
            "likeness": f"{r.likeness:.2f}",
            "disagree": disagreement(float(r.likeness), r.parts),
            "parts": [*((told(k), float(v)) for k, v in r.parts.items()),
                      (wording("overlap of lines"), float(r.overlap))],
            "transform": [float(v) for v in shown[:2].ravel()],
            "notes": [told(n) for n in r.notes],
            "differences": [[float(v) * ka for v in d.box] for d in r.differences],
            "counts": count_rows(
                a, b, *(f.counts if on else None for f, on in zip(r.forms, self.traced.values(), strict=True))
            ),
            "heads": [
                wording("Counted"),
                *(f"{words}{wording(', traced') if on else ''}"
                  for words, on in zip((wording("First"), wording("Second")), self.traced.values(), strict=True)),
            ],
            "laid": wording(
                "To lay them on each other the second was turned by {0}°, sheared by {1}° and stretched by {2}.",
                f"{change.turn:.1f}",
                f"{change.shear:.1f}",
                f"{change.stretch:.2f}"),
            "population": wording(
                "Compared within {0} forms of this register. With so few, a figure orders forms; it is no "
                "likelihood.",
                n),
            "alt": wording("Overlay of two forms, likeness {0}.", f"{r.likeness:.2f}"),
        }

    # --- asked -----------------------------------------------------------------------
    def do_thumbnails(self, ids: list[str]) -> None:
        """Send small pictures of forms, made beside the loop."""
        known = {s.id: s for s in self.desk.contents.specimens}
        for id in ids:
            if id not in known:
                continue

            def make(specimen: Specimen = known[id]) -> bytes:
                return _jpeg(self.desk.piece.signers.pixels(specimen), 260)[0]

            def put(data: bytes, id: str = id) -> None:
                self.send({"type": "thumbnail", "id": id}, buffers=[data])

            self.later(make, put)

    def do_forms(self) -> None:
        """Send the compared forms' pictures (again: what was sent before the page could listen is lost)."""
        if self.result is not None and self._pictures:
            self.send({"type": "forms", "pair": f"{self.a}|{self.b}"}, buffers=self._pictures)

    def do_pick(self, which: str, id: str) -> None:
        """Choose the first ("a") or the second ("b") form."""
        if which not in ("a", "b"):
            raise unknown_option("side", which, ("a", "b"))
        setattr(self, which, id)
        self.traced[which] = False
        self.turn = "as it stands"
        self._compare()

    def do_turn(self, turn: str) -> None:
        """Turn the second form before comparing."""
        self.turn = turn
        self._compare()

    def do_traced(self, which: str, on: bool) -> None:
        """Compare the first ("a") or the second ("b") form as its zone was traced, or as photographed."""
        if which not in self.traced:
            raise unknown_option("side", which, tuple(self.traced))
        self.traced[which] = bool(on)
        self._compare()

    def do_add(self, zone: str, person: str = "", kind: str = "unclassified", year: str = "") -> None:
        """Take the form in a zone into the register; strokes and dots are counted by machine."""
        made = self.desk.gesture(
            wording("form added"),
            lambda: self.desk.piece.signers.add_specimen(
                zone, person=person or None, kind=kind, year=_year(year), inscription=self.desk.inscription or None
            ),
        )
        self.a = self.a or made.id
        self.refresh()
        self.say(wording("The form is in the register."))

    def do_correct(self, id: str, fields: dict[str, str]) -> None:
        """Correct the counts of a form by hand; what the machine counted stays beside them."""
        known = {s.id: s for s in self.desk.contents.specimens}
        if id not in known:
            raise OptionError("That form is not there any more", id, "choose another")
        counted = known[id].corrected or known[id].counted
        if counted is None:
            raise OptionError("Nothing was counted on this form", cure="add it again from its zone")
        whole: dict[str, Any] = {}
        for name, text in fields.items():
            if name in _COUNTS and name != "proportions":
                value = year(text)
                if value is None or value < 0:
                    raise OptionError("A count is a whole number", text, "write 0 or more")
                whole[name] = value
        corrected = dataclasses.replace(counted, **whole)
        self.desk.gesture(
            wording("counts corrected"),
            lambda: self.desk.piece.change(known[id], reason="counts corrected", corrected=corrected),
        )
        self.refresh()
        self.say(wording("The corrected counts are marked with *; those of the machine stay in the register."))

    def do_keep(self, note: str = "") -> None:
        """Write the comparison down."""
        if self.result is None:
            raise OptionError("Nothing is compared yet", cure="choose two forms")
        r = self.result
        made = ComparisonRecord(
            a=self.a,
            b=self.b,
            likeness=float(r.likeness),
            parts=tuple((str(k), float(v)) for k, v in r.parts.items()),
            transform=tuple(float(v) for v in r.transform),
            population=len(self.desk.contents.specimens),
            note=note.strip(),
            turn=self.turn,
            traced=tuple(which for which in ("a", "b") if self.traced[which]),
        )
        self.desk.gesture(wording("comparison kept"), lambda: self.desk.piece.save(made, reason="forms compared"))
        self.say(wording("The comparison is in the register."))

    def _tracing(self, specimen: Specimen | None) -> Any:
        return self.desk.piece.decipherment.crops.tracing(specimen.zone) if specimen and specimen.zone else None

    def _pixels(self, specimen: Specimen, traced: bool) -> Any:
        """The form's picture: its photograph, or its tracing dark on white."""
        zone = self.desk.find(Zone, specimen.zone or "")
        if traced and zone is not None and self._tracing(specimen) is not None:
            return self.desk.piece.decipherment.crops.pixels(zone, Look(tracing=True))
        return self.desk.piece.signers.pixels(specimen)

    def _compare(self) -> None:
        self.result, self.words = None, wording("Choose two forms above.")
        known = {s.id: s for s in self.desk.contents.specimens}
        pair = (self.a, self.b, self.turn, *self.traced.values())
        traced = dict(self.traced)
        self._asked_pair = pair
        if self.a not in known or self.b not in known or self.a == self.b:
            if self.a and self.a == self.b:
                self.words = wording("Both are the same form; choose another second one.")
            self.refresh()
            return
        self.busy = True
        self.refresh()
        first, second = known[self.a], known[self.b]

        def work() -> Any:
            try:
                from readaid.forms.comparison import compare

                one, two = self._pixels(first, traced["a"]), self._pixels(second, traced["b"])
                found = compare(one, two, turn=self.turn)
                picture = io.BytesIO()
                found.picture(640).save(picture, "PNG")
                return found, _jpeg(one, LONGEST), _jpeg(_turned(two, self.turn), LONGEST), picture.getvalue()
            except ReadaidError as error:
                return error

        def done(result: Any) -> None:
            self.busy = False
            if pair != self._asked_pair:
                return
            if isinstance(result, ReadaidError):
                self.words = refusal(result)
                self.refresh()
                return
            self.result, (one, ka), (two, kb), overlay = result
            self._shrunk = (ka, kb)
            self.refresh()
            self._pictures = [one, two, overlay]
            self.do_forms()

        self.later(work, done)


def disagreement(likeness: float, parts: dict[str, float]) -> str:
    """A plain line where parts lie far below the likeness of the whole, "" where it hides nothing.

    >>> disagreement(0.98, {"outline": 0.98, "structure": 0.8, "dots": 0.11})
    'Parts disagree: dots 0.11. The likeness of the whole, 0.98, hides this; look at the counts below and at the forms.'
    >>> disagreement(0.9, {"outline": 0.92, "structure": 0.8, "dots": 1.0})
    ''
    """
    low = sorted((v, k) for k, v in parts.items() if v < likeness - DISAGREES)
    if not low:
        return ""
    named = ", ".join(f"{told(k)} {v:.2f}" for v, k in low)
    return (
        wording(
            "Parts disagree: {0}. The likeness of the whole, {1}, hides this; look at the counts below and at the "
            "forms.",
            named,
            f"{likeness:.2f}")
    )


def _year(text: str) -> int | None:
    return year(text)


def _photo_title(desk: Desk, zone: Zone) -> str:
    photo = desk.find(Photo, zone.photo)
    return (photo.title or photo.file) if photo else ""


def _turned(pixels: Any, turn: str) -> Any:
    if turn == "mirrored":
        return pixels[:, ::-1]
    return pixels[::-1, ::-1] if turn == "upside down" else pixels


def _jpeg(pixels: Any, longest: int) -> tuple[bytes, float]:
    """A picture as JPEG with its longer side at most ``longest``, and how much it was shrunk."""
    array = np.asarray(pixels)
    if array.dtype == np.uint16:
        array = (array >> 8).astype(np.uint8)
    picture = Image.fromarray(np.ascontiguousarray(array))
    factor = min(1.0, longest / max(picture.size))
    if factor < 1:
        picture = picture.resize(
            (max(1, round(picture.width * factor)), max(1, round(picture.height * factor))), Image.Resampling.LANCZOS
        )
    out = io.BytesIO()
    picture.convert("RGB").save(out, "JPEG", quality=88)
    return out.getvalue(), factor


def specimen_row(specimen: Specimen, names: dict[str, str]) -> SpecimenRow:
    """A form for the shelf."""
    nobody = wording("this piece") if specimen.zone else wording("owner not known")
    owner = names.get(specimen.person or "", "") or nobody
    words = ", ".join(
        x
        for x in (
            str(specimen.year) if specimen.year else "",
            specimen.kind if specimen.kind != "unclassified" else "",
            specimen.what if specimen.what != "monogram" else "",
        )
        if x
    )
    return {"id": specimen.id, "title": owner, "words": words or wording("year not known")}


def count_rows(
    a: Specimen, b: Specimen, traced_a: FormCounts | None = None, traced_b: FormCounts | None = None
) -> list[tuple[str, str, str]]:
    """Counts of two forms side by side, of the tracing where that is compared; those corrected by hand are marked."""
    one, two = traced_a or a.corrected or a.counted, traced_b or b.corrected or b.counted

    def cell(counts: FormCounts | None, name: str, mended: bool) -> str:
        if counts is None:
            return "–"
        value = getattr(counts, name)
        # what only the machine counted is a proposal: on worn metal it is oftener wrong than right
        mark = "*" if mended else "?" if name != "proportions" and counts in (a.counted, b.counted) else ""
        return (f"{value:.2f}" if name == "proportions" else str(value)) + mark

    return [
        (
            told(words),
            cell(one, name, a.corrected is not None and traced_a is None),
            cell(two, name, b.corrected is not None and traced_b is None),
        )
        for name, words in _COUNTS.items()
    ]
