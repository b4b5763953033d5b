"""A tracing proposed from a crop: the middle lines of its strokes as vectors.

Conventions: a crop is an image array; strokes are polylines of (x, y) in pixels of the crop, pixel centres at whole
numbers plus a half, each stroke starting at its upper (then right) end, strokes from the top. In mm through ``scale``.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.core.errors import ShapeError, unknown_option
from readaid.core.photo import Point
from readaid.forms.counts import small_pieces
from readaid.forms.stroke_runs import bridged, joined, length
from readaid.photo.operators import sauvola
from readaid.photo.raster import Mask, checked, grey

Stroke = tuple[Point, ...]
WRITING = ("auto", "dark", "light", "cut")


def strokes(crop: Any, writing: str = "auto", least: float = 0.06) -> tuple[Stroke, ...]:
    """Strokes of the sign in ``crop`` as polylines, spurs shorter than ``least`` of its longer side left out.

    ``writing`` is "dark", "light", "cut" (raking light) or "auto". Raises PhotoError for an empty or wrong crop,
    ShapeError where no stroke shows, OptionError for an unknown kind of writing.

    >>> picture = np.full((40, 40), 255, np.uint8); picture[18:22, 5:35] = 0
    >>> (line,) = strokes(picture)
    >>> abs(line[0][1] - 20) < 1.5 and abs(abs(line[-1][0] - line[0][0]) - 28) < 5
    True
    """
    ink = inked(crop, writing)
    middles = skeleton(ink)
    depth = cv2.distanceTransform(ink.astype(np.uint8), cv2.DIST_L2, 3)
    pen = 2 * float(np.median(depth[middles])) if middles.any() else 1.0
    side = max(*(int(np.ptp(w)) + 1 for w in np.nonzero(ink)), 1) if ink.any() else 1
    # dots are told as counts tells them: a dash of a grazed line is none, and a speck thinner than the lines neither
    dots, specks, _ = small_pieces(ink, middles, side)
    _, labels = cv2.connectedComponents(ink.astype(np.uint8), connectivity=8)
    alone = [labels[min(int(y), len(ink) - 1), min(int(x), ink.shape[1] - 1)] for x, y in (*dots, *specks)]
    lines = polylines(middles & ~np.isin(labels, [a for a in alone if a]), least * max(ink.shape), pen)
    whole = bridged([*lines, *(((x + 0.5, y + 0.5),) for x, y in dots)], 2.2 * pen)
    lines = tuple(sorted((_oriented(s) for s in whole), key=lambda s: (s[0][1], -s[0][0])))
    if not lines:
        raise ShapeError("No stroke shows in this crop",
                         cure="draw the zone round a sign, or choose another view or light")
    return lines


def inked(crop: Any, writing: str = "auto") -> Mask:
    """Where the strokes are: (height, width) bool, marks that touch nothing and are tiny left out."""
    if writing not in WRITING:
        raise unknown_option("writing", writing, WRITING)
    level = grey(checked(crop, "The crop"))
    if min(level.shape) < 3:
        raise ShapeError("The crop is too small to trace", f"{level.shape[1]} x {level.shape[0]} px", "draw it larger")
    level = np.asarray(cv2.GaussianBlur(level, (0, 0), max(0.6, max(level.shape) / 200)), np.float32)
    if float(np.percentile(level, 99.5) - np.percentile(level, 0.5)) < 0.04:
        return np.zeros(level.shape, bool)
    kind = writing if writing != "auto" else _kind(level)
    if kind == "cut":
        side = max(3, max(level.shape) // 10 | 1)
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
        level = 1 - np.maximum(cv2.morphologyEx(level, cv2.MORPH_BLACKHAT, disc),
                               cv2.morphologyEx(level, cv2.MORPH_TOPHAT, disc))
    elif kind == "light":
        level = 1 - level
    low, high = (float(v) for v in np.percentile(level, [0.5, 99.5]))
    level = np.asarray(np.clip((level - low) / max(high - low, 1e-6), 0, 1), np.float32)
    otsu, _ = cv2.threshold((level * 255).astype(np.uint8), 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    where = (level < sauvola(level, 0.6 * max(level.shape), 0.15)) & (level * 255 <= otsu + 8)
    if kind == "cut":
        where = cv2.morphologyEx(where.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8)) > 0
    count, labels, stats, _ = cv2.connectedComponentsWithStats(where.astype(np.uint8), connectivity=8)
    floor = max(4.0, 0.0006 * where.size)
    keep = np.array([i > 0 and stats[i, cv2.CC_STAT_AREA] >= floor for i in range(count)])
    return np.asarray(keep[labels], bool)


def _kind(level: NDArray[np.float32]) -> str:
    """Dark or light writing: strokes are the smaller part, and seldom fill the crop's edge."""
    edge = np.concatenate([level[0], level[-1], level[:, 0], level[:, -1]])
    ground = float(np.median(edge))
    dark = float(np.clip(ground - level, 0, None).sum())
    light = float(np.clip(level - ground, 0, None).sum())
    if min(dark, light) > 0.6 * max(dark, light) and float(level.std()) < 0.18:
        return "cut"
    return "dark" if dark >= light else "light"


