"""Counts from a tracing: strokes, ends, crossings, closed spaces, dots and flourishes of what a hand has drawn.

Conventions
-----------
* A tracing is a list of strokes, each a list of (x, y) in any one unit, y down; lengths below are shares of the longer
  side of the whole. A stroke of one point, or a lone one shorter than a sixth, is a *dot*.
* Lines that come nearer than ``TOUCH`` meet. Where three or more arms meet is a *crossing*; where two ends meet is
  none, and neither end is free. *Ends* are free ends of strokes that are no dots.
* A *flourish* is a hook: a sharp turn shortly before a free end. Whoever counts otherwise writes their own count
  (``core.specimen.Specimen.corrected``), which stands above this one.
* Counted from a tracing that a reader kept, the counts are the reader's; from one that the machine proposed, they are
  a proposal and never printed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import cv2
import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.core.photo import Tracing
from readaid.core.specimen import FormCounts, Specimen
from readaid.forms.counts import LEAST_SPACE
from readaid.forms.stroke_runs import length

Floats = npt.NDArray[np.float64]
Strokes = Sequence[Sequence[tuple[float, float]]]
#: Lines nearer than this meet: a hand that traces stops a little short of the line it means to touch.
TOUCH = 0.035
DOT = 0.16
#: A hook: a turn of at least so many degrees within ``BEND``, at most ``HOOK`` before the end.
SHARP, BEND, HOOK = 60.0, 0.07, 0.24
_STEP = 0.01
_SIDE = 400


def count_tracing(strokes: Strokes) -> FormCounts:
    """Count a tracing; proportions is width / height.

    Parameters
    ----------
    strokes: one list of (x, y) a stroke, in any one unit; a stroke of one point is a dot.

    Raises ShapeError where it holds no point.

    >>> cross = [[(0, 50), (100, 50)], [(50, 0), (50, 100)], [(85, 85)]]
    >>> found = count_tracing(cross)
    >>> found.strokes, found.ends, found.crossings, found.closed_spaces, found.dots, found.flourishes
    (2, 4, 1, 0, 1, 0)
    """
    lines, wide, high = scaled(strokes)
    dots = [i for i, line in enumerate(lines) if _is_dot(i, lines)]
    drawn = [line for i, line in enumerate(lines) if i not in dots]
    meetings = _meetings(drawn)
    crossings = sum(sum(arms.values()) >= 3 for _, arms in meetings)
    free = [(i, end) for i, line in enumerate(drawn) for end in (0, -1) if not _is_ring(line)
            and not any(i in arms and np.hypot(*(at - line[end])) <= 2 * TOUCH for at, arms in meetings)]
    return FormCounts(round(wide / max(high, 1e-9), 3), max(len(drawn), 0 if dots else 1), len(free), crossings,
                      _spaces(drawn), len(dots), sum(_hooked(drawn[i], end) for i, end in free))


def hand_counts(specimen: Specimen, tracings: Iterable[Tracing]) -> tuple[FormCounts | None, str]:
    """The counts of a form that may be printed, and whose they are: "by_hand", "as_traced", or none and "".

    A count written by the reader comes first, then one of a tracing that the reader kept. What only the machine counted
    is not told: on the demonstration's six forms it had one number of dots right and no number of strokes.
    """
    if specimen.corrected is not None:
        return specimen.corrected, "by_hand"
    kept = next((t for t in tracings if t.zone in (specimen.zone, specimen.id) and t.by == "reader"), None)
    return (count_tracing(kept.strokes), "as_traced") if kept is not None else (None, "")


def scaled(strokes: Strokes) -> tuple[list[Floats], float, float]:
    """Strokes as points ``_STEP`` apart, the longer side of the whole 1; and its width and height."""
    points = [np.asarray(s, float).reshape(-1, 2) for s in strokes if len(s)]
    if not points or not np.isfinite(np.concatenate(points)).all():
        raise ShapeError("The tracing holds no stroke" if not points else "The tracing holds a point that is no number",
                         cure="draw at least one line")
    every = np.concatenate(points)
    low, (wide, high) = every.min(0), np.ptp(every, axis=0)
    side = max(float(wide), float(high), 1e-9)
    return [evenly((p - low) / side) for p in points], float(wide), float(high)


def evenly(line: Floats, many: int = 0) -> Floats:
    """A line of points (n, 2) as ``many`` points equally far apart along it; 0: as many as are ``_STEP`` apart."""
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))]) if len(line) > 1 else np.zeros(1)
    many = many or (max(2, round(far[-1] / _STEP) + 1) if far[-1] > 0 else 1)
    at = np.linspace(0, far[-1], many)
    return np.stack([np.interp(at, far, line[:, k]) for k in (0, 1)], 1)


def _gap(a: Floats, b: Floats) -> float:
    return float(np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1)).min())


def _is_dot(i: int, lines: list[Floats]) -> bool:
    """Short, and touching nothing: a short stroke on another one is a flourish or a bar, not a dot."""
    if float(np.hypot(*np.ptp(lines[i], axis=0))) > DOT:
        return False
    return len(lines[i]) == 1 or all(_gap(lines[i], other) > TOUCH for k, other in enumerate(lines) if k != i)


def _is_ring(line: Floats) -> bool:
    return length(line) > 4 * TOUCH and float(np.hypot(*(line[0] - line[-1]))) <= TOUCH


Meeting = tuple[Floats, dict[int, int]]


def _meetings(lines: list[Floats]) -> list[Meeting]:
    """Places where lines meet, each with the number of arms of every line there (an end 1, a passage 2)."""
    places: list[Floats] = []
    for i, a in enumerate(lines):
        for k, b in enumerate(lines[:i + 1]):
            places += _near(a, b, itself=i == k)
    groups: list[list[Floats]] = []
    for place in places:
        near = next((g for g in groups if float(np.hypot(*(np.mean(g, axis=0) - place))) <= 2 * TOUCH), None)
        near.append(place) if near is not None else groups.append([place])
    out: list[Meeting] = []
    for group in groups:
        at = np.mean(group, axis=0)
        arms = {i: _arms(line, at) for i, line in enumerate(lines)}
        if sum(arms.values()) >= 2:
            out.append((at, {i: n for i, n in arms.items() if n}))
    return out


def _near(a: Floats, b: Floats, itself: bool) -> list[Floats]:
    """One place for each stretch of a that lies within reach of b (or of a part of itself far along the line)."""
    far = np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1))
    reach = TOUCH
    if itself:
        apart = np.abs(np.subtract.outer(np.arange(len(a)), np.arange(len(a)))) * _STEP
        far = np.where((apart < 6 * TOUCH) | np.triu(np.ones_like(apart, bool)), 9.0, far)
        reach = _STEP * 1.5 if not _is_ring(a) else reach
    # inner points must really cross; only an end that stops short is helped over the gap
    least = far.min(1)
    end = np.zeros(len(a), bool)
    end[[0, -1]] = True
    hit = least <= np.where(end, reach, _STEP)
    if not itself:
        for e in (0, -1):
            if far[:, e].min() <= reach:
                hit[int(far[:, e].argmin())] = True
    found = []
    runs = np.split(np.nonzero(hit)[0], np.nonzero(np.diff(np.nonzero(hit)[0]) > 2 * TOUCH / _STEP)[0] + 1)
    for run in runs:
        if len(run):
            best = int(run[least[run].argmin()])
            found.append((a[best] + b[int(far[best].argmin())]) / 2)
    return found


def _arms(line: Floats, at: Floats) -> int:
    """How many arms of a line leave a place: each passage counts two, an end one."""
    inside = np.hypot(*(line - at).T) <= 1.6 * TOUCH
    if not inside.any():
        return 0
    edges = np.diff(np.concatenate([[0], inside.astype(int), [0]]))
    starts, stops = np.nonzero(edges == 1)[0], np.nonzero(edges == -1)[0]
    arms = 0
    for start, stop in zip(starts, stops, strict=True):
        arms += int(start > 3) + int(stop < len(line) - 3)
    return arms


def _spaces(lines: list[Floats]) -> int:
    """Closed spaces, where ends that stop a little short of a line count as touching it."""
    page = np.zeros((_SIDE + 40, _SIDE + 40), np.uint8)

    def draw(points: Floats) -> None:
        cv2.polylines(page, [(points * _SIDE + 20).round().astype(np.int32)], False, 255, 2)

    for i, line in enumerate(lines):
        draw(line)
        for end in (line[0], line[-1]):
            for k, other in enumerate(lines):
                rest = other if k != i else other[np.hypot(*(other - end).T) > 4 * TOUCH]
                if len(rest):
                    far = np.hypot(*(rest - end).T)
                    if far.min() <= TOUCH:
                        draw(np.stack([end, rest[int(far.argmin())]]))
        if _is_ring(line):
            draw(np.stack([line[0], line[-1]]))
    n, _, stats, _ = cv2.connectedComponentsWithStats((page == 0).astype(np.uint8), connectivity=4)
    sizes = sorted(stats[1:n, cv2.CC_STAT_AREA].tolist(), reverse=True)
    return sum(size >= max(4, LEAST_SPACE * _SIDE ** 2) for size in sizes[1:])


def _hooked(line: Floats, end: int) -> bool:
    """Whether a line turns sharply shortly before its end, with at least twice the hook's length before that."""
    way = line if end == -1 else line[::-1]
    bend, reach = round(BEND / _STEP), round(HOOK / _STEP)
    for at in range(len(way) - bend, max(len(way) - reach, 2 * reach // 3), -1):
        if at - bend < 0 or (len(way) - at) * 2 > at:
            continue
        before, after = way[at] - way[at - bend], way[min(at + bend, len(way) - 1)] - way[at]
        cosine = float(before @ after) / max(float(np.hypot(*before) * np.hypot(*after)), 1e-9)
        if np.degrees(np.arccos(np.clip(cosine, -1, 1))) >= SHARP:
            return True
    return False
