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
    lines = polylines(skeleton(ink), least * max(ink.shape))
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


def polylines(lines: Any, least: float = 2.0) -> tuple[Stroke, ...]:
    """A skeleton (bool image) as ordered polylines: cut at ends and forks, closed rings kept, smooth runs over a fork
    joined, short spurs dropped, points thinned to half a pixel."""
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
    runs = _joined(runs, nodes, near, least)
    runs = [_closed(run, least) for run in runs if _length(run) >= least]
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


def _length(run: list[tuple[int, int]]) -> float:
    points = np.array(run, float)
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def _closed(run: list[tuple[int, int]], least: float) -> list[tuple[int, int]]:
    """Close a long run whose ends nearly meet: a ring is left open where a spur stood."""
    apart = max(abs(run[0][0] - run[-1][0]), abs(run[0][1] - run[-1][1]))
    return [*run, run[0]] if 0 < apart <= 1.3 * least and _length(run) > 6 * least else run


def _joined(runs: list[list[tuple[int, int]]], nodes: set[tuple[int, int]],
            near: dict[tuple[int, int], list[tuple[int, int]]], least: float) -> list[list[tuple[int, int]]]:
    """At each fork drop spurs, then join the two runs that go on most nearly straight (within 40 degrees)."""
    ends = {p for p in nodes if len(near[p]) <= 1}
    runs = [r for r in runs if _length(r) >= least or not ({r[0], r[-1]} & ends) or {r[0], r[-1]} <= ends]
    changed = True
    while changed:
        changed = False
        at: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for i, run in enumerate(runs):
            at.setdefault(run[0], []).append((i, 0))
            at.setdefault(run[-1], []).append((i, -1))
        for node in sorted(at):
            pairs = [(_bend(runs[i], e, runs[j], f), i, e, j, f) for n, (i, e) in enumerate(at[node])
                     for j, f in at[node][n + 1:] if i != j]
            pairs = [p for p in pairs if p[0] < 40 or len(at[node]) == 2]
            if pairs:
                _, i, e, j, f = min(pairs)
                first = runs[i] if e == -1 else runs[i][::-1]
                second = runs[j] if f == 0 else runs[j][::-1]
                runs = [r for n, r in enumerate(runs) if n not in (i, j)] + [first + second[1:]]
                changed = True
                break
    return runs


def _bend(a: list[tuple[int, int]], a_end: int, b: list[tuple[int, int]], b_end: int) -> float:
    """Degrees by which the way bends when it leaves run a at its end and goes on along run b."""
    def away(run: list[tuple[int, int]], end: int) -> NDArray[np.float64]:
        ordered = run if end == 0 else run[::-1]
        there = np.array(ordered[min(8, len(ordered) - 1)], float)
        return np.asarray(there - np.array(ordered[0], float), np.float64)

    u, v = -away(a, a_end), away(b, b_end)
    cosine = float(u @ v) / max(float(np.linalg.norm(u) * np.linalg.norm(v)), 1e-9)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


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
