"""The years of forms beside a figure's rows: a level axis, and on each row the form's year or its maker's years.

Conventions: millimetres on a ``Sheet``; years Western. A form's own year is a mark; where only its maker is dated, a
bar over the working years (else the years of life), open where one end is not known. Years are what the school holds
of a form: nothing is dated here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from readaid.core.texts import wording
from readaid.forms.sheet import Sheet

#: What a caption says of the years beside a joining tree.
TOLD = ("Right: the year of each form (mark), or where it has none its maker's working years, else years of life "
        "(bar; ? where an end is not known). Joins lie at distances of form, not at times.")
#: How long a bar with one known end is drawn, as a share of the axis.
_OPEN = 0.12


@dataclass(frozen=True, slots=True)
class Years:
    """When a form was made, as far as it is known: ``exact``, or within ``first`` to ``last`` (None: not known)."""

    exact: int | None = None
    first: int | None = None
    last: int | None = None

    @property
    def known(self) -> tuple[int, ...]:
        """Every year that is told, at most two."""
        return tuple(v for v in (self.exact, self.first, self.last) if v is not None)

    @property
    def text(self) -> str:
        """The year or the years as they are written beside a bar.

        >>> Years(1790).text, Years(first=1780, last=1812).text, Years(last=1812).text, Years().text
        ('1790', '1780–1812', '?–1812', 'no date')
        """
        if self.exact is not None:
            return str(self.exact)
        if not self.known:
            return wording("no date")
        return "–".join("?" if v is None else str(v) for v in (self.first, self.last))


def years_of(entry: Any) -> Years:
    """The years of one entry of a study: its specimen's, else its maker's."""
    if entry.specimen.year is not None:
        return Years(entry.specimen.year)
    maker = entry.maker
    if maker is None:
        return Years()
    # Working years or years of life, never one end of each: 1781 (born) to 1812 (last piece) is the span of neither.
    if maker.active_from is not None or maker.active_to is not None:
        return Years(first=maker.active_from, last=maker.active_to)
    return Years(first=maker.born, last=maker.died)


def level_axis(sheet: Sheet, x0: float, x1: float, y: float, low: float, high: float, title: str, form: str,
               ticks: int = 5) -> None:
    """A level axis from ``low`` to ``high`` with its title below; ``form`` writes a value."""
    sheet.line((x0, y), (x1, y))
    for share in np.linspace(0, 1, ticks):
        x = x0 + (x1 - x0) * float(share)
        sheet.line((x, y), (x, y + 1.2))
        sheet.words(x, y + 4, form.format(low + (high - low) * float(share)), size=6.5, anchor="middle")
    sheet.words((x0 + x1) / 2, y + 8, title, size=7, anchor="middle")


def years_beside(sheet: Sheet, entries: Sequence[Any], rows: Mapping[int, float], marks: Mapping[int, int],
                 across: tuple[float, float], base: float) -> None:
    """Draw the years of ``entries`` on their ``rows`` (index -> y) between two x, with an axis of years at ``base``.

    ``marks`` gives the mark of each entry, as on the rest of the figure. Nothing is drawn where no entry has a date.
    """
    years = {i: years_of(entries[i]) for i in rows}
    known = [v for y in years.values() for v in y.known]
    if not known:
        return
    left, right = across
    low = min(known)
    high = max(max(known), low + 4)  # a single year would leave five ticks with one number

    def x_of(year: int) -> float:
        return left + (right - left) * (year - low) / (high - low)

    for i, y in rows.items():
        sheet.line((left, y), (right, y), width=0.1, colour="#c8c8c8")
        found = years[i]
        if found.exact is not None:
            sheet.mark(x_of(found.exact), y, marks[i], 2.2)
        elif found.known:
            short = (right - left) * _OPEN
            x0 = x_of(found.first) if found.first is not None else max(x_of(found.known[0]) - short, left)
            x1 = x_of(found.last) if found.last is not None else min(x_of(found.known[0]) + short, right)
            sheet.line((x0, y), (max(x1, x0 + 0.8), y), width=1.1, colour="#7a7a7a")
        sheet.words((left + right) / 2 if not found.known else min(max(x_of(found.known[0]), left + 5), right - 5),
                    y - 1.8, found.text, size=5.5, anchor="middle")
    level_axis(sheet, left, right, base, low, high, wording("year"), "{:.0f}")
