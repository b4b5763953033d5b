"""How often chance alone comes as near: an extreme-value fit to the scores of unrelated verses.

Conventions
-----------
* Unrelated verses are the collection itself and, for small ones, decoys: its verses with their kana
  shuffled (fixed seed). The few verses that are truly near do not move the fit, which uses medians.
* The upper tail of the scores is taken as exponential above the 80th per cent (the tail of a Gumbel law); its
  scale is the median excess / ln 2. One verse exceeds x with probability p = 0.2 exp(-(x - threshold) / scale), the
  best of n verses with 1 - (1 - p)^n.
* Verses of a collection share words with one another; the chance holds for unrelated verse and is an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.reading import aligning
from readaid.reading.aligning import Rows
from readaid.reading.profile import Profile

#: Scores wanted for the fit.
ENOUGH = 1500
TAIL = 0.2
SEED = 1829


@dataclass(frozen=True)
class Null:
    """The fitted tail."""

    threshold: float
    scale: float

    def of(self, score: float, many: int) -> float:
        """Chance that the best of ``many`` unrelated verses scores at least this, 0..1.

        >>> round(Null(0.0, 1.0).of(20.0, 1000) * 1e7, 2)
        4.12
        """
        if score <= self.threshold:
            return 1.0
        p = TAIL * np.exp(-(score - self.threshold) / self.scale)
        return float(-np.expm1(many * np.log1p(-min(p, 0.999999))))


def null(read: Profile, rows: Rows, background: NDArray[np.float64], scores: NDArray[np.float32]) -> Null:
    """Fit the tail from the scores of the collection (quick pass) and decoys."""
    known = scores.astype(float)
    if len(known) < ENOUGH:
        known = np.r_[known, aligning.score(read, _decoys(rows, ENOUGH - len(known)), spans=False).astype(float)]
    threshold = float(np.quantile(known, 1.0 - TAIL))
    excess = known[known > threshold] - threshold
    scale = float(np.median(excess)) / np.log(2.0) if len(excess) else 1.0
    return Null(threshold, max(scale, 0.3))


def _decoys(rows: Rows, many: int) -> Rows:
    """Verses of the collection with their kana shuffled."""
    random = np.random.default_rng(SEED)
    pick = random.integers(0, len(rows.length), many)
    width = rows.codes.shape[1]
    keys = random.random((many, width))
    keys[np.arange(width) >= rows.length[pick][:, None]] = 2.0
    order = np.argsort(keys, axis=1)
    return Rows(np.take_along_axis(rows.codes[pick], order, axis=1), rows.length[pick], rows.verse[pick])
