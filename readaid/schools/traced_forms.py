"""Tracings of a school's specimens: proposed by the machine, mended and kept by a reader, counted and compared.

Conventions
-----------
* A tracing belongs to a specimen (``core.photo.Tracing.zone`` holds the specimen's id); points are in pixels of its
  picture, or in millimetres where the reader says so. Kept again, the former one is changed and stays in the history.
* Counts are told of kept tracings only: a proposal nobody has looked at is counted by nobody.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from readaid.core.errors import OptionError, ShapeError
from readaid.core.photo import Tracing
from readaid.core.specimen import FormCounts, Specimen
from readaid.forms.correspondence import Correspondence, correspond
from readaid.forms.form import Form, form_of, form_of_tracing
from readaid.forms.sheet import Sheet
from readaid.forms.tracing_counts import hand_counts
from readaid.register.book import Register

if TYPE_CHECKING:
    import pandas as pd

Strokes = Sequence[Sequence[tuple[float, float]]]
COUNTED = tuple(f.name for f in dataclasses.fields(FormCounts))


class TracedForms:
    """Tracings in one school's register; held by ``School.tracings``.

    ``pixels`` gives a specimen's picture, ``label`` what it is called, ``reader`` stands beside every revision.
    """

    def __init__(self, register: Register, pixels: Callable[[Specimen], Any], label: Callable[[Specimen], str],
                 reader: str) -> None:
        self._register, self._pixels, self._label, self._reader = register, pixels, label, reader

    def propose(self, specimen: str, writing: str = "auto") -> tuple[tuple[tuple[float, float], ...], ...]:
        """Strokes as the machine sees them, in pixels of the picture, to be mended; nothing is kept.

        Parameters
        ----------
        specimen: its id. writing: "dark", "light", "cut" (raking light) or "auto".

        Raises OptionError for an unknown specimen, ShapeError where no stroke shows.
        """
        from readaid.forms.tracing import strokes

        return strokes(self._pixels(self._specimen(specimen)), writing)

    def keep(self, specimen: str, strokes: Strokes, unit: str = "px", note: str = "") -> Tracing:
        """Keep a tracing as the reader's own; ``unit`` is "px" or "mm". Raises ShapeError where it holds no stroke."""
        if unit not in ("px", "mm"):
            raise OptionError("A tracing is in pixels or millimetres", unit, "write px or mm")
        record = self._specimen(specimen)
        made = tuple(tuple((float(x), float(y)) for x, y in stroke) for stroke in strokes if len(stroke))
        if not made:
            raise ShapeError("The tracing holds no stroke", cure="draw at least one line")
        former = self.of(specimen)
        kept = Tracing(record.id, made, unit, by="reader", note=note)
        if former is not None:
            kept = dataclasses.replace(kept, id=former.id)
        if kept != former:
            self._register.save_all([kept], reader=self._reader, reason="form traced")
        return kept

    def of(self, specimen: str) -> Tracing | None:
        """The tracing kept of a specimen, None without one."""
        wanted = self._specimen(specimen).id
        return next((t for t in self._register.all("tracing") if t.zone == wanted), None)

    def form(self, specimen: str) -> Form:
        """A specimen's form as it was traced, ready for comparison; raises ShapeError where it was not."""
        return form_of_tracing(self._kept(specimen).strokes)

    def photographed(self, specimen: str) -> Form:
        """A specimen's form as it was photographed, ready for comparison."""
        return form_of(self._pixels(self._specimen(specimen)))

    @property
    def counts(self) -> pd.DataFrame:
        """Counts by hand of every specimen, one row each; missing where only the machine could count.

        Columns: label, proportions (width / height), strokes, ends, crossings, closed_spaces, dots, flourishes, and
        ``counted`` ("by_hand", "as_traced" or "").
        """
        import pandas as pd

        tracings = self._register.all("tracing")
        rows = []
        for s in self._register.all("specimen"):
            counts, whose = hand_counts(s, tracings)
            rows.append((s.id, self._label(s), *(getattr(counts, name, None) for name in COUNTED), whose))
        frame = pd.DataFrame(rows, columns=["specimen", "label", *COUNTED, "counted"])
        whole = {name: "Int64" for name in COUNTED if name != "proportions"}
        return frame.astype({"proportions": "Float64", **whole}).set_index("specimen")

    def correspond(self, a: str, b: str) -> Correspondence:
        """Which strokes of two traced specimens answer each other; raises ShapeError where one was not traced."""
        return correspond(*(self._kept(x).strokes for x in (a, b)))

    def plate(self, a: str, b: str) -> Sheet:
        """The same as a plate to print, strokes numbered, with a scale bar where the first was traced in mm."""
        from readaid._version import __version__
        from readaid.forms.pair_plate import stroke_plate

        first, second = (self._label(self._specimen(x)) for x in (a, b))
        return stroke_plate(self.correspond(a, b), (first, second), "mm" if self._kept(a).unit == "mm" else "",
                            f"readaid {__version__}, stroke to stroke by least cost.")

    def _kept(self, specimen: str) -> Tracing:
        found = self.of(specimen)
        if found is None:
            raise ShapeError("This form has not been traced", self._label(self._specimen(specimen)),
                             "keep a tracing first: school.tracings.keep(id, school.tracings.propose(id))")
        return found

    def _specimen(self, specimen: str) -> Specimen:
        held: list[Specimen] = self._register.all("specimen")
        found = next((s for s in held if s.id == specimen), None)
        if found is None:
            raise OptionError("There is no such specimen in the school", specimen, "take its id from school.specimens")
        return found
