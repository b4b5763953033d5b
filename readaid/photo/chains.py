"""Columns among signs that the net found, at the size where it finds most.

Conventions: lengths in pixels of the image given unless said; a chain is a column, its signs from top to bottom.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.photo import ink, learned
from readaid.photo.learned import Spot
from readaid.photo.raster import Image, grey

#: Working size of a usual sign: the middle of the sizes the net was taught (18 to 46).
USUAL = 28.0
SMALLEST, LADDER = 14.0, 1.44
MOST_WORK = 1_900_000
#: A sign counts from here on; the sum of what lies above it decides between sizes.
COUNTS = 0.3
#: Below this sum the net has found no writing, and the marks are asked instead.
ENOUGH = 1.5
#: Overlap of two findings of one sign at two sizes.
SAME = 0.35
#: Ink with less than this share of the usual strength is a blot, unless the net is this sure.
FAINT, PLAIN = 0.3, 0.75
#: How far around a box its ink is looked for, in working pixels.
SNAP = 3.0


@dataclass(frozen=True, slots=True)
class Found:
    """Chains with boxes in the pixels of the image searched, the usual sign's size, and what the search weighed."""

    score: float
    character: float
    chains: list[list[Spot]]
    tied: list[list[bool]]


def find(small: Image, kind: str | None, character: float | None, file: Path | None = None) -> Found | None:
    """What two neighbouring sizes agree on most; None where the net finds no writing.

    kind: "dark", "light" or "cut" to leave out signs of another kind; None for all. One size alone is not trusted:
    grain of metal seen far too large looks like a page of signs, at that one size only.
    """
    if character is None:
        most = min(small.shape[0] / 1.2, small.shape[1] / 0.8)
        least = max(SMALLEST, USUAL * float(np.sqrt(small.shape[0] * small.shape[1] / MOST_WORK)))
        sizes = [least * LADDER**i for i in range(40) if least * LADDER**i <= max(most, LADDER * least)]
    else:
        sizes = [character / LADDER**0.5, character * LADDER**0.5]
    looked = [at(small, size, file) for size in sizes]
    agreed = [[s for s in merged(pair) if s.sure > COUNTS] for pair in pairwise(looked)]
    best = max(range(len(agreed)), key=lambda i: score(agreed[i]))
    spots = agreed[best]
    if score(spots) < ENOUGH:
        return None
    character = _usual(spots)
    seen = _Marks(small, character, kind, spots)
    spots = seen.standing_out(spots)
    if kind is not None:
        spots = [s for s in spots if seen.of_kind(s, kind)]
    spots = seen.snapped(spots)
    chains = [c for c in chained(spots, _usual(spots)) if max(s.sure for s in c) > 0.4]
    if not chains:
        return None
    return Found(score(spots), character, chains, [seen.tied(c) for c in chains])


def at(small: Image, character: float, file: Path | None = None) -> list[Spot]:
    """The net's signs when a usual one is taken to be ``character`` pixels, boxes in the pixels of ``small``."""
    work = ink.at_size(small, character * ink.CHARACTER / USUAL)
    fx, fy = small.shape[1] / work.shape[1], small.shape[0] / work.shape[0]
    return [Spot(s.left * fx, s.top * fy, s.right * fx, s.bottom * fy, s.sure) for s in learned.spots(work, file)]


def merged(looked: Sequence[list[Spot]]) -> list[Spot]:
    """Signs found at several sizes: boxes averaged by their sureness, which counts 0 where a size misses the sign."""
    rows = sorted(((s, k) for k, found in enumerate(looked) for s in found), key=lambda r: -r[0].sure)
    if not rows:
        return []
    boxes = np.array([(s.left, s.top, s.right, s.bottom) for s, _ in rows])
    sure = np.array([s.sure for s, _ in rows])
    of = np.array([k for _, k in rows])
    table = overlaps(boxes)
    free = np.ones(len(rows), bool)
    out, total = [], []
    for i in range(len(rows)):
        if not free[i]:
            continue
        group = [i]
        for k in set(of) - {of[i]}:
            same = np.flatnonzero(free & (of == k) & (table[i] >= SAME))
            if len(same):
                group.append(int(same[np.argmax(table[i, same])]))
        free[group] = False
        out.append(np.average(boxes[group], axis=0, weights=sure[group]))
        total.append(float(sure[group].sum() / len(looked)))
    keep = learned.alone(np.array(out), np.array(total))
    return [_spot(out[i], total[i]) for i in keep]


