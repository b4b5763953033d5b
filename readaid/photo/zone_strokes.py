"""The strokes in and around boxes that the net found: their kind, how strong, where they end, what ties them.

Conventions: boxes in pixels of the image given; maps at the working size where a usual sign is ink.CHARACTER pixels,
``factor`` working pixels for one of the image.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.photo import marks
from readaid.photo.raster import Floats, Image, Mask, grey
from readaid.photo.zone_net import Spot

#: Signs less one-sided than DARKER are no ink, more one-sided than LIT no cut under raking light. Columns of rendered
#: pieces: ink from 0.95 up, cuts up to 0.73 (183 columns); between, a column is left out under neither name.
DARKER, LIT, BETWEEN = 0.5, 0.9, 0.8
#: Ink with less than this share of the usual strength is a blot, unless the net is this sure.
FAINT, PLAIN = 0.3, 0.75
#: How far around a box its ink and its ground are looked for, in working pixels.
SNAP, RING = 3.0, 8.0


class Strokes:
    """What the net does not say of ``spots`` on an image where a usual sign is ``character`` pixels."""

    def __init__(self, small: Image, character: float, spots: list[Spot]) -> None:
        self.factor = marks.CHARACTER / character
        level = grey(marks.at_size(small, character))
        self.dark, self.light = marks.strengths(level)
        self._level = cv2.GaussianBlur(level, (0, 0), 0.8)
        self._taken: NDArray[np.bool_] = np.zeros(level.shape, bool)
        for s in spots:
            self._taken[self._cut(s)] = True
        #: What the writing is taken to be; set it before ``found`` and ``where`` are asked.
        self.kind = "cut"

    @cached_property
    def found(self) -> Floats:
        return marks.of_kind(self.dark, self.light, self.kind)

    @cached_property
    def where(self) -> Mask:
        return marks.mask(self.found)[0]

    def one_sided(self, spots: Sequence[Spot]) -> float:
        """1 where the signs are only darker than the ground around them, -1 where only lighter, about 0 for cuts.

        Against the ground outside the boxes, not stroke by stroke: the gaps between dark strokes look like light ones.
        """
        # summed before they are compared: a sign of few strokes says little and should count little
        power = np.array([self._power(s) for s in spots]).reshape(-1, 2).sum(0)
        return float((power[0] - power[1]) / (power.sum() + 1e-9))

    def _power(self, s: Spot) -> tuple[float, float]:
        wide = self._cut(s, RING)
        ring = self._level[wide][~self._taken[wide]]
        ground = float(np.median(ring if ring.size > 30 else self._level[wide]))
        away = self._level[self._cut(s)] / max(ground, 0.02) - 1
        return float((np.minimum(away, 0) ** 2).sum()), float((np.maximum(away, 0) ** 2).sum())

    def likely_kind(self, spots: Sequence[Spot]) -> str:
        side = self.one_sided(spots)
        return "dark" if side > BETWEEN else "light" if side < -BETWEEN else "cut"

    def may_be(self, column: Sequence[Spot], kind: str) -> bool:
        """False where the signs of a column are plainly of another kind than asked for."""
        side = self.one_sided(column)
        if kind == "cut":
            return abs(side) < LIT
        return side > DARKER if kind == "dark" else side < -DARKER

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
        # a stroke that lies mostly outside belongs to the neighbour: the tail of 紀 hangs into the sign below
        keep = own > 0.5 * whole
        keep[0] = False
        mine = keep[labels]
        if mine.sum() < 0.5 * own[1:].sum() or mine.sum() < 8:
            return s
        ys, xs = np.flatnonzero(mine.any(1)), np.flatnonzero(mine.any(0))
        f = self.factor
        return Spot(float((columns.start + xs[0]) / f), float((rows.start + ys[0]) / f),
                    float((columns.start + xs[-1] + 1) / f), float((rows.start + ys[-1] + 1) / f), s.sure)

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
