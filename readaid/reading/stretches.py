"""Stretches of writing that may each be one sign, where the finder of zones may have split, joined or invented some.

Conventions
-----------
* Boxes are (x, y, width, height) in pixels of the picture; columns from the right, their boxes from top to bottom.
* *Pieces* are what the stretches are made of, numbered along the reading order: a zone, half of a zone too tall for one
  sign, or a place between two zones where a sign may have been missed (``empty``).
* A stretch covers the pieces ``first`` up to but not including ``last``, all of one column. A zone that may lack a
  faint part is seen in a larger box besides; what shape says of both is mixed, the better box counting more.
* ``odds`` is the natural logarithm of how much likelier a stretch is one whole sign than something else (a part, two
  signs, a scratch): from the share of "none of these" and from its size among the others, the mean odds of stretches
  taken out. ``WEIGHTS`` by logistic regression on rendered pieces in two hands, with verses for fitting.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from readaid.core.candidate import Suggestion
from readaid.core.errors import ReadaidError
from readaid.photo.file import cut
from readaid.reading.shapes import ASKED
from readaid.shape.candidates import Weighed, weigh_many

Box = tuple[float, float, float, float]

#: Margin round a zone's crop, as a share of its longer side: as a piece cuts it.
MARGIN = 0.08
#: Log odds of one sign: constant, log odds of "not none", log of side / usual side, and its square.
WEIGHTS = (-0.7, 0.81, 1.86, -1.79)
#: Mean log odds of a stretch, taken out of the above.
BEFORE = 1.3
#: In usual sides: a zone taller than TALL may be two signs, a union up to UNION one; a gap from GAP on may hide one; a
#: zone narrower or lower than SMALL may lack a part.
TALL, UNION, GAP, SMALL = 1.35, 1.45, 0.8, 0.8
#: Share of each that really is one sign, before it is looked at. A zone left out costs as much as it says.
ZONE, HALF, BOTH, EMPTY = 0.93, 0.1, 0.1, 0.05


@dataclass(frozen=True, slots=True)
class Stretch:
    """Pieces ``first`` to ``last`` as one sign: what it may be, the odds that it is one, the box it is best seen in."""

    first: int
    last: int
    box: Box
    seen: Weighed
    odds: float


@dataclass(frozen=True, slots=True)
class Layout:
    """Pieces in reading order, what leaving each out costs (natural log), nodes where columns end, the stretches."""

    pieces: tuple[Box, ...]
    left_out: tuple[float, ...]
    column_ends: tuple[int, ...]
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A stretch before it is looked at; ``prior`` is the natural log of its share."""

    first: int
    last: int
    boxes: tuple[Box, ...]
    prior: float = 0.0


def usual_side(columns: Sequence[Sequence[Box]]) -> float:
    """Side of the usual sign in pixels: the median of the longer sides.

    >>> usual_side([[(0, 0, 10, 20), (0, 30, 22, 21)], [(0, 0, 24, 10)]])
    22.0
    """
    return float(np.median([max(b[2], b[3]) for c in columns for b in c] or [1.0]))


def union(a: Box, b: Box) -> Box:
    """The box round two.

    >>> union((0, 0, 4, 4), (2, 6, 4, 2))
    (0, 0, 6, 8)
    """
    x, y = min(a[0], b[0]), min(a[1], b[1])
    return x, y, max(a[0] + a[2], b[0] + b[2]) - x, max(a[1] + a[3], b[1] + b[3]) - y


def of_zones(image: Any, columns: Sequence[Sequence[Box]], among: str = "all", free: bool = True) -> Layout:
    """Look at every stretch of the zones of a picture.

    ``free``: zones may be parted, joined, left out and supplied; else each is one sign, as a reader's own zones are.
    """
    side = usual_side(columns)
    pieces: list[Box] = []
    left_out: list[float] = []
    wanted: list[_Wanted] = []
    ends: list[int] = []
    for column in columns:
        if free:
            _column(sorted(column, key=lambda b: b[1]), side, pieces, left_out, wanted)
        else:
            wanted += [_Wanted(len(pieces) + n, len(pieces) + n + 1, (b,)) for n, b in enumerate(column)]
            pieces += column
            left_out += [math.inf] * len(column)
        ends.append(len(pieces))
    sights = _looked(image, [b for w in wanted for b in w.boxes], among)
    stretches = [s for w in wanted if (s := _mixed(w, sights, side)) is not None]
    return Layout(tuple(pieces), tuple(left_out), tuple(e for e in ends if 0 < e < len(pieces)), tuple(stretches))


