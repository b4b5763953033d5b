"""Where the number of each zone stands on a picture, so that no number covers writing or another number.

Conventions: boxes are (left, top, right, bottom) in pixels of the picture. A number stands as near its zone as there is
room: left of it, right, above, below, then further out; what stands further out is tied to its zone by a line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Box = tuple[float, float, float, float]
Boxes = NDArray[np.float64]
#: Pixels between a zone and its number.
GAP = 2.0
#: How many steps of a number's own size it may stand away from its zone.
STEPS = 60


@dataclass(frozen=True, slots=True)
class Place:
    """Where a number stands; ``tied`` where a line must lead to its zone."""

    box: Box
    tied: bool = False


def places(zones: Sequence[Box], sizes: Sequence[tuple[float, float]],
           frame: tuple[float, float]) -> list[Place | None]:
    """A place for the number of each zone (``sizes``: width and height of each); None where there is no room at all.

    >>> [p.box for p in places([(50, 50, 90, 90)], [(10, 8)], (100, 100))]
    [(38.0, 50.0, 48.0, 58.0)]
    """
    writing = np.asarray(zones, np.float64).reshape(-1, 4)
    taken = np.zeros((0, 4))
    found: list[Place | None] = []
    for zone, (width, height) in zip(writing, sizes, strict=True):
        best = None
        for tied, spots in ((False, _beside(zone, width, height, range(1))),
                            (True, _beside(zone, width, height, range(1, STEPS)))):
            free = _inside(spots, frame) & ~_meets(spots, writing) & ~_meets(spots, taken)
            if free.any():
                x0, y0, x1, y1 = (float(v) for v in spots[int(np.argmax(free))])
                best = Place((x0, y0, x1, y1), tied)
                taken = np.vstack([taken, [best.box]])
                break
        found.append(best)
    return found


def _beside(zone: NDArray[np.float64], width: float, height: float, steps: range) -> Boxes:
    """Places near a zone, the nearest first: beside its top, its middle and its foot, above, below."""
    left, top, right, bottom = zone
    spots = []
    for n in steps:
        downs = (top, (top + bottom - height) / 2, bottom - height)
        spots += [(x, y) for x in (left - GAP - width - n * (width + GAP), right + GAP + n * (width + GAP))
                  for y in downs]
        spots += [(x, y) for y in (top - GAP - height - n * (height + GAP), bottom + GAP + n * (height + GAP))
                  for x in (left, (left + right - width) / 2, right - width)]
    at = np.asarray(spots, np.float64)
    return np.hstack([at, at + np.array([width, height])])


def _inside(boxes: Boxes, frame: tuple[float, float]) -> NDArray[np.bool_]:
    inside: NDArray[np.bool_] = ((boxes[:, 0] >= 0) & (boxes[:, 1] >= 0) & (boxes[:, 2] <= frame[0])
                                 & (boxes[:, 3] <= frame[1]))
    return inside


def _meets(boxes: Boxes, others: Boxes) -> NDArray[np.bool_]:
    """For each box whether it overlaps any of the others."""
    a, b = boxes[:, None, :], others[None, :, :]
    over = ((a[..., 0] < b[..., 2]) & (b[..., 0] < a[..., 2]) & (a[..., 1] < b[..., 3]) & (b[..., 1] < a[..., 3]))
    met: NDArray[np.bool_] = np.asarray(over.any(axis=1), np.bool_)
    return met
