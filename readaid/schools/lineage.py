"""Lineage: whether likeness of forms follows the line from teacher to pupil, and whether dates alone explain it.

Conventions: one row per maker (forms of one maker are averaged first, so that many forms of one hand do not count as
many makers). Mantel tests as in ``mantel``; intervals (95 %) of r by leaving out makers one at a time (jackknife).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.core.person import Person
from readaid.forms.wording import CAUTION, few, how_wide, joined
from readaid.schools.makers import lineage_distances, year_of
from readaid.schools.mantel import Mantel, mantel
from readaid.schools.matrix import of_makers

Floats = npt.NDArray[np.float64]
LEVEL = 0.05


@dataclass(frozen=True, slots=True)
class LineageTest:
    """Does likeness follow lineage: ``plain`` test, the same with dates held fast (``partial``) and of dates alone.

    ``low`` and ``high`` bound r of the plain test (95 %). ``follows`` is True only if the plain test is below 0.05
    and, where dates are known, the partial one too.
    """

    plain: Mantel
    dates: Mantel | None
    partial: Mantel | None
    low: float
    high: float
    makers: int
    follows: bool
    text: str

    def _repr_html_(self) -> str:
        rows = [
            ("likeness and lineage", self.plain),
            ("likeness and dates", self.dates),
            ("likeness and lineage, dates held fast", self.partial),
        ]
        cells = "".join(
            f"<tr><th scope='row' style='text-align:left'>{escape(n)}</th><td>{t.r:.2f}</td><td>{t.p:.3f}</td></tr>"
            for n, t in rows
            if t is not None
        )
        return (
            f"<table><thead><tr><th></th><th>r</th><th>p</th></tr></thead><tbody>{cells}</tbody></table>"
            f"<p>{escape(self.text)}</p>"
        )


def follows_lineage(
    distances: Floats,
    owner: Sequence[str],
    makers: Sequence[Person],
    years: Sequence[float | None] | None = None,
    shuffles: int = 999,
    seed: int = 0,
) -> LineageTest:
    """Test whether near forms belong to near makers.

    ``distances`` (n, n) between forms, ``owner`` the id of each form's maker, ``years`` the year of each form (else
    the middle of its maker's years of work). Raises ShapeError for fewer than four makers with forms.
    """
    people = {m.id: m for m in makers}
    missing = next((o for o in owner if o not in people), None)
    if missing is not None:
        raise ShapeError(
            "A form belongs to nobody in the table of makers", missing, "add the maker, or leave the form out"
        )
    # makers, not forms: ten forms of one hand are one witness, and counted singly they make any tree significant
    order, far = of_makers(distances, owner)
    if len(order) < 4:
        raise ShapeError(
            "Lineage cannot be tested with so few makers", f"{len(order)} with forms", "at least four are needed"
        )
    steps = lineage_distances(tuple(makers))
    index = [list(people).index(o) for o in order]
    steps = steps[np.ix_(index, index)]
    plain = mantel(far, steps, shuffles=shuffles, seed=seed)
    when = _years(order, owner, people, years)
    dates = partial = None
    if when is not None and np.ptp(when) > 0:
        apart = np.abs(np.subtract.outer(when, when))
        dates = mantel(far, apart, shuffles=shuffles, seed=seed)
        # a partial test can raise false alarms where forms drift in order of time (Guillot and Rousset 2013),
        # so the sentence says that it may be fashion
        partial = mantel(far, steps, apart, shuffles=shuffles, seed=seed)
    low, high = _interval(far, steps)
    follows = plain.p < LEVEL and (partial is None or partial.p < LEVEL)
    return LineageTest(
        plain,
        dates,
        partial,
        low,
        high,
        len(order),
        follows,
        _text(plain, dates, partial, low, high, len(order), np.ptp(steps[np.triu_indices(len(order), 1)]) == 0),
    )


def _years(
    order: Sequence[str], owner: Sequence[str], people: dict[str, Person], years: Sequence[float | None] | None
) -> Floats | None:
    out = []
    for maker in order:
        own = (
            [y for y, o in zip(years, owner, strict=True) if o == maker and y is not None] if years is not None else []
        )
        year = float(np.mean(own)) if own else year_of(people[maker])
        if year is None:
            return None
        out.append(year)
    return np.array(out)


def _interval(far: Floats, steps: Floats) -> tuple[float, float]:
    """95 % interval of r by the jackknife over makers, on Fisher's scale."""
    n = len(far)
    upper = np.triu_indices(n, 1)

    def r(keep: npt.NDArray[np.int_]) -> float:
        x, y = far[np.ix_(keep, keep)], steps[np.ix_(keep, keep)]
        tri = np.triu_indices(len(keep), 1)
        if x[tri].std() < 1e-12 or y[tri].std() < 1e-12:
            return 0.0
        return float(np.corrcoef(x[tri], y[tri])[0, 1])

    whole = np.arctanh(np.clip(r(np.arange(n)), -0.999, 0.999))
    each = np.arctanh(np.clip([r(np.delete(np.arange(n), i)) for i in range(n)], -0.999, 0.999))
    error = float(np.sqrt((n - 1) / n * ((each - each.mean()) ** 2).sum()))
    error = max(error, 1 / np.sqrt(max(len(upper[0]) - 3, 1)))
    return float(np.round(np.tanh(whole - 1.96 * error), 3)), float(np.round(np.tanh(whole + 1.96 * error), 3))


def _text(
    plain: Mantel, dates: Mantel | None, partial: Mantel | None, low: float, high: float, n: int, flat: bool
) -> str:
    if flat:
        return joined(["All makers stand equally near in the tree of teachers, so lineage cannot be tested.", CAUTION])
    figures = f"(r = {plain.r:.2f}, 95 % interval {low:.2f} to {high:.2f}, p = {plain.p:.3f}, {n} makers)"
    if plain.p >= LEVEL:
        first = f"No connection between likeness and lineage was found {figures}."
    elif partial is None:
        first = f"Makers nearer in lineage have more alike forms {figures}. Dates are not known: it may be fashion."
    elif partial.p < LEVEL:
        first = (
            f"Makers nearer in lineage have more alike forms {figures}, also with dates held fast "
            f"(r = {partial.r:.2f}, p = {partial.p:.3f})."
        )
    else:
        first = (
            f"Makers nearer in lineage have more alike forms {figures}, but dates explain it as well "
            f"(with dates held fast r = {partial.r:.2f}, p = {partial.p:.3f}): it may be fashion."
        )
    also = (
        f"Forms nearer in time are more alike (r = {dates.r:.2f}, p = {dates.p:.3f})."
        if dates and dates.p < LEVEL
        else ""
    )
    return joined([first, also, how_wide(low, high), few(n), CAUTION])