def _spot(box: NDArray[Any], sure: float) -> Spot:
    left, top, right, bottom = (float(v) for v in box)
    return Spot(left, top, right, bottom, sure)


def overlaps(boxes: NDArray[Any]) -> NDArray[Any]:
    """Intersection over union of every two boxes."""
    w = np.minimum(boxes[:, None, 2], boxes[None, :, 2]) - np.maximum(boxes[:, None, 0], boxes[None, :, 0])
    h = np.minimum(boxes[:, None, 3], boxes[None, :, 3]) - np.maximum(boxes[:, None, 1], boxes[None, :, 1])
    both = np.clip(w, 0, None) * np.clip(h, 0, None)
    area = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    return np.asarray(both / np.maximum(1e-6, area[:, None] + area[None] - both))


def score(spots: list[Spot]) -> float:
    return float(sum(s.sure**2 for s in spots if s.sure > COUNTS))


def _usual(spots: list[Spot]) -> float:
    sure = [s for s in spots if s.sure > 0.4] or spots
    return float(np.percentile([max(s.width, s.height) for s in sure], 60)) if sure else 1.0


def chained(spots: list[Spot], usual: float) -> list[list[Spot]]:
    """Each sign tied to the nearest one below it, where each is the other's nearest."""
    if not spots:
        return []
    boxes = np.array([(s.left, s.top, s.right, s.bottom) for s in spots])
    cx, cy = (boxes[:, 0] + boxes[:, 2]) / 2, (boxes[:, 1] + boxes[:, 3]) / 2
    aside = np.abs(cx[None] - cx[:, None])
    gap = boxes[None, :, 1] - boxes[:, None, 3]
    cost = np.maximum(gap, 0) + 2.0 * aside
    bad = (cy[None] <= cy[:, None]) | (gap > 1.6 * usual) | (aside > 0.6 * usual) | (gap < -0.6 * usual)
    cost = np.where(bad, np.inf, cost)
    below, above = cost.argmin(1), cost.argmin(0)
    following = {i: int(below[i]) for i in range(len(spots)) if np.isfinite(cost[i, below[i]]) and above[below[i]] == i}
    heads = set(range(len(spots))) - set(following.values())
    out = []
    for i in sorted(heads):
        chain = [i]
        while chain[-1] in following:
            chain.append(following[chain[-1]])
        out.append([spots[k] for k in chain])
    return out


#: Chance of one whole sign from the net's own certainty and its column's: log odds times these, plus the last.
CALIBRATION = (2.68, 0.24, 0.85)


def confidences(chain: list[Spot]) -> list[float]:
    """Chance of each zone to be one whole sign (fitted on made-up pieces of the training renderer)."""
    odds = [float(np.log(np.clip(s.sure, 1e-3, 1 - 1e-3) / np.clip(1 - s.sure, 1e-3, 1))) for s in chain]
    a, b, c = CALIBRATION
    return [float(np.clip(1 / (1 + np.exp(-(a * o + b * float(np.mean(odds)) + c))), 0.02, 0.98)) for o in odds]


