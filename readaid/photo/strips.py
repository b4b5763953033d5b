"""Columns among marks, and signs along a column.

Conventions: lengths in working pixels (a character is about CHARACTER across, see ``marks``); a column is a list of
marks with a centre line; cuts are rows.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import cv2
import numpy as np

from readaid.photo.marks import CHARACTER, Mark

C = CHARACTER
MOST_STRIPS = 150


@dataclass(slots=True)
class Strip:
    """A column being built: the marks in it and its centre line (rows, x)."""

    marks: list[Mark]
    rows: np.ndarray = field(default_factory=lambda: np.zeros(0))
    xs: np.ndarray = field(default_factory=lambda: np.zeros(0))

    def centre(self, y: float) -> float:
        return float(np.interp(y, self.rows, self.xs))


def strips(shape: tuple[int, int], found: list[Mark], labels: np.ndarray) -> list[Strip]:
    """Columns: ridges of the marks' density, smoothed along the column far more than across it."""
    if not found:
        return []
    step = 4
    keep = np.zeros(int(labels.max()) + 1, np.float32)
    keep[[m.label for m in found]] = 1.0
    ink = cv2.resize(keep[labels], (max(1, shape[1] // step), max(1, shape[0] // step)), interpolation=cv2.INTER_AREA)
    # Smoothed along the column four times as far as across it: gaps between signs are bridged, those between
    # columns are not.
    density = cv2.GaussianBlur(ink, (0, 0), sigmaX=0.27 * C / step, sigmaY=1.1 * C / step,
                               borderType=cv2.BORDER_CONSTANT)
    least = 0.12 * float(np.percentile(density[ink > 0.05], 90)) if (ink > 0.05).any() else 1.0
    ridge = (density >= cv2.dilate(density, np.ones((1, 5), np.uint8))) & (density > least)
    chains: list[list[tuple[int, int]]] = []
    open_: list[list[tuple[int, int]]] = []
    for row in range(ridge.shape[0]):
        xs = [int(x) for x in np.flatnonzero(ridge[row])]
        going = []
        for chain in open_:
            at = chain[-1][1]
            near = [x for x in xs if abs(x - at) <= 2]
            if near:
                x = min(near, key=lambda v: abs(v - at))
                xs.remove(x)
                chain.append((row, x))
                going.append(chain)
            # One row without a ridge ends no column: two signs may stand apart by that much.
            elif row - chain[-1][0] < 2:
                going.append(chain)
        for x in xs:
            chain = [(row, x)]
            chains.append(chain)
            going.append(chain)
        open_ = going
    lines = [(np.array([r for r, _ in c]) * step + step / 2, np.array([x for _, x in c]) * step + step / 2)
             for c in chains if len(c) >= 0.5 * C / step]
    out = [Strip([], rows, cv2.GaussianBlur(xs.astype(np.float32)[:, None], (1, 0 | 9), 3)[:, 0] if len(xs) > 9 else xs)
           for rows, xs in lines]
    if len(out) > MOST_STRIPS:  # a texture
        return []
    ys = np.array([(m.top + m.bottom) / 2 for m in found])
    middles = np.array([(m.left + m.right) / 2 for m in found])
    nearest, away = np.full(len(found), -1), np.full(len(found), 0.8 * C)
    for i, strip in enumerate(out):
        outside = np.maximum(0.0, np.maximum(strip.rows[0] - ys, ys - strip.rows[-1]))
        # Above and below its end a column still draws marks, but less than one that runs beside them.
        distance = np.abs(np.interp(ys, strip.rows, strip.xs) - middles) + 0.7 * outside
        nearest[distance < away] = i
        away = np.minimum(away, distance)
    for mark, i in zip(found, nearest, strict=True):
        if i >= 0:
            out[i].marks.append(mark)
    return joined([s for s in out if s.marks])


def joined(found: list[Strip]) -> list[Strip]:
    """Join pieces of one column: close side by side, or one above the other on the same line."""
    found = sorted(found, key=lambda s: float(s.rows[0]))
    i = 0
    while i < len(found):
        a, j = found[i], i + 1
        while j < len(found):
            b = found[j]
            if b.rows[0] - a.rows[-1] > 1.6 * C:
                break  # sorted by their tops: no later one reaches back
            if _one_column(a, b):
                rows = np.concatenate([a.rows, b.rows])
                order = np.argsort(rows, kind="stable")
                a = found[i] = Strip(a.marks + b.marks, rows[order], np.concatenate([a.xs, b.xs])[order])
                del found[j]
                j = i + 1
            else:
                j += 1
        i += 1
    return found


def _one_column(a: Strip, b: Strip) -> bool:
    # Told apart at a glance before their lines are compared: of 150 strips nearly all pairs lie far from each other.
    if b.xs.min() - a.xs.max() > C or a.xs.min() - b.xs.max() > C:
        return False
    gap = b.rows[0] - a.rows[-1]
    y = (max(a.rows[0], b.rows[0]) + min(a.rows[-1], b.rows[-1])) / 2
    return abs(a.centre(y) - b.centre(y)) < (0.45 if gap > -0.5 * C else 0.55) * C


class Sides:
    """What has four sides (left, top, right, bottom) has a width and a height."""

    __slots__ = ()
    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top


@dataclass(frozen=True, slots=True)
class Sign(Sides):
    """One sign found along a column: box (left, top, right, bottom), ink pixels, mean strength, clarity of its two cuts
    (1 in a gap, 0 through thick ink), and whether several signs may be joined in it."""

    left: float
    top: float
    right: float
    bottom: float
    area: int
    strength: float
    clear: float
    joined: bool


def signs(strip: Strip, labels: np.ndarray, found: np.ndarray, pitch: float = C) -> list[Sign]:
    """Cut a column into signs: the cheapest cuts by dynamic programming.

    A segment costs by how far its ink's height is from a sign's; a cut costs by the ink it crosses and is cheaper in a
    wide gap. Marks that hang over a cut go, whole, to the side where most of their ink lies, if the rest is small.
    """
    left, right = min(m.left for m in strip.marks), max(m.right for m in strip.marks)
    top, bottom = min(m.top for m in strip.marks), max(m.bottom for m in strip.marks)
    keep = np.zeros(int(labels.max()) + 1, bool)
    keep[[m.label for m in strip.marks]] = True
    part = labels[top:bottom, left:right]
    ink = keep[part]
    profile = ink.sum(axis=1).astype(float)
    height = len(profile)
    empty = profile < 0.5
    gap = np.zeros(height + 1)
    start = None
    for y in range(height + 1):  # gap[y]: width of the empty run that row y lies in
        if y < height and empty[y]:
            start = y if start is None else start
        elif start is not None:
            gap[start:y] = y - start
            start = None
    rows_of = {m.label: (part[m.top - top:m.bottom - top, m.left - left:m.right - left] == m.label).sum(axis=1)
               for m in strip.marks}
    crossing = _crossing(strip, rows_of, top, height)
    places = _places(crossing + 0.2 * profile, empty)
    if len(places) < 2:
        places = [0, height]
    # all cuts of a column are chosen together: greedy ones halve a tall sign to please a squat neighbour
    cost = np.full(len(places), np.inf)
    back = np.zeros(len(places), int)
    cost[0] = 0.0
    stroke = 2.0 * ink.sum() / max(1.0, _edge(ink))
    filled = np.flatnonzero(~empty)
    for j in range(1, len(places)):
        b = places[j]
        cut = 0.0 if j == len(places) - 1 else _cut_cost(crossing, gap, b, stroke)
        for i in range(j - 1, -1, -1):
            a = places[i]
            # No segment is longer than seven and a half signs, or every cut would be tried against every other.
            if b - a > 7.5 * pitch:
                break
            inside = filled[np.searchsorted(filled, a):np.searchsorted(filled, b)]
            if not len(inside):
                continue
            total = cost[i] + cut + _size_cost((inside[-1] + 1 - inside[0]) / pitch,
                                               profile[a:b].sum() / (stroke * pitch), inside, empty)
            if total < cost[j]:
                cost[j], back[j] = total, i
    cuts = [len(places) - 1]
    while cuts[-1] > 0:
        cuts.append(int(back[cuts[-1]]))
    rows = [places[i] for i in reversed(cuts)]
    return _boxes(strip, part, found[top:bottom, left:right], rows, crossing, (left, top), stroke, pitch)


def _edge(ink: np.ndarray) -> float:
    return float((ink[1:] != ink[:-1]).sum() + (ink[:, 1:] != ink[:, :-1]).sum())


def _crossing(strip: Strip, rows_of: dict[int, np.ndarray], top: int, height: int) -> np.ndarray:
    """Ink that a cut at each row would really divide: a mark that lies nearly all on one side goes there whole.

    The tail of 紀 hangs down beside the head of 元; no straight cut misses both, and none is needed.
    """
    out = np.zeros(height)
    for mark in strip.marks:
        rows = rows_of[mark.label].astype(float)
        above = np.cumsum(rows) / rows.sum()
        lesser = np.minimum(above, 1 - above)
        out[mark.top - top:mark.bottom - top] += rows * np.clip((lesser - 0.12) / 0.13, 0, 1)
    return out


def _places(profile: np.ndarray, empty: np.ndarray) -> list[int]:
    """Rows where a cut may fall: middles of gaps, and low points of the profile in between."""
    height = len(profile)
    smooth = np.convolve(np.pad(profile, 2, mode="edge"), np.ones(5) / 5, "valid")
    out = {0, height}
    y = 0
    while y < height:
        if empty[y]:
            end = y
            while end < height and empty[end]:
                end += 1
            out.add((y + end) // 2)
            y = end
        else:
            if 2 <= y < height - 2 and smooth[y] <= smooth[max(0, y - 3):y + 4].min() + 1e-9:
                out.add(y)
            y += 1
    return sorted(out)


def _cut_cost(crossing: np.ndarray, gap: np.ndarray, y: int, stroke: float) -> float:
    if gap[y] > 0:
        # A gap is what one cuts in: from 0.45 of a sign's height on it costs next to nothing.
        return float(0.55 - 1.1 * min(gap[y] / C, 0.45))
    return 0.65 + 0.9 * float(crossing[max(0, y - 1):y + 2].mean()) / max(stroke, 1.0)


def _size_cost(height: float, amount: float, inside: np.ndarray, empty: np.ndarray) -> float:
    """0 for a sign of usual height; rising for squat ones (but 一 and ゝ exist) and steeply for tall ones."""
    if height < 0.8:
        cost = 0.9 * (0.8 - height) / 0.8
        if height < 0.3:
            cost += 0.5 * (1 - min(amount, 0.8) / 0.8)
    elif height <= 1.15:
        cost = 0.0
    else:
        cost = 2.6 * (height - 1.15)
    return cost


def _boxes(strip: Strip, part: np.ndarray, found: np.ndarray, rows: list[int], crossing: np.ndarray,
           corner: tuple[int, int], stroke: float, pitch: float) -> list[Sign]:
    """Boxes round the ink of each segment, marks kept whole where they belong to one side."""
    share: dict[int, np.ndarray] = {}
    left, top = corner
    for mark in strip.marks:
        inside = np.zeros(part.shape[0])
        inside[mark.top - top:mark.bottom - top] = (
            part[mark.top - top:mark.bottom - top, mark.left - left:mark.right - left] == mark.label).sum(axis=1)
        share[mark.label] = np.array([inside[a:b].sum() for a, b in pairwise(rows)])
    out = []
    for i, (a, b) in enumerate(pairwise(rows)):
        ink = np.zeros(part.shape, bool)
        for mark in strip.marks:
            amounts = share[mark.label]
            if amounts[i] <= 0:
                continue
            whole, most = amounts.sum(), int(np.argmax(amounts))
            rest = whole - amounts[most]
            y0, y1 = mark.top - top, mark.bottom - top
            # The tail of a sign that hangs over the cut stays with its sign; only a mark that both share is divided.
            if rest <= 0.22 * whole or rest < 0.1 * stroke * pitch:
                if most != i:
                    continue
            else:
                y0, y1 = max(y0, a), min(y1, b)
            x0, x1 = mark.left - left, mark.right - left
            ink[y0:y1, x0:x1] |= part[y0:y1, x0:x1] == mark.label
        ys, xs = np.where(ink)
        if not len(ys):
            continue
        ends = []
        for row in (a, b):
            if 0 < row < len(crossing):
                ends.append(1.0 if crossing[row] < 0.5 else max(0.0, 0.7 - 0.25 * crossing[row] / max(stroke, 1)))
            else:
                ends.append(1.0)
        height = int(ys.max() + 1 - ys.min())
        out.append(Sign(corner[0] + int(xs.min()), corner[1] + int(ys.min()), corner[0] + int(xs.max()) + 1,
                        corner[1] + int(ys.max()) + 1, int(ink.sum()), float(found[ink].mean()), float(min(ends)),
                        height > 1.6 * pitch))
    return out
