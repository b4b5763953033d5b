"""Time: how the forms of one maker change over a life.

Conventions: forms with years (Western); distances as in ``matrix``. The trend is the rank correlation (Spearman) of
distance and years apart, tested by shuffling the years (Mantel test on ranks), so that it tells drift, not its
direction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
import numpy.typing as npt
from scipy.stats import rankdata

from readaid.core.errors import ShapeError
from readaid.forms.wording import CAUTION, joined, number
from readaid.schools.mantel import Mantel, mantel

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Drift:
    """Drift of one maker's form: the ``test``, years in order, and for each form its distance from the earliest one."""

    test: Mantel | None
    years: tuple[float, ...]
    order: tuple[int, ...]
    from_first: tuple[float, ...]
    text: str

    def svg(self, width: int = 480, height: int = 220) -> str:
        """Distance from the earliest form against the year, as SVG."""
        years, far = np.array(self.years), np.array(self.from_first)
        x = 46 + (years - years.min()) / max(float(np.ptp(years)), 1) * (width - 70)
        y = height - 34 - far / max(float(far.max()), 1e-9) * (height - 60)
        dots = "".join(
            f'<circle cx="{a:.1f}" cy="{b:.1f}" r="5" fill="#0072B2"><title>{year:.0f}: {d:.2f}</title></circle>'
            for a, b, year, d in zip(x, y, years, far, strict=True)
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" font-size="12" '
            f'font-family="sans-serif"><title>Distance from the earliest form</title>'
            f'<path d="M40 14V{height - 28}H{width - 12}" '
            f'fill="none" stroke="currentColor"/><text x="44" y="{height - 10}">{years.min():.0f}</text>'
            f'<text x="{width - 14}" y="{height - 10}" text-anchor="end">{years.max():.0f}</text>'
            f'<text x="34" y="20" text-anchor="end">{far.max():.1f}</text>{dots}</svg>'
        )

    def _repr_html_(self) -> str:
        return f"{self.svg()}<p>{escape(self.text)}</p>"


def over_time(
    distances: Floats, years: Sequence[float], name: str = "this maker", shuffles: int = 999, seed: int = 0
) -> Drift:
    """Whether one maker's forms drift with the years; ``distances`` (n, n) between forms in the order of ``years``.

    Raises ShapeError for fewer than two forms; below five the text says that no test is made.

    >>> over_time(np.array([[0, 1.0], [1.0, 0]]), [1800, 1820]).from_first
    (0.0, 1.0)
    """
    n = len(years)
    if n < 2 or distances.shape != (n, n):
        raise ShapeError(
            "Change over time needs at least two dated forms", f"{n} given", "add dated forms of this maker"
        )
    order = tuple(int(i) for i in np.argsort(years, kind="stable"))
    first = tuple(round(float(distances[order[0], i]), 4) for i in order)
    span = f"{number(n, 'form')} of {name} from {min(years):.0f} to {max(years):.0f}"
    test = None
    if n < 5 or np.ptp(np.asarray(years, float)) == 0:
        text = f"{span}: too few, or of one year, to test for a change; compare the earliest with the latest by eye."
    else:
        apart = np.abs(np.subtract.outer(np.asarray(years, float), np.asarray(years, float)))
        test = mantel(_ranks(distances), _ranks(apart), shuffles=shuffles, seed=seed)
        verdict = "the form changes with the years" if test.p < 0.05 else "no change with the years was found"
        text = f"{span}: {verdict} (rank correlation {test.r:.2f}, p = {test.p:.3f})."
        if n < 10:
            text += " With so few forms a slow change is easily missed."
    return Drift(test, tuple(float(years[i]) for i in order), order, first, joined([text, CAUTION]))


def _ranks(matrix: Floats) -> Floats:
    upper = np.triu_indices(len(matrix), 1)
    out = np.zeros_like(matrix, dtype=float)
    out[upper] = rankdata(matrix[upper])
    return np.asarray(out + out.T)
