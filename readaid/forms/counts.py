"""Counts: strokes, ends, crossings, closed spaces and dots of a form.

Conventions: counted on the mask and its thinned lines, in canvas pixels. A *stroke* is a piece of line
between ends and crossings, with pieces that run straight on through a crossing joined, so that 十 has two strokes; a
*dot* is an isolated piece shorter than a sixth of the form. Grazing light shows a cut in part: a shadow on one side, a
bright edge on the other, and dashes where the cut runs along the light. Dashes in a row are one line and no dots, and
closed spaces are then counted on both sides of the cut together. The eye may count otherwise:
``core.specimen.Specimen.corrected`` keeps the count by hand beside the one by machine; only that, or the
count of a tracing (``tracing_counts``), is ever printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from readaid.core.specimen import FormCounts
from readaid.forms.stroke_points import Mask, thin
from readaid.photo.ink import Crop, Floats, Ink, find_ink

#: Shorter side branches (in canvas pixels) come from thinning, not from the hand.
SPUR = 5
#: A closed space smaller than this share of the form's area is a gap in the paint.
LEAST_SPACE = 0.002
#: Small pieces at most this far apart (share of the longer side), and at most so far from their common line, are the
#: dashes of one line if they are three or more. The four dots of 灬 stand three times as far apart.
DASH_GAP, DASH_OFF = 0.06, 0.035
#: A small piece thinner than this share of the form's usual thickness is no dot; under grazing light, which catches
#: edges of cuts only here and there, it must be nearly as thick as the lines.
FLAKE, FLAKE_GRAZED = 0.45, 0.85
#: Light grazes cuts where their brighter side stands off the ground at least this share of what the darker does.
GRAZING = 0.35


def count(crop: Crop) -> FormCounts:
    """Count what can be seen on the form in a crop (path, Pillow image or array; True in a bool array is a stroke).

    >>> cross = np.zeros((60, 60), bool); cross[28:32, 5:55] = True; cross[5:55, 28:32] = True
    >>> count(cross)
    FormCounts(proportions=1.0, strokes=2, ends=4, crossings=1, closed_spaces=0, dots=0, flourishes=None)
    """
    return count_ink(find_ink(crop))


def count_ink(ink: Ink, lines: Mask | None = None) -> FormCounts:
    """Count what can be seen on a form; closed spaces on both sides of the cuts where the light grazes them."""
    both = grazed(ink.sheets[1])
    if both is None or not both.any():
        return count_mask(ink.mask, lines)
    return replace(count_mask(ink.mask, lines, FLAKE_GRAZED), closed_spaces=_spaces(both, both.size))


def count_mask(mask: Mask, lines: Mask | None = None, flake: float = FLAKE) -> FormCounts:
    """Count what can be seen on a mask; ``lines`` are its thinned lines, if already made. A small piece thinner than
    ``flake`` times the usual thickness is no dot."""
    ys, xs = np.nonzero(mask)
    wide, high = int(np.ptp(xs)) + 1, int(np.ptp(ys)) + 1
    graph = Skeleton(thin(mask) if lines is None else lines)
    dots, specks, rows = small_pieces(mask, graph.lines, max(wide, high), flake)
    strokes, ends, crossings = graph.tally([*dots, *specks])
    counted = max(strokes, 0) + rows
    return FormCounts(round(wide / high, 3), max(counted, 1), ends + 2 * rows, crossings, _spaces(mask, wide * high),
                      len(dots))


def grazed(sheet: Floats) -> Mask | None:
    """Cuts as wide as they are, shadow and bright edge together, on a grey sheet 0..1; None where no light grazes them.

    >>> flat = np.full((96, 96), 0.6, np.float32); flat[40:46, 10:80] = 0.2
    >>> grazed(flat) is None                                       # ink on paper has no bright edge
    True
    >>> flat[46:52, 10:80] = 1.0
    >>> both = grazed(flat)
    >>> both is not None and bool(both[46, 40])
    True
    """
    rim = np.concatenate([sheet[:3].ravel(), sheet[-3:].ravel(), sheet[:, :3].ravel(), sheet[:, -3:].ravel()])
    low, high = (float(v) for v in np.percentile(sheet - np.median(rim), (1.5, 98.5)))
    if min(-low, high) < GRAZING * max(-low, high):
        return None
    smooth = cv2.GaussianBlur(sheet, (0, 0), 0.7)
    steep = cv2.GaussianBlur(cv2.Sobel(smooth, -1, 1, 0) ** 2 + cv2.Sobel(smooth, -1, 0, 1) ** 2, (0, 0), 0.9) ** 0.5
    ground, top = (float(v) for v in np.percentile(steep, (25, 98)))
    # by steepness, not by darkness: a cut has a dark and a bright side, and both bound the space it closes
    where = steep > max(0.13 * top, 2.5 * ground)
    n, pieces = cv2.connectedComponents(where.astype(np.uint8), connectivity=8)
    kept = np.bincount(pieces[steep > 0.3 * top], minlength=n) > 0  # by table: np.unique and np.isin take 5 ms here
    return np.asarray(where & kept[pieces], bool)


def _spaces(mask: Mask, area: int) -> int:
    ground = np.pad(~mask, 1, constant_values=True).astype(np.uint8)
    # Four neighbours for the ground and eight for the ink: else two lines that touch by their corners would close
    # nothing.
    n, _, stats, _ = cv2.connectedComponentsWithStats(ground, connectivity=4)
    sizes = sorted(stats[1:n, cv2.CC_STAT_AREA].tolist(), reverse=True)
    # The largest is the ground round the form, and closes nothing.
    return sum(size >= max(4, LEAST_SPACE * area) for size in sizes[1:])


Place = tuple[float, float]


def small_pieces(mask: Mask, lines: Mask, side: int, flake: float = FLAKE) -> tuple[list[Place], list[Place], int]:
    """The middles (x, y) of the separate pieces that are dots, of those that are only parts of lines, and how many
    lines these make up."""
    n, labels, stats, middles = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    # One piece alone is the form itself, however small.
    if n <= 2:
        return [], [], 0
    longest = stats[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(1)
    small = [i for i in range(1, n) if longest[i - 1] <= 0.16 * side]
    rows = _rows({i: np.argwhere(labels == i)[:, ::-1].astype(float) for i in small}, side)
    # three pieces in a row are one line that the light catches here and there; the dots of 灬 stand farther apart
    dashes = {i for row in rows for i in row}
    depth = cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 3)
    large = lines & ~np.isin(labels, small)
    usual = float(np.median(depth[large])) if large.any() else 0.0
    flakes = {i for i in small if i not in dashes and float(depth[labels == i].max()) < flake * usual}
    place = {i: (float(middles[i][0]), float(middles[i][1])) for i in small}
    dots = [place[i] for i in small if i not in dashes | flakes]
    return dots, [place[i] for i in small if i in dashes | flakes], len(rows)


def _rows(pieces: dict[int, npt.NDArray[np.float64]], side: int) -> list[list[int]]:
    """Groups of three or more small pieces that stand close together along one straight line."""
    near = {i: [j for j in pieces if j != i and _gap(pieces[i], pieces[j]) <= DASH_GAP * side] for i in pieces}
    rows, seen = [], set()
    for start in pieces:
        row, rest = [], [start]
        while rest:
            i = rest.pop()
            if i not in seen:
                seen.add(i)
                row.append(i)
                rest += near[i]
        if len(row) >= 3:
            points = np.concatenate([pieces[i] for i in row])
            points = points - points.mean(0)
            across = np.linalg.svd(points, full_matrices=False)[2][1]
            if float(np.abs(points @ across).mean()) <= DASH_OFF * side:
                rows.append(row)
    return rows


def _gap(a: npt.NDArray[np.float64], b: npt.NDArray[np.float64]) -> float:
    return float(np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1)).min())


class Skeleton:
    """Thinned lines as a graph: nodes are ends and crossings, branches the pixels between."""

    def __init__(self, lines: Mask) -> None:
        self.lines = lines
        padded = np.pad(lines, 1).astype(np.uint8)
        around = cv2.filter2D(padded, -1, np.ones((3, 3), np.uint8), borderType=cv2.BORDER_CONSTANT)[1:-1, 1:-1]
        degree = np.where(lines, around.astype(int) - 1, 0)
        junction = lines & (degree >= 3)
        n, labels = cv2.connectedComponents(cv2.dilate(junction.astype(np.uint8), np.ones((3, 3), np.uint8)))
        self.junctions = labels  # (h, w) int, 0 none
        self.middles = [tuple(np.argwhere((labels == i) & junction).mean(0)[::-1]) for i in range(1, n)]
        rest = (lines & (labels == 0)).astype(np.uint8)
        m, self.branches = cv2.connectedComponents(rest, connectivity=8)
        self.ends = [(int(x), int(y)) for y, x in np.argwhere(lines & (degree <= 1))]
        self._links(m)

    def _links(self, m: int) -> None:
        """Which junctions each branch touches, and its direction away from each."""
        self.touch: list[list[tuple[int, npt.NDArray[np.float64]]]] = []
        self.length: list[int] = []
        grown = cv2.dilate(self.junctions.astype(np.uint8), np.ones((3, 3), np.uint8)) if len(self.middles) else None
        for i in range(1, m):
            points = np.argwhere(self.branches == i)[:, ::-1].astype(float)
            self.length.append(len(points))
            near: list[tuple[int, npt.NDArray[np.float64]]] = []
            if grown is not None:
                at = {int(grown[int(y), int(x)]) for x, y in points} - {0}
                for j in sorted(at):
                    middle = np.array(self.middles[j - 1])
                    far = points[np.hypot(*(points - middle).T) < 14]
                    away = (far if len(far) else points).mean(0) - middle
                    near.append((j, away / (np.hypot(*away) + 1e-9)))
            self.touch.append(near)

    def tally(self, dots: Sequence[tuple[float, float]] = ()) -> tuple[int, int, int]:
        """Strokes, ends and crossings, leaving out dots and the spurs of thinning."""
        spurs = {i for i, near in enumerate(self.touch) if len(near) == 1 and self.length[i] < SPUR and self._free(i)}
        ends = 0
        for x, y in self.ends:
            branch = int(self.branches[y, x]) - 1
            if branch in spurs or (branch < 0 and self.middles):
                continue
            ends += not any(np.hypot(x - dx, y - dy) < 12 for dx, dy in dots)
        arms: dict[int, list[tuple[int, npt.NDArray[np.float64]]]] = {}
        for i, near in enumerate(self.touch):
            if i not in spurs:
                for j, away in near:
                    arms.setdefault(j, []).append((i, away))
        strokes = len(self.length) - len(spurs) - len(dots)
        crossings = 0
        for here in arms.values():
            crossings += len(here) >= 3
            left = list(here)
            while len(left) >= 2:  # join the two arms that run straightest into each other
                pairs = [(float(a[1] @ b[1]), p, q) for p, a in enumerate(left) for q, b in enumerate(left) if p < q]
                cosine, p, q = min(pairs, key=lambda pair: pair[0])
                # Where nothing runs on straight, as in 人, each arm is a stroke of its own.
                if cosine > -0.8 and len(here) >= 3:
                    break
                strokes -= left[p][0] != left[q][0]
                left = [arm for k, arm in enumerate(left) if k not in (p, q)]
        return strokes, ends, crossings

    def _free(self, branch: int) -> bool:
        return any(int(self.branches[y, x]) - 1 == branch for x, y in self.ends)