class _Marks:
    """The strokes of the image at working size, for what the net does not say: strength, kind, edges, ties."""

    def __init__(self, small: Image, character: float, kind: str | None, spots: list[Spot]) -> None:
        self.factor = ink.CHARACTER / character
        self.dark, self.light = ink.strengths(grey(ink.at_size(small, character)))
        self.kind = kind or self._kind(spots)
        self.found = ink.of_kind(self.dark, self.light, self.kind)
        self.where, _ = ink.mask(self.found)

    def _kind(self, spots: list[Spot]) -> str:
        """What most of the signs look like: cuts have both flanks."""
        sums = np.zeros(2)
        for s in spots:
            part = self._cut(s)
            sums += s.sure * np.array([(self.dark[part] ** 2).sum(), (self.light[part] ** 2).sum()])
        return "dark" if sums[0] > 2 * sums[1] else "light" if sums[1] > 2 * sums[0] else "cut"

    def _cut(self, s: Spot, more: float = 0.0) -> tuple[slice, slice]:
        """Rows and columns of a sign, ``more`` working pixels wider on every side."""
        f, (height, width) = self.factor, self.dark.shape
        top, left = min(height - 1, max(0, int(s.top * f - more))), min(width - 1, max(0, int(s.left * f - more)))
        return (slice(top, min(height, max(top + 1, round(s.bottom * f + more)))),
                slice(left, min(width, max(left + 1, round(s.right * f + more)))))

    def standing_out(self, spots: list[Spot]) -> list[Spot]:
        """Without those far fainter than the rest: blots and grain of an empty ground. Worn cuts may be as faint."""
        if self.kind == "cut":
            return spots
        strong = np.array([np.percentile(self.found[self._cut(s)], 90) for s in spots])
        sure = np.array([s.sure for s in spots])
        order = np.argsort(strong)
        usual = strong[order][np.searchsorted(np.cumsum(sure[order] ** 2), (sure**2).sum() / 2)]
        return [s for s, v in zip(spots, strong, strict=True) if v > FAINT * usual or s.sure > PLAIN]

    def of_kind(self, s: Spot, kind: str) -> bool:
        """A sign in cut metal shows both a bright and a dark flank; in ink only one."""
        part = self._cut(s)
        dark, light = float((self.dark[part] ** 2).mean()), float((self.light[part] ** 2).mean())
        if kind == "cut":
            return True
        return dark > 0.8 * light if kind == "dark" else light > 0.8 * dark

    def snapped(self, spots: list[Spot]) -> list[Spot]:
        """Boxes drawn to the ink they hold, where it is ink: the net is a few pixels off, too much for a thin sign."""
        if self.kind == "cut":
            return spots
        return [self._snapped(s) for s in spots]

    def _snapped(self, s: Spot) -> Spot:
        rows, columns = self._cut(s, SNAP)
        part = self.where[rows, columns].astype(np.uint8)
        inner = np.zeros_like(part)
        own_rows, own_columns = self._cut(s)
        inner[own_rows.start - rows.start:own_rows.stop - rows.start,
              own_columns.start - columns.start:own_columns.stop - columns.start] = 1
        count, labels = cv2.connectedComponents(part, connectivity=8)
        whole = np.bincount(labels.ravel(), minlength=count)
        own = np.bincount(labels[inner > 0].ravel(), minlength=count)
        keep = own > 0.5 * whole
        keep[0] = False
        mine = keep[labels]
        if mine.sum() < 0.5 * own[1:].sum() or mine.sum() < 8:
            return s
        ys, xs = np.flatnonzero(mine.any(1)), np.flatnonzero(mine.any(0))
        f = self.factor
        edges = np.array([(columns.start + xs[0]) / f, (rows.start + ys[0]) / f,
                 (columns.start + xs[-1] + 1) / f, (rows.start + ys[-1] + 1) / f])
        return _spot(edges, s.sure)

    def tied(self, chain: list[Spot]) -> list[bool]:
        """Whether ink runs without a free row from a sign to its neighbour, so that the cut goes through it.

        Not asked of cuts: there the flanks of neighbours run together in every scratch.
        """
        if self.kind == "cut":
            return [False] * len(chain)
        f = self.factor
        through = []
        for a, b in pairwise(chain):
            rows = slice(max(0, int(min(a.bottom, b.top) * f) - 3), int(max(a.bottom, b.top) * f) + 3)
            columns = slice(max(0, int(min(a.left, b.left) * f)), int(max(a.right, b.right) * f) + 1)
            part = (self.where[rows, columns]).astype(np.uint8)
            if part.size == 0:
                through.append(False)
                continue
            _, labels = cv2.connectedComponents(part, connectivity=8)
            first, last = set(labels[0][labels[0] > 0]), set(labels[-1][labels[-1] > 0])
            through.append(bool(first & last))
        return [any(through[max(0, i - 1):i + 1]) for i in range(len(chain))]
