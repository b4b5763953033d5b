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
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from readaid.core.candidate import Suggestion
from readaid.core.errors import ReadaidError
from readaid.glyphs.candidates import Weighed, weigh_many
from readaid.photo.file import cut
from readaid.photo.operators import local_contrast, stain_model, stain_off
from readaid.photo.raster import checked, eight_bit, rgb
from readaid.reading.shape_evidence import ASKED

Box = tuple[float, float, float, float]

#: Margin round a zone's crop, as a share of its longer side: as a piece cuts it.
MARGIN = 0.08
#: Surroundings that a place is stretched by, in usual sides.
PATCH = 0.7
#: Log odds of one sign: constant, log odds of "not none", log of side / usual side, and its square.
WEIGHTS = (-0.7, 0.81, 1.86, -1.79)
#: Mean log odds of a stretch, taken out of the above.
BEFORE = 1.3
#: In usual sides: a zone taller than TALL may be two signs, a union up to UNION one; a gap from GAP on may hide one; a
#: zone narrower or lower than SMALL may lack a part.
TALL, UNION, GAP, SMALL = 1.35, 1.45, 0.8, 0.8
#: How far round a zone parts of it are looked for, in usual sides.
ABOVE, BELOW, BESIDE = 0.15, 0.4, 0.1
#: A zone with log odds below this is looked at in other boxes besides.
SURE = 2.5
#: Share of a piece's height in a larger box from which on it belongs to it.
INSIDE = 0.3
#: Share of each that really is one sign, before it is looked at. A zone left out costs as much as it says.
ZONE, HALF, BOTH, EMPTY = 0.97, 0.1, 0.1, 0.05


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


@dataclass
class _Column:
    """A column while it is laid: its pieces (numbered from ``start``), zones with their first and last piece, and the
    boxes to look at, with the pieces they cover."""

    start: int
    pieces: list[Box] = field(default_factory=list)
    left_out: list[float] = field(default_factory=list)
    zones: list[tuple[Box, int, int]] = field(default_factory=list)
    boxes: list[tuple[int, int, Box]] = field(default_factory=list)
    prior: dict[tuple[int, int], float] = field(default_factory=dict)

    def add(self, boxes: Sequence[Box], left_out: float) -> tuple[int, int]:
        first = self.start + len(self.pieces)
        self.pieces += boxes
        self.left_out += [left_out] * len(boxes)
        return first, first + len(boxes)

    def want(self, first: int, last: int, box: Box, share: float) -> None:
        self.boxes.append((first, last, box))
        self.prior.setdefault((first, last), math.log(share))

    def covered(self, box: Box) -> tuple[int, int] | None:
        """The pieces that lie in a box by more than INSIDE of their height: no other stretch may have them."""
        inside = [n for n, (_, y, _, h) in enumerate(self.pieces, self.start)
                  if min(y + h, box[1] + box[3]) - max(y, box[1]) > INSIDE * h]
        return (inside[0], inside[-1] + 1) if inside else None


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


def evened(image: Any, side: float) -> Any:
    """The picture as shape should see it: stain (told by colour) taken off, each place stretched by its surroundings.

    On worn cuts this puts 4 in 100 more signs first; ink and fresh cuts stay as they are.
    """
    pixels = rgb(eight_bit(checked(image)))
    return local_contrast(stain_off(pixels, stain_model(pixels), 1.0), PATCH * side, 1.0)


def of_zones(image: Any, columns: Sequence[Sequence[Box]], among: str = "all", free: bool = True) -> Layout:
    """Look at every stretch of the zones of a picture.

    ``free``: zones may be parted, joined, left out and supplied; else each is one sign, as a reader's own zones are.
    """
    side = usual_side(columns)
    image = evened(image, side)
    pieces: list[Box] = []
    left_out: list[float] = []
    ends: list[int] = []
    stretches: list[Stretch] = []
    for zones in columns:
        column = _Column(len(pieces))
        if free:
            _lay(column, sorted(zones, key=lambda b: b[1]), side)
        else:
            for zone in zones:
                column.want(*column.add([zone], math.inf), zone, ZONE)
        stretches += _seen(image, column, side, among, free)
        pieces += column.pieces
        left_out += column.left_out
        ends.append(len(pieces))
    return Layout(tuple(pieces), tuple(left_out), tuple(e for e in ends if 0 < e < len(pieces)), tuple(stretches))


