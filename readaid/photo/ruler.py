"""A ruler in the picture, found by its graduations: a proposal for the scale, never used unasked.

Conventions: full-size pixels, (x, y), origin top-left; ``px_per_mm`` along the ruler. What a mark stands for is told by
how long the marks are: every tenth longest and every fifth longer (mm), the same over every second (half mm), or
halves of halves (sixteenths of an inch, 25.4 mm by the agreement of 1959). That cm marks are the longest is common
practice, no source; figures are not read, so a ruler of another measure with tens and fives (bu and sun) passes for mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readaid.core.photo import Point, Scale
from readaid.photo import ticks
from readaid.photo.raster import Floats, reduced_grey

_LONGEST = 2800  # px worked on; marks finer than 3.6 px then are not found
_SPAN = 21  # marks from the first to the last, two of the longest among them
_LEAST = 0.5  # less sure than this is not proposed


@dataclass(frozen=True)
class Graduation:
    """What the marks of a ruler stand for: mm from mark to mark, marks in a cycle, length class of each of them."""

    name: str
    step: float
    classes: tuple[int, ...]


GRADUATIONS = (
    Graduation("mm", 1.0, (2, 0, 0, 0, 0, 1, 0, 0, 0, 0)),
    Graduation("half mm", 0.5, tuple(3 if n == 0 else 2 if n == 10 else 1 - n % 2 for n in range(20))),
    Graduation("1/16 inch", 25.4 / 16, (4, 0, 1, 0, 2, 0, 1, 0, 3, 0, 1, 0, 2, 0, 1, 0)),
)


@dataclass(frozen=True)
class Ruler:
    """A ruler found. From ``a`` to ``b`` (two of its longest marks) lie ``millimetres``, so ``px_per_mm`` on the
    average of its length; ``error`` is how far (one standard deviation, as a share) a place along it may differ from
    that: the marks' scatter and ``change``, the difference between its widest and narrowest parts (perspective, or the
    lens). ``outline`` holds the line of marks (four points, clockwise from the first mark), ``unit`` what one mark
    stands for, ``marks`` how many were seen, ``missing`` how many between them were not. ``sure`` 0..1 is a rule of
    thumb, no probability. ``note``: what to check."""

    px_per_mm: float
    error: float
    a: Point
    b: Point
    millimetres: float
    unit: str
    outline: tuple[Point, ...]
    sure: float
    change: float
    marks: int
    missing: int
    note: str

    @property
    def scale(self) -> Scale:
        """The proposal as a photo's scale."""
        return Scale(self.a, self.b, self.millimetres, "ruler in the picture")


def find(image: Any) -> Ruler | None:
    """The surest ruler of a picture, None where there is none (see :func:`readaid.photo.scale.ruler`)."""
    level, factor = reduced_grey(image, _LONGEST)
    rulers = [r for line in ticks.find(level) if (r := _read(line, factor)) is not None]
    if not rulers:
        return None
    # Of two edges of one ruler the one with more marks: forty are enough to stand on.
    best = max(rulers, key=lambda r: r.sure * min(1.0, r.marks / 40))
    # A second ruler that says something else is a warning worth more than either.
    away = [r for r in rulers if abs(r.px_per_mm / best.px_per_mm - 1) > 0.04 + max(r.change, best.change)]
    if away:
        note = (f"Other marks in the picture give {away[0].px_per_mm:.2f} px per mm ({away[0].unit}): "
                "another measure, or a ruler in another plane.")
        return replace(best, sure=0.6 * best.sure, note=f"{note} {best.note}") if best.sure * 0.6 >= _LEAST else None
    return best


def _read(line: ticks.Line, factor: float) -> Ruler | None:
    """What one line of marks says; None where their lengths fit no graduation."""
    last = int(line.numbers[-1])
    if last + 1 < _SPAN or line.share < 0.5 or line.rest > 0.12:
        return None
    found = _graduation(_lengths(line))
    if found is None:
        return None
    kind, offset, fit = found
    cycle = len(kind.classes)
    longest = [n for n in range(offset, last + 1, cycle) if line.share > 0.9 or np.abs(line.numbers - n).min() <= 2]
    if len(longest) < 2:
        return None
    first, end = longest[0], longest[-1]
    a, b = (np.array(line.point(n)) / factor for n in (first, end))
    millimetres = (end - first) * kind.step
    length = float(np.hypot(*(b - a)))
    middle = line.spacing(last / 2)
    scatter = line.rest * middle / factor * 4 * 2**0.5 / len(line.numbers) ** 0.5 / length  # ends of a fitted cubic
    local = [line.spacing(n) for n in np.linspace(first, end, 9)]
    change = float((max(local) - min(local)) / np.mean(local))
    # A length that changes evenly from end to end has a spread of its range over the root of twelve.
    error = float(np.hypot(scatter, change / 12**0.5))
    clear = min(1.0, fit) * (1 - line.rest / 0.3) * (0.55 + 0.45 * line.share) * min(1.0, 0.7 + last / 200)
    if clear < _LEAST:
        return None
    note = f"Taken as {'inches' if 'inch' in kind.name else 'mm'} by the lengths of the marks: check it on the figures."
    if change > 0.02:
        note += (f" The scale differs by {change:.0%} along the ruler: the photo is not square to it, or the lens "
                 "bends. Square the photo up, or take a length near the writing.")
    note += " It holds in the ruler's plane only."
    return Ruler(length / millimetres, error, _point(a), _point(b), float(millimetres), kind.name,
                 _outline(line, last, factor), float(min(0.99, clear)), change, len(line.numbers),
                 last + 1 - len(line.numbers), note)


