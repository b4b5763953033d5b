"""A dating that fits what was read.

Conventions: ``first`` and ``last`` are ISO 8601 days, proleptic Gregorian,
inclusive; ``year`` counts within the era from 1; ``cycle`` is the
sexagenary year in kanji.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape


@dataclass(frozen=True, slots=True)
class Dating:
    """One day range that fits a date text."""

    first: str
    last: str
    era: str
    year: int | None
    cycle: str
    agrees: bool | None  # None: only one of era year and cycle stands there
    month: int | None = None
    leap: bool = False
    day: int | None = None
    court: str = ""  # "northern" for the northern court's eras
    notes: tuple[str, ...] = ()  # conventional month, past the era's end, retroactive first year ...
    folded: bool = False  # outside the working period while another dating fits inside it

    def _repr_html_(self) -> str:
        notes = " &middot; ".join(escape(n) for n in self.notes)
        return f"<span lang='ja'>{escape(self.era)}</span> {escape(self.first)} to {escape(self.last)} {notes}"
