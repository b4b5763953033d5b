"""Proposed zones sorted against those that are there: new signs, doubles, corrections.

Conventions: boxes are (x, y, width, height) in full-size pixels of one photo. ``shared`` is the part of the smaller box
that two boxes have in common. Nothing is saved here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from readaid.core.photo import Zone

Box = tuple[float, ...]
#: A proposal that shares this much with a zone stands for the same sign.
SAME = 0.4
#: Two outlines of one sign that agree less than this are worth a look.
AGREE = 0.6


def overlap(a: Box, b: Box) -> float:
    """Intersection over union of two boxes (x, y, w, h).

    >>> overlap((0, 0, 10, 10), (0, 0, 10, 20))
    0.5
    """
    w = min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0])
    h = min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1])
    both = max(w, 0) * max(h, 0)
    return both / (a[2] * a[3] + b[2] * b[3] - both) if both else 0.0


def shared(a: Box, b: Box) -> float:
    """Part of the smaller of two boxes (x, y, w, h) that lies in the other.

    >>> shared((0, 0, 10, 10), (0, 5, 10, 40))
    0.5
    """
    w = min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0])
    h = min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1])
    least = min(a[2] * a[3], b[2] * b[3])
    return max(w, 0) * max(h, 0) / least if least > 0 else 0.0


def sorted_out(columns: Sequence[Sequence[Zone]], known: Mapping[str, Box]
               ) -> tuple[list[list[Zone]], list[dict[str, Any]], int]:
    """Proposals by what is there: new ones in their columns, corrections, and how many fell on zones.

    A correction names the zones it is about and the boxes offered for them: one for one where outlines differ, several
    for one zone that may hold several signs, one for several zones that may be parts of one sign.
    """
    new: list[list[Zone]] = []
    at: dict[int, list[str]] = {}
    found = [z for column in columns for z in column]
    for i, zone in enumerate(found):
        on = [k for k, box in known.items() if shared(zone.box, box) > SAME]
        if on:
            at[i] = on
    n = 0
    for column in columns:
        fresh = [z for j, z in enumerate(column, start=n) if j not in at]
        n += len(column)
        if fresh:
            new.append(fresh)
    corrections: list[dict[str, Any]] = []
    done: set[int] = set()
    for i, zones in at.items():
        if i in done:
            continue
        alone = [j for j, others in at.items() if others == zones]
        done.update(alone)
        boxes = [found[j].box for j in alone]
        if len(zones) > 1 and len(alone) == 1:
            corrections.append({"what": "join", "zones": zones, "boxes": boxes})
        elif len(zones) == 1 and len(alone) > 1:
            corrections.append({"what": "split", "zones": zones, "boxes": sorted(boxes, key=lambda b: b[1])})
        elif len(zones) == 1 and overlap(boxes[0], known[zones[0]]) < AGREE:
            corrections.append({"what": "outline", "zones": zones, "boxes": boxes})
    return new, corrections, len(at)