def _point(p: NDArray[np.float64]) -> Point:
    return float(p[0]), float(p[1])


def _outline(line: ticks.Line, last: int, factor: float) -> tuple[Point, ...]:
    """The marks' own rows and the longest ones' reach, half a mark more at each end."""
    present = np.median(line.reach, axis=0) > 0.4 * np.median(line.reach[:, 59:62])
    rows = np.flatnonzero(present) if present.any() else np.array([60])
    across = np.array([-line.along[1], line.along[0]])
    edge = [(r - 60) / 4 for r in (rows.min() - 4, rows.max() + 4)]
    corners = [(n, e) for n, e in ((-0.5, edge[0]), (last + 0.5, edge[0]), (last + 0.5, edge[1]), (-0.5, edge[1]))]
    return tuple(_point((np.array(line.point(n)) + e * line.spacing(n) * across) / factor) for n, e in corners)


def _lengths(line: ticks.Line) -> Floats:
    """How far every mark reaches past the middle of all, in spacings, to either side: (2, count)."""
    level = line.reach / max(float(np.median(line.reach[:, 59:62])), 1e-3)
    out = np.zeros((2, len(level)), np.float32)
    for i, rows in enumerate((level[:, 60::-1], level[:, 60:])):
        clipped = np.clip(rows[:, :56], 0, 1)
        there = np.logical_or(clipped[:, :-1] > 0.4, clipped[:, 1:] > 0.4)  # one weak step is wear
        out[i] = (clipped[:, :-1] * np.cumprod(there, axis=1)).sum(axis=1) / 4
    return out


def _graduation(lengths: Floats) -> tuple[Graduation, int, float] | None:
    """The graduation that explains the lengths best, the number of its first longest mark, and the share explained."""
    best: tuple[float, Graduation, int, float] | None = None
    for side in lengths:
        # A frame or a letter that a mark runs into would count as the longest of all.
        values = np.minimum(side, np.median(side) + 9)
        spread = float(((values - values.mean()) ** 2).sum())
        if spread < 1e-3 * len(values):
            continue
        for kind in GRADUATIONS:
            fits = [_fit(values, kind, offset, spread) for offset in range(len(kind.classes))]
            explained = [f or 0.0 for f in fits]
            offset = int(np.argmax(explained))
            others = [e for i, e in enumerate(explained) if i != offset]
            # A graduation must fit at one place in its cycle only; marks of one length fit it everywhere.
            if explained[offset] < 0.5 or 1 - explained[offset] > 0.85 * (1 - max(others)):
                continue
            # More classes always explain more: each of them is paid for (as Schwarz's criterion does).
            rank = len(values) * np.log(1 - explained[offset] + 1e-3) + len(set(kind.classes)) * np.log(len(values))
            if best is None or rank < best[0]:
                best = (float(rank), kind, offset, explained[offset])
    return best[1:] if best else None


def _fit(values: Floats, kind: Graduation, offset: int, spread: float) -> float | None:
    """Share of the lengths' variation explained; None where a longer class is not clearly longer."""
    classes = np.array(kind.classes)[(np.arange(len(values)) - offset) % len(kind.classes)]
    means, rest, counts = [], 0.0, []
    for c in range(max(kind.classes) + 1):
        own = values[classes == c]
        if len(own) < 2:
            return None
        middle = float(np.median(own))
        means.append(middle)
        counts.append(len(own))
        rest += float(((own - own.mean()) ** 2).sum())
    sigma = (rest / len(values)) ** 0.5
    for c in range(1, len(means)):
        if means[c] - means[c - 1] < max(0.15, 1.5 * sigma * (1 / counts[c] + 1 / counts[c - 1]) ** 0.5):
            return None
    return 1 - rest / spread