def skeleton(mask: Any) -> Mask:
    """Middle lines one pixel wide, by Zhang and Suen's thinning (1984), as scikit-image's ``skeletonize``."""
    ink = np.pad(np.asarray(mask, bool), 1)
    lookup = (_removable(0), _removable(1))
    while True:
        before = int(ink.sum())
        for phase in (0, 1):
            code = np.zeros(ink.shape, np.uint8)
            for bit, (dy, dx) in enumerate(_RING):
                code |= np.roll(np.roll(ink, -dy, axis=0), -dx, axis=1).astype(np.uint8) << np.uint8(bit)
            ink = ink & ~lookup[phase][code]
        if int(ink.sum()) == before:
            return ink[1:-1, 1:-1]


#: Neighbours P2..P9 of Zhang and Suen: north, then clockwise.
_RING = ((-1, 0), (-1, 1), (0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1))


def _removable(phase: int) -> Mask:
    table = np.zeros(256, bool)
    for code in range(256):
        p = [(code >> bit) & 1 for bit in range(8)]
        rises = sum(p[i] == 0 and p[(i + 1) % 8] == 1 for i in range(8))
        apart = (0, 2, 4), (2, 4, 6)
        if phase:
            apart = (0, 2, 6), (0, 4, 6)
        open_ = all(p[a] * p[b] * p[c] == 0 for a, b, c in apart)
        table[code] = 2 <= sum(p) <= 6 and rises == 1 and open_
    return table


def polylines(lines: Any, least: float = 2.0, pen: float | None = None) -> tuple[Stroke, ...]:
    """A skeleton (bool image) as ordered polylines: cut at ends and forks, closed rings kept, smooth runs over a fork
    joined, spurs shorter than ``least`` dropped, points thinned to half a pixel; ``pen`` is the width of the lines."""
    pixels = {(int(y), int(x)) for y, x in np.argwhere(np.asarray(lines, bool))}
    ring = {p: [(p[0] + dy, p[1] + dx) for dy, dx in _RING if (p[0] + dy, p[1] + dx) in pixels] for p in pixels}
    near = {p: _direct(p, around) for p, around in ring.items()}
    nodes = {p for p, around in near.items() if len(around) != 2}
    seen: set[frozenset[tuple[int, int]]] = set()
    runs: list[list[tuple[int, int]]] = []
    for start in sorted(nodes):
        for step in near[start]:
            if frozenset((start, step)) in seen:
                continue
            run = [start, step]
            seen.add(frozenset((start, step)))
            while run[-1] not in nodes:
                nexts = [q for q in near[run[-1]] if q != run[-2]]
                if not nexts:
                    break
                seen.add(frozenset((run[-1], nexts[0])))
                run.append(nexts[0])
            runs.append(run)
    inside = {p for run in runs for p in run} | nodes
    for start in sorted(pixels - inside):  # rings without a fork
        if start in inside:
            continue
        run = [start]
        while True:
            nexts = [q for q in near[run[-1]] if q not in inside and q not in run[1:]]
            nexts = [q for q in nexts if q != start or len(run) > 2] or []
            if not nexts or nexts[0] == start:
                break
            run.append(nexts[0])
        inside.update(run)
        runs.append([*run, start])
    ends = {p for p in nodes if len(near[p]) <= 1}
    runs = joined(runs, ends, least, least if pen is None else 1.2 * pen)
    runs = [_closed(run, least) for run in runs if length(run) >= least]
    out = [_oriented(_thinned(run)) for run in runs]
    if not out and pixels:  # a dot is a stroke too
        middle = np.mean(sorted(pixels), axis=0) + 0.5
        out = [((float(middle[1]), float(middle[0])),)]
    return tuple(sorted(out, key=lambda s: (s[0][1], -s[0][0])))


def _direct(point: tuple[int, int], around: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Neighbours without the diagonal ones that are reached over a straight one: a step, not a fork."""
    straight = [q for q in around if q[0] == point[0] or q[1] == point[1]]
    return straight + [q for q in around if q not in straight
                       and not any(abs(q[0] - s[0]) + abs(q[1] - s[1]) == 1 for s in straight)]


def _closed(run: list[tuple[int, int]], least: float) -> list[tuple[int, int]]:
    """Close a long run whose ends nearly meet: a ring is left open where a spur stood."""
    apart = max(abs(run[0][0] - run[-1][0]), abs(run[0][1] - run[-1][1]))
    return [*run, run[0]] if 0 < apart <= 1.3 * least and length(run) > 6 * least else run


def _thinned(run: list[tuple[int, int]]) -> Stroke:
    points = np.array([(x + 0.5, y + 0.5) for y, x in run], np.float32)
    if len(points) > 4 and run[0] != run[-1]:  # take the staircase out before dropping points
        inner = (points[:-2] + 2 * points[1:-1] + points[2:]) / 4
        points = np.concatenate([points[:1], inner, points[-1:]])
    kept = cv2.approxPolyDP(points[:, None, :], 0.5, False)[:, 0, :]
    line = tuple((float(x), float(y)) for x, y in kept)
    return line if run[0] != run[-1] or line[0] == line[-1] else (*line, line[0])  # OpenCV drops a ring's last point


def _oriented(stroke: Stroke) -> Stroke:
    """From the upper end; of two ends at one height from the left (the usual way of 一)."""
    (x0, y0), (x1, y1) = stroke[0], stroke[-1]
    flat = abs(y1 - y0) < 0.5 * abs(x1 - x0)
    backwards = x1 < x0 if flat else y1 < y0
    return stroke[::-1] if backwards else stroke
