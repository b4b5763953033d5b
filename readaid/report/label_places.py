"""Where the number of each zone stands on a picture, so that no number covers writing or another number.

Conventions: boxes are (left, top, right, bottom) in pixels of the picture. A number stands as near its zone as there is
room: left of it, right, above, below, then further out; what stands further out is tied to its zone by a line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Box = tuple[float, float, float, float]
#: Pixels between a zone and its number.
GAP = 2.0


@dataclass(frozen=True, slots=True)
class Place:
    """Where a number stands; ``tied`` where a line must lead to its zone."""

    box: Box
    tied: bool = False


def places(zones: Sequence[Box], sizes: Sequence[tuple[float, float]],
           frame: tuple[float, float]) -> list[Place | None]:
    """A place for the number of each zone (``sizes``: width and height of each); None where there is no room at all.

    >>> [p.box for p in places([(50, 50, 90, 90)], [(10, 8)], (100, 100))]
    [(38.0, 50, 48.0, 58)]
    """
    taken: list[Box] = []
    found: list[Place | None] = []
    for zone, (width, height) in zip(zones, sizes, strict=True):
        best = next((p for p in _tries(zone, width, height) if _inside(p.box, frame)
                     and not any(_meet(p.box, z) for z in zones) and not any(_meet(p.box, t) for t in taken)), None)
        found.append(best)
        if best is not None:
            taken.append(best.box)
    return found


def _tries(zone: Box, width: float, height: float) -> list[Place]:
    """Places near a zone, the best first: beside its top, its middle and its foot, above, below; then further out."""
    left, top, right, bottom = zone
    near: list[Place] = []
    far: list[Place] = []
    for n in range(12):
        step = n * (height + GAP)
        sides = [left - GAP - width - n * (width + GAP), right + GAP + n * (width + GAP)]
        downs = [top, (top + bottom - height) / 2, bottom - height]
        spots = [(x, y) for x in sides for y in downs]
        spots += [(x, y) for y in (top - GAP - height - step, bottom + GAP + step)
                  for x in (left, (left + right - width) / 2, right - width)]
        (far if n else near).extend(Place((x, y, x + width, y + height), bool(n)) for x, y in spots)
    return near + far


def _inside(box: Box, frame: tuple[float, float]) -> bool:
    return box[0] >= 0 and box[1] >= 0 and box[2] <= frame[0] and box[3] <= frame[1]


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
