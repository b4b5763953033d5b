"""Stroke to stroke: which strokes of two tracings answer each other, which are added or dropped, and where one bends.

Conventions
-----------
* Tracings a and b are lists of strokes of (x, y), y down, each in any one unit; b is laid on a by ``comparison`` first
  (turn, shear, stretch, shift within its limits). Lengths are told in shares of a's longer side. Strokes are counted
  from 1, in the order in which each tracing holds them.
* A stroke of one answers at most one of the other: the assignment with the least cost as a whole (Kuhn, Naval
  Research Logistics Quarterly 2, 1955; by SciPy). What costs more than ``APART`` answers nothing: it is *dropped*
  (only a has it) or *added* (only b).
* A matched stroke *bends* where it lies farthest from its fellow, if that is more than ``BENDS``.
* A machine's stroke and a hand's may be cut at other places: what is told here is of the tracings as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape

import numpy as np
import numpy.typing as npt
from scipy.optimize import linear_sum_assignment

from readaid.forms.comparison import CAUTION, compare
from readaid.forms.form import form_of_tracing
from readaid.forms.stroke_runs import length
from readaid.forms.tracing_counts import evenly, scaled

Floats = npt.NDArray[np.float64]
Strokes = Sequence[Sequence[tuple[float, float]]]
#: Mean distance (share of the longer side) beyond which two strokes are two different ones.
APART = 0.13
#: From this distance on a place of a matched stroke is told as bending away.
BENDS = 0.06
_POINTS = 40


@dataclass(frozen=True, slots=True)
class StrokePair:
    """Stroke ``a`` of the first and ``b`` of the second answer each other (numbers from 1).

    ``apart`` is their mean distance; ``bend`` the largest, at ``at`` (x, y) in a's units; ``longer`` the length of b's
    over a's; ``backwards`` says that they were drawn in opposite senses.
    """

    a: int
    b: int
    apart: float
    bend: float
    at: tuple[float, float]
    longer: float
    backwards: bool

    @property
    def bends(self) -> bool:
        """Whether the stroke leaves its fellow far enough to be told."""
        return self.bend > BENDS


@dataclass(frozen=True, slots=True)
class Correspondence:
    """Two tracings stroke by stroke: ``pairs``, strokes ``dropped`` (only in a) and ``added`` (only in b)."""

    pairs: tuple[StrokePair, ...]
    dropped: tuple[int, ...]
    added: tuple[int, ...]
    a: tuple[tuple[tuple[float, float], ...], ...] = field(repr=False)
    laid: tuple[tuple[tuple[float, float], ...], ...] = field(repr=False)  # b's strokes in a's units

    @property
    def text(self) -> str:
        """What was found, in words, with the caution."""
        told = [f"{len(self.pairs)} of {len(self.a)} strokes of the first answer one of the {len(self.laid)} of the "
                "second."]
        if self.dropped:
            told.append(f"Only the first has {_strokes(self.dropped)}.")
        if self.added:
            told.append(f"Only the second has {_strokes(self.added)}.")
        told += [f"Stroke {p.a} bends away from stroke {p.b} of the second by {p.bend:.2f} of the form's size."
                 for p in self.pairs if p.bends]
        told += [f"Stroke {p.a} runs the other way in the second, as the two were traced."
                 for p in self.pairs if p.backwards]
        return " ".join((*told, CAUTION))

    def _repr_html_(self) -> str:
        return f"<p>{escape(self.text)}</p>"


def correspond(a: Strokes, b: Strokes) -> Correspondence:
    """Find which strokes of two tracings answer each other.

    Parameters
    ----------
    a, b: tracings, one list of (x, y) points a stroke, each in one unit of its own; a stroke of one point is a dot.

    Raises ShapeError where one holds no stroke.

    >>> cross = [[(0, 50), (100, 50)], [(50, 0), (50, 100)]]
    >>> found = correspond(cross, [[(50, 2), (51, 99)], [(1, 52), (100, 50)], [(85, 85)]])
    >>> [(p.a, p.b) for p in found.pairs], found.dropped, found.added
    ([(1, 2), (2, 1)], (), (3,))
    """
    scaled(a), scaled(b)  # told before anything is compared
    change = compare(form_of_tracing(a), form_of_tracing(b)).transform
    matrix = np.array(change).reshape(2, 3)
    first = [np.asarray(s, float).reshape(-1, 2) for s in a if len(s)]
    laid = [np.asarray(s, float).reshape(-1, 2) @ matrix[:, :2].T + matrix[:, 2] for s in b if len(s)]
    side = max(float(np.ptp(np.concatenate(first), axis=0).max()), 1e-9)
    evenly_a, evenly_b = ([evenly(s, _POINTS) for s in part] for part in (first, laid))
    cost = np.array([[_cost(p, q) / side for q in evenly_b] for p in evenly_a])
    pairs = []
    # Cut off at APART, so that one stroke far away does not drag the others into worse pairs.
    for i, k in zip(*linear_sum_assignment(np.minimum(cost, APART)), strict=True):
        if cost[i, k] < APART:
            pairs.append(_pair(int(i), int(k), evenly_a[i], evenly_b[k], side))
    return Correspondence(
        tuple(pairs), tuple(i + 1 for i in range(len(first)) if i + 1 not in {p.a for p in pairs}),
        tuple(k + 1 for k in range(len(laid)) if k + 1 not in {p.b for p in pairs}),
        *(tuple(tuple((float(x), float(y)) for x, y in s) for s in part) for part in (first, laid)))


def _ways(p: Floats, q: Floats) -> tuple[Floats, bool]:
    """Distances point by point along both strokes, in the better of the two senses, and whether that is backwards."""
    forth, back = np.hypot(*(p - q).T), np.hypot(*(p - q[::-1]).T)
    return (back, True) if back.mean() < forth.mean() else (forth, False)


def _cost(p: Floats, q: Floats) -> float:
    """Mean distance along both, half of it by the nearest point: a stroke that is only longer is still the same one."""
    along = float(_ways(p, q)[0].mean())
    far = np.hypot(*(p[:, None] - q[None]).transpose(2, 0, 1))
    return 0.5 * along + 0.25 * float(far.min(0).mean() + far.min(1).mean())


def _pair(i: int, k: int, p: Floats, q: Floats, side: float) -> StrokePair:
    far, backwards = _ways(p, q)
    long = [length(s) for s in (p, q)]
    # a bend is a change of course, not of length: distance to the nearest point of the fellow, its ends left out
    bend = np.hypot(*(p[:, None] - q[None]).transpose(2, 0, 1)).min(1)[2:-2]
    at = int(bend.argmax()) + 2
    return StrokePair(i + 1, k + 1, round(float(far.mean()) / side, 4), round(float(bend.max()) / side, 4),
                      (round(float(p[at, 0]), 2), round(float(p[at, 1]), 2)),
                      # A dot has no sense in which it was drawn.
                      round(long[1] / max(long[0], 1e-9), 3), backwards and min(long) > 0.05 * side)


def _strokes(numbers: tuple[int, ...]) -> str:
    return f"stroke{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
