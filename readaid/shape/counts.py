"""Counts: strokes, ends, crossings, closed spaces and dots of a form.

Conventions: counted on the mask and its thinned lines, in canvas pixels. A *stroke* is a piece of line
between ends and crossings, with pieces that run straight on through a crossing joined, so that 十 has two strokes; a
*dot* is a blob with next to no length, or an isolated piece shorter than a tenth of the form. The eye may count
otherwise: ``core.specimen.Specimen.corrected`` keeps the count by hand beside the one by machine.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import numpy.typing as npt

from readaid.core.specimen import FormCounts
from readaid.shape.ink import Crop, find_ink
from readaid.shape.strokes import Mask, thin

#: Shorter side branches (in canvas pixels) come from thinning, not from the hand.
SPUR = 5
#: A closed space smaller than this share of the form's area is a gap in the paint.
LEAST_SPACE = 0.002


def count(crop: Crop) -> FormCounts:
    """Count what can be seen on the form in a crop (path, Pillow image or array; True in a bool array is a stroke).

    >>> cross = np.zeros((60, 60), bool); cross[28:32, 5:55] = True; cross[5:55, 28:32] = True
    >>> count(cross)
    FormCounts(proportions=1.0, strokes=2, ends=4, crossings=1, closed_spaces=0, dots=0)
    """
    return count_mask(find_ink(crop).mask)


def count_mask(mask: Mask, lines: Mask | None = None) -> FormCounts:
    """Count what can be seen on a mask; ``lines`` are its thinned lines, if already made."""
    ys, xs = np.nonzero(mask)
    wide, high = int(np.ptp(xs)) + 1, int(np.ptp(ys)) + 1
    graph = Skeleton(thin(mask) if lines is None else lines)
    dots = _dots(mask, max(wide, high))
    strokes, ends, crossings = graph.tally(dots)
    return FormCounts(round(wide / high, 3), strokes, ends, crossings, _spaces(mask, wide * high), len(dots))


def _spaces(mask: Mask, area: int) -> int:
    ground = np.pad(~mask, 1, constant_values=True).astype(np.uint8)
    n, _, stats, _ = cv2.connectedComponentsWithStats(ground, connectivity=4)
    sizes = sorted(stats[1:n, cv2.CC_STAT_AREA].tolist(), reverse=True)
    return sum(size >= max(4, LEAST_SPACE * area) for size in sizes[1:])


def _dots(mask: Mask, side: int) -> list[tuple[float, float]]:
    """The middles (x, y) of the separate pieces that are dots."""
    n, _, stats, middles = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    longest = stats[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(1)
    if n <= 2:
        return []
    return [(float(x), float(y)) for (x, y), size in zip(middles[1:], longest, strict=True) if size <= 0.16 * side]


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
                if cosine > -0.8 and len(here) >= 3:
                    break
                strokes -= left[p][0] != left[q][0]
                left = [arm for k, arm in enumerate(left) if k not in (p, q)]
        return max(strokes, 1), ends, crossings

    def _free(self, branch: int) -> bool:
        return any(int(self.branches[y, x]) - 1 == branch for x, y in self.ends)