def _column(zones: Sequence[Box], side: float, pieces: list[Box], left_out: list[float],
            wanted: list[_Wanted]) -> None:
    """Lay the pieces of a column, and what is to be looked at."""
    before: tuple[Box, int] | None = None  # the zone above and its first piece
    for number, zone in enumerate(zones):
        x, y, w, h = zone
        if before is not None and (gap := _gap(before[0], zone, side)) is not None:
            wanted.append(_Wanted(len(pieces), len(pieces) + 1, (gap,), math.log(EMPTY)))
            pieces.append(gap)
            left_out.append(0.0)
            before = None
        first = len(pieces)
        if h > TALL * side:
            halves = (x, y, w, h / 2), (x, y + h / 2, w, h / 2)
            wanted += [_Wanted(first + n, first + n + 1, (b,), math.log(HALF)) for n, b in enumerate(halves)]
            pieces += halves
            left_out += [-math.log(1 - ZONE) / 2] * 2
        else:
            pieces.append(zone)
            left_out.append(-math.log(1 - ZONE))
        wanted.append(_Wanted(first, len(pieces), _views(zones, number, side), math.log(ZONE)))
        if before is not None and union(before[0], zone)[3] <= UNION * side:
            wanted.append(_Wanted(before[1], len(pieces), (union(before[0], zone),), math.log(BOTH)))
        before = zone, first


def _gap(above: Box, below: Box, side: float) -> Box | None:
    """The place between two zones, if it is large enough for a sign."""
    top, high = above[1] + above[3], below[1] - above[1] - above[3]
    if high < GAP * side:
        return None
    middle = (above[0] + above[2] / 2 + below[0] + below[2] / 2) / 2
    return middle - 0.55 * side, top, 1.1 * side, high


def _views(zones: Sequence[Box], number: int, side: float) -> tuple[Box, ...]:
    """A zone, and a larger box round it where it is small, up to its neighbours."""
    x, y, w, h = zones[number]
    if min(w, h) >= SMALL * side:
        return (zones[number],)
    top = zones[number - 1][1] + zones[number - 1][3] if number else -math.inf
    bottom = zones[number + 1][1] if number + 1 < len(zones) else math.inf
    wide, high = max(w, 0.95 * side), max(h, 0.95 * side)
    left, upper = x + w / 2 - wide / 2, max(top, y + h / 2 - high / 2)
    lower = min(bottom, y + h / 2 + high / 2)
    return zones[number], (left, min(upper, y), wide, max(lower, y + h) - min(upper, y))


def _looked(image: Any, boxes: Sequence[Box], among: str) -> Iterator[tuple[Box, Weighed | None]]:
    """What shape says of each box, None where there is no stroke in it."""
    crops: list[Any] = []
    for box in boxes:
        try:
            crops.append(cut(image, box, MARGIN))
        except ReadaidError:
            crops.append(None)
    for box, crop in zip(boxes, crops, strict=True):
        try:
            yield box, None if crop is None else weigh_many([crop], ASKED, among)[0]
        except ReadaidError:
            yield box, None


def log_odds(seen: Weighed, box: Box, side: float) -> float:
    """Log odds that a crop is one whole sign, its mean taken out."""
    none = min(max(seen.none, 1e-4), 1 - 1e-4)
    size = math.log(max(box[2], box[3]) / side)
    a, b, c, d = WEIGHTS
    return a + b * math.log((1 - none) / none) + c * size + d * size * size - BEFORE


def _mixed(wanted: _Wanted, sights: Iterator[tuple[Box, Weighed | None]], side: float) -> Stretch | None:
    """A stretch from what its boxes show."""
    looked = [(box, seen, log_odds(seen, box, side)) for box, seen in (next(sights) for _ in wanted.boxes)
              if seen is not None]
    if not looked:
        return None
    box, seen, odds = max(looked, key=lambda x: x[2])
    if len(looked) > 1:
        trust = np.array([1 / (1 + math.exp(-o)) for _, _, o in looked])
        trust /= trust.sum()
        shares: dict[str, tuple[Suggestion, float]] = {}
        for (_, own, _), t in zip(looked, trust.tolist(), strict=True):
            for s in own.suggestions:
                shares[s.character] = (s, shares.get(s.character, (s, 0.0))[1] + t * s.probability)
        ranked = sorted(shares.values(), key=lambda x: -x[1])
        seen = Weighed(tuple(replace(s, probability=min(1.0, p)) for s, p in ranked),
                       float(trust @ [own.none for _, own, _ in looked]), seen.sounds)
    return Stretch(wanted.first, wanted.last, box, seen, odds + wanted.prior)
