"""Stretches of writing that may each be one sign, where the finder of zones may have split, joined or invented some.

Conventions
-----------
* Boxes are (x, y, width, height) in pixels of the picture; columns from the right, their boxes from top to bottom.
* *Pieces* are what the stretches are made of, numbered along the reading order: a zone, half of a zone too tall for one
  sign, or a place between two zones where a sign may have been missed (``empty``).
* A stretch covers the pieces ``first`` up to but not including ``last``, all of one column. A zone that may lack a
  faint part is seen in a larger box besides; what shape says of both is mixed, the better box counting more.
* A zone that the reader has judged is one piece that nothing is asked about: it has no stretch, and no other stretch
  covers it. A sign without a zone (lost, or only known to have been there) is such a piece too.
* Several pictures of one frame (other lamps) may be given: what shape says of a stretch is the mean over them;
  ``lamp`` names the one where it is surest. On worn cuts four lamps put 5 in 100 more signs first than one (88.6
  against 83.5 of 1,200 rendered real hands); the surest lamp alone 88.0.
* ``odds`` is the natural logarithm of how much likelier a stretch is one whole sign than something else (a part, two
  signs, a scratch): from the share of "none of these" and from its size among the others, the mean odds of stretches
  taken out. ``WEIGHTS`` by logistic regression on rendered pieces in two hands, with verses for fitting.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Container, Sequence
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
    lamp: int = 0  # number of the picture it is seen best in


@dataclass(frozen=True, slots=True)
class Layout:
    """Pieces in reading order, what leaving each out costs (natural log), nodes where columns end, the stretches.

    ``zones``: the number of the zone each piece is of, counted along the reading order; -1 where none was drawn.
    """

    pieces: tuple[Box, ...]
    left_out: tuple[float, ...]
    column_ends: tuple[int, ...]
    stretches: tuple[Stretch, ...]
    zones: tuple[int, ...] = ()


@dataclass
class _Column:
    """A column while it is laid: its pieces (numbered from ``start``), zones with their first and last piece, and the
    boxes to look at, with the pieces they cover."""

    start: int
    pieces: list[Box] = field(default_factory=list)
    left_out: list[float] = field(default_factory=list)
    number: list[int] = field(default_factory=list)
    zones: list[tuple[Box, int, int]] = field(default_factory=list)
    boxes: list[tuple[int, int, Box]] = field(default_factory=list)
    prior: dict[tuple[int, int], float] = field(default_factory=dict)

    def add(self, boxes: Sequence[Box], left_out: float, zone: int = -1) -> tuple[int, int]:
        self.number += [zone] * len(boxes)
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


def of_zones(image: Any, columns: Sequence[Sequence[Box | None]], among: str = "all", free: bool = True,
             judged: Container[int] = (), lamps: Sequence[Any] = ()) -> Layout:
    """Look at every stretch of the zones of a picture.

    Parameters
    ----------
    image: (height, width[, 3]) uint8.
    columns: zones in reading order; None is a sign without a zone.
    free: zones may be parted, joined, left out and supplied; else each is one sign.
    judged: numbers of the zones (along the reading order) that nothing is asked about.
    lamps: further pictures of the same frame, under other light.
    """
    drawn = [[b for b in zones if b is not None] for zones in columns]
    side = usual_side(drawn)
    pictures = [evened(picture, side) for picture in (image, *lamps)]
    pieces: list[Box] = []
    left_out: list[float] = []
    ends: list[int] = []
    stretches: list[Stretch] = []
    numbers: list[int] = []
    done = 0
    for zones in columns:
        column = _Column(len(pieces))
        _lay(column, [(zone, done + n, zone is None or done + n in judged) for n, zone in enumerate(zones)], side, free)
        done += len(zones)
        stretches += _seen(pictures, column, side, among, free)
        pieces += column.pieces
        left_out += column.left_out
        numbers += column.number
        ends.append(len(pieces))
    return Layout(tuple(pieces), tuple(left_out), tuple(e for e in ends if 0 < e < len(pieces)), tuple(stretches),
                  tuple(numbers))


def _lay(column: _Column, zones: Sequence[tuple[Box | None, int, bool]], side: float, free: bool) -> None:
    """Lay the pieces of a column, and what is to be looked at; zones with their numbers, and whether each is judged."""
    before: tuple[Box, int] | None = None  # the zone above and its first piece, where the two may be one sign
    for zone, number, judged in zones:
        if zone is None or judged:
            column.add([zone or (0.0, 0.0, 0.0, 0.0)], math.inf, number)
            before = None
            continue
        if not free:
            column.want(*column.add([zone], math.inf, number), zone, ZONE)
            continue
        x, y, w, h = zone
        if before is not None and (gap := _gap(before[0], zone, side)) is not None:
            column.want(*column.add([gap], 0.0), gap, EMPTY)
            before = None
        if h > TALL * side:
            halves = (x, y, w, h / 2), (x, y + h / 2, w, h / 2)
            first, last = column.add(halves, -math.log(1 - ZONE) / 2, number)
            for n, half in enumerate(halves):
                column.want(first + n, first + n + 1, half, HALF)
        else:
            first, last = column.add([zone], -math.log(1 - ZONE), number)
        column.zones.append((zone, first, last))
        column.want(first, last, zone, ZONE)
        if before is not None and max(union(before[0], zone)[2:]) <= UNION * side:
            column.want(before[1], last, union(before[0], zone), BOTH)
        before = zone, first


def _seen(pictures: Sequence[Any], column: _Column, side: float, among: str, free: bool) -> list[Stretch]:
    """Look at the boxes of a column, and at others where a zone is no whole sign by its own."""
    looked: dict[tuple[int, int], list[tuple[Box, Weighed, float]]] = {}
    lamp: dict[tuple[int, int], int] = {}

    def look(first: int, last: int, box: Box) -> None:
        views: list[tuple[int, Weighed]] = []
        for number, picture in enumerate(pictures):
            with contextlib.suppress(ReadaidError):  # no stroke in it
                views.append((number, weigh_many([cut(picture, box, MARGIN)], ASKED, among)[0]))
        if not views:
            return
        lamp.setdefault((first, last), max(views, key=lambda v: (certainty(v[1]), -v[0]))[0])
        seen = mean([v for _, v in views])
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
                           odds + column.prior[first, last], lamp[first, last]))
    return out


def mean(each: Sequence[Weighed], trust: Sequence[float] | None = None) -> Weighed:
    """What several looks at one sign show together; ``trust`` are their weights, equal ones where it is None.

    >>> one, other = (Weighed((Suggestion(c, (c,), 0.8),), 0.2, ()) for c in "くへ")
    >>> [(s.character, s.probability) for s in mean([one, other]).suggestions]
    [('く', 0.4), ('へ', 0.4)]
    """
    if len(each) == 1:
        return each[0]
    weights = [1 / len(each)] * len(each) if trust is None else [t / sum(trust) for t in trust]
    shares: dict[str, tuple[Suggestion, float]] = {}
    for own, t in zip(each, weights, strict=True):
        for s in own.suggestions:
            shares[s.character] = (s, shares.get(s.character, (s, 0.0))[1] + t * s.probability)
    ranked = sorted(shares.values(), key=lambda x: -x[1])
    return Weighed(tuple(replace(s, probability=min(1.0, p)) for s, p in ranked),
                   sum(t * own.none for own, t in zip(each, weights, strict=True)),
                   each[weights.index(max(weights))].sounds)


def certainty(seen: Weighed) -> float:
    """How sure shape is of a crop, 0..1: the share of its first choice.

    >>> certainty(Weighed((Suggestion("く", ("く",), 0.6),), 0.4, ()))
    0.6
    """
    return seen.suggestions[0].probability if seen.suggestions else 0.0


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
    most = max(odds for _, _, odds in looked)
    return mean([own for _, own, _ in looked], [math.exp(odds - most) for _, _, odds in looked])
