"""Map: many forms as points on a plane, near ones near.

Conventions: classical scaling (Torgerson, Psychometrika 17, 1952) of distances (n, n); positions (n, 2) in units of
distance, middle 0. ``share`` 0..1 is how much of the spread the plane shows (negative eigenvalues left out); below
0.5 the map misleads and says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError

Floats = npt.NDArray[np.float64]
#: Colours of Okabe and Ito (2008), safe for colour-blind eyes; makers beyond seven repeat them with another mark.
COLOURS = ("#0072B2", "#E69F00", "#009E73", "#CC79A7", "#56B4E9", "#D55E00", "#444444")


@dataclass(frozen=True, slots=True, eq=False)
class Map:
    """Positions (n, 2) of the named forms, ``groups`` (a maker each) and the ``share`` of the spread shown."""

    names: tuple[str, ...]
    groups: tuple[str, ...]
    at: Floats
    share: float

    @property
    def text(self) -> str:
        """How far to trust the map, in words."""
        percent = round(self.share * 100)
        if self.share < 0.5:
            return (
                f"The map shows {percent} % of the spread: forms that lie together here may still differ; "
                "look at the matrix too."
            )
        return f"The map shows {percent} % of the spread."

    def svg(self, width: int = 560) -> str:
        """The map as SVG with a legend; each point carries its name as a tooltip."""
        marks = list(dict.fromkeys(self.groups))
        span = np.ptp(self.at, 0) + 1e-9
        scale = (width - 60) / float(span.max())
        high = int(span[1] * scale) + 60
        xy = (self.at - self.at.min(0)) * scale + 30
        parts = []
        for (x, y), name, group in zip(xy, self.names, self.groups, strict=True):
            k = marks.index(group)
            colour = COLOURS[k % len(COLOURS)]
            fill = colour if k < len(COLOURS) else "white"
            parts.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{fill}" stroke="{colour}" stroke-width="2">'
                f"<title>{escape(name)}</title></circle>"
            )
        for k, group in enumerate(marks):
            colour, y = COLOURS[k % len(COLOURS)], high + 14 + 18 * k
            fill = colour if k < len(COLOURS) else "white"
            parts.append(
                f'<circle cx="16" cy="{y - 4}" r="5" fill="{fill}" stroke="{colour}" '
                f'stroke-width="2"/><text x="28" y="{y}">{escape(group)}</text>'
            )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {high + 20 + 18 * len(marks)}" role="img" '
            f'font-size="12" font-family="sans-serif"><title>{escape(self.text)}</title>{"".join(parts)}</svg>'
        )

    def _repr_html_(self) -> str:
        return f"{self.svg()}<p>{escape(self.text)}</p>"


def map_of(distances: Floats, names: Sequence[str], groups: Sequence[str] | None = None) -> Map:
    """Lay forms on a plane; raises ShapeError for fewer than three.

    >>> d = np.abs(np.subtract.outer([0.0, 3.0, 7.0], [0.0, 3.0, 7.0]))
    >>> map_of(d, ["a", "b", "c"]).share
    1.0
    """
    n = len(names)
    if n < 3 or distances.shape != (n, n):
        raise ShapeError(
            "A map needs at least three forms, one name for each row of distances",
            f"{n} names",
            "add forms, or look at the overlay of the two",
        )
    centre = np.eye(n) - 1 / n
    values, vectors = np.linalg.eigh(-0.5 * centre @ (distances**2) @ centre)
    order = np.argsort(-values)
    values, vectors = values[order], vectors[:, order]
    # the sign of an eigenvector is free: the entry of largest size is made positive, so that a map is drawn the same
    # each time
    sign = np.sign(vectors[np.abs(vectors).argmax(0), np.arange(n)])
    at = (vectors * sign)[:, :2] * np.sqrt(np.clip(values[:2], 0, None))
    whole = float(values[values > 0].sum())
    return Map(
        tuple(names),
        tuple(groups or names),
        at,
        round(float(np.clip(values[:2], 0, None).sum()) / whole, 4) if whole > 0 else 1.0,
    )
