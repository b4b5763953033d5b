"""Columns among signs that the net found, at the size where it finds most.

Conventions: lengths in pixels of the image given unless said; a chain is a column, its signs from top to bottom.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readaid.photo import marks, zone_net
from readaid.photo.raster import Image
from readaid.photo.zone_net import Spot
from readaid.photo.zone_strokes import Strokes

#: Working size of a usual sign: the middle of the sizes the net was taught (18 to 46).
USUAL = 28.0
SMALLEST, LADDER = 14.0, 1.44
MOST_WORK = 1_900_000
#: A sign counts from here on; the sum of what lies above it decides between sizes.
COUNTS = 0.3
#: Writing has at least one sign this sure: pieces' surest reach 0.8 and more, wood's grain 0.62, noise finds none.
CLEAR = 0.65
#: Overlap of two findings of one sign at two sizes.
SAME = 0.35


@dataclass(frozen=True, slots=True)
class Found:
    """Chains with boxes in the pixels of the image searched, the usual sign's size, and what the search weighed.

    ``chains`` is empty where all the writing is of another kind than asked for.
    """

    score: float
    character: float
    chains: list[list[Spot]]
    tied: list[list[bool]]


def find(small: Image, kind: str | None, character: float | None, file: Path | None = None) -> Found | None:
    """What two neighbouring sizes agree on most; None where the net finds no writing at all.

    kind: "dark", "light" or "cut" to leave out columns of another kind, perhaps all; None for every kind. One size
    alone is not trusted: grain of metal seen far too large looks like a page of signs, at that one size only.
    """
    if character is None:
        most = LADDER * min(small.shape[0] / 1.2, small.shape[1] / 0.8)  # one sign may fill the picture
        least = max(SMALLEST, USUAL * float(np.sqrt(small.shape[0] * small.shape[1] / MOST_WORK)))
        sizes = [least * LADDER**i for i in range(40) if least * LADDER**i <= max(most, LADDER * least)]
    else:
        # One below and one above what was said: two sizes must agree here too.
        sizes = [character / LADDER**0.5, character * LADDER**0.5]
    looked = [at(small, size, file) for size in sizes]
    # two neighbouring sizes must agree: with one alone scattered signs were right in 83.9 % with 43.6 % too many
    agreed = [[s for s in merged(pair) if s.sure > COUNTS] for pair in pairwise(looked)]
    best = max(range(len(agreed)), key=lambda i: score(agreed[i]))
    spots = agreed[best]
    if max((s.sure for s in spots), default=0.0) < CLEAR:
        return None
    character = _usual(spots)
    seen = Strokes(small, character, spots)
    if kind is not None:
        # by column: the gaps between the dark strokes of a single sign look light
        spots = [s for c in chained(spots, character) if seen.may_be(c, kind) for s in c]
        if not spots:
            return Found(0.0, character, [], [])
    seen.kind = kind or seen.likely_kind(spots)
    spots = seen.snapped(seen.standing_out(spots))
    chains = [c for c in chained(spots, _usual(spots)) if max(s.sure for s in c) > 0.4]
    if not chains:
        return None
    return Found(score(spots), character, chains, [seen.tied(c) for c in chains])


def at(small: Image, character: float, file: Path | None = None) -> list[Spot]:
    """The net's signs when a usual one is taken to be ``character`` pixels, boxes in the pixels of ``small``."""
    work = marks.at_size(small, character * marks.CHARACTER / USUAL)
    fx, fy = small.shape[1] / work.shape[1], small.shape[0] / work.shape[0]
    return [Spot(s.left * fx, s.top * fy, s.right * fx, s.bottom * fy, s.sure) for s in zone_net.spots(work, file)]


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
    keep = zone_net.alone(np.array(out), np.array(total))
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
CALIBRATION = (1.70, 0.27, 0.89)


def confidences(chain: list[Spot]) -> list[float]:
    """Chance of each zone to be one whole sign (fitted on pieces of the training and of the
    examining renderer, ``data/train_zones/calibrate.py``)."""
    odds = [float(np.log(np.clip(s.sure, 1e-3, 1 - 1e-3) / np.clip(1 - s.sure, 1e-3, 1))) for s in chain]
    a, b, c = CALIBRATION
    return [float(np.clip(1 / (1 + np.exp(-(a * o + b * float(np.mean(odds)) + c))), 0.02, 0.98)) for o in odds]