def _lay(column: _Column, zones: Sequence[Box], side: float) -> None:
    """Lay the pieces of a column, and what is to be looked at."""
    before: tuple[Box, int] | None = None  # the zone above and its first piece
    for zone in zones:
        x, y, w, h = zone
        if before is not None and (gap := _gap(before[0], zone, side)) is not None:
            column.want(*column.add([gap], 0.0), gap, EMPTY)
            before = None
        if h > TALL * side:
            halves = (x, y, w, h / 2), (x, y + h / 2, w, h / 2)
            first, last = column.add(halves, -math.log(1 - ZONE) / 2)
            for n, half in enumerate(halves):
                column.want(first + n, first + n + 1, half, HALF)
        else:
            first, last = column.add([zone], -math.log(1 - ZONE))
        column.zones.append((zone, first, last))
        column.want(first, last, zone, ZONE)
        if before is not None and union(before[0], zone)[3] <= UNION * side:
            column.want(before[1], last, union(before[0], zone), BOTH)
        before = zone, first


def _seen(image: Any, column: _Column, side: float, among: str, free: bool) -> list[Stretch]:
    """Look at the boxes of a column, and at others where a zone is no whole sign by its own."""
    looked: dict[tuple[int, int], list[tuple[Box, Weighed, float]]] = {}

    def look(first: int, last: int, box: Box) -> None:
        try:
            seen = weigh_many([cut(image, box, MARGIN)], ASKED, among)[0]
        except ReadaidError:
            return  # no stroke in it
        looked.setdefault((first, last), []).append((box, seen, log_odds(seen, box, side)))

    for first, last, box in column.boxes:
        look(first, last, box)
    for number, (_, first, last) in enumerate(column.zones if free else []):
        look(first, last, _wider([z for z, _, _ in column.zones], number, side))
    centres = [x + w / 2 for (x, _, w, _), _, _ in column.zones]
    for number, (zone, first, last) in enumerate(column.zones if free else []):
        if any(odds >= SURE for _, _, odds in looked.get((first, last), ())[:1]):
            continue
        middle = float(np.median(centres[max(0, number - 2):number + 3]))
        for box in _others(zone, middle, side):
            held = column.covered(box)
            if held is not None and held[0] <= first and held[1] >= last:
                column.prior.setdefault(held, math.log(BOTH))
                look(*held, box)
    out = []
    for (first, last), views in looked.items():
        box, seen, odds = max(views, key=lambda v: v[2])
        out.append(Stretch(first, last, box, seen if len(views) == 1 else _mixed(views),
                           odds + column.prior[first, last]))
    return out


def _gap(above: Box, below: Box, side: float) -> Box | None:
    """The place between two zones, if it is large enough for a sign."""
    top, high = above[1] + above[3], below[1] - above[1] - above[3]
    if high < GAP * side:
        return None
    middle = (above[0] + above[2] / 2 + below[0] + below[2] / 2) / 2
    return middle - 0.55 * side, top, 1.1 * side, high


def _wider(zones: Sequence[Box], number: int, side: float) -> Box:
    """A zone with what may hang from it, up to its neighbours: the foot of き is often a stroke of its own."""
    x, y, w, h = zones[number]
    top = zones[number - 1][1] + zones[number - 1][3] if number else -math.inf
    bottom = zones[number + 1][1] if number + 1 < len(zones) else math.inf
    upper, lower = max(y - ABOVE * side, min(top, y)), min(y + h + BELOW * side, max(bottom, y + h))
    return x - BESIDE * side, upper, w + 2 * BESIDE * side, lower - upper


def _others(box: Box, middle: float, side: float) -> list[Box]:
    """Boxes that may show the sign whole where a zone shows part of it or more: of the usual side, held at an edge."""
    x, y, w, h = box
    wide = [(x, w)] if SMALL * side <= w <= TALL * side else [(x, w), (middle - side / 2, side)]
    high = [(y, h)]
    if h < SMALL * side:
        high += [(y, side), (y + h - side, side), (y + (h - side) / 2, side)]
    return [(a, b, c, d) for a, c in wide for b, d in high][1:]


def log_odds(seen: Weighed, box: Box, side: float) -> float:
    """Log odds that a crop is one whole sign, its mean taken out."""
    none = min(max(seen.none, 1e-4), 1 - 1e-4)
    size = math.log(max(box[2], box[3]) / side)
    a, b, c, d = WEIGHTS
    return a + b * math.log((1 - none) / none) + c * size + d * size * size - BEFORE


def _mixed(looked: Sequence[tuple[Box, Weighed, float]]) -> Weighed:
    """What several boxes show together, each as likely as it is to hold the sign."""
    odds = np.array([o for _, _, o in looked])
    trust = np.exp(odds - odds.max())
    trust /= trust.sum()
    shares: dict[str, tuple[Suggestion, float]] = {}
    for (_, own, _), t in zip(looked, trust.tolist(), strict=True):
        for s in own.suggestions:
            shares[s.character] = (s, shares.get(s.character, (s, 0.0))[1] + t * s.probability)
    ranked = sorted(shares.values(), key=lambda x: -x[1])
    return Weighed(tuple(replace(s, probability=min(1.0, p)) for s, p in ranked),
                   float(trust @ [own.none for _, own, _ in looked]), looked[int(trust.argmax())][1].sounds)
