"""How often chance alone comes as near: an extreme-value fit to the scores of unrelated verses.

Conventions
-----------
* Unrelated verses are decoys drawn from the kana models of ``lexicon.verse_model`` (fixed seed), not the
  collection itself: half of its verses may share a line with the one sought.
* The upper tail of the scores is taken as exponential above the 80th per cent (the tail of a Gumbel law); its
  scale is the median excess / ln 2. One verse exceeds x with probability p = 0.2 exp(-(x - threshold) / scale), the
  best of n verses with 1 - (1 - p)^n.
* Verses of a collection share words with one another; the chance holds for unrelated verse and is an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from readaid.lexicon import verse_model
from readaid.reading import verse_alignment
from readaid.reading.kana_profile import Profile, codes
from readaid.reading.verse_alignment import Rows

DECOYS = 2000
#: Models the decoys are drawn from, and their shares.
SOURCES = {"unvoiced": 0.5, "hokku": 0.5}
LENGTHS = ((5, 7, 5, 7, 7), (5, 7, 5))
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
        # Below the threshold nothing was fitted: such a score is met in one verse of five, so in nearly every
        # collection.
        if score <= self.threshold:
            return 1.0
        p = TAIL * np.exp(-(score - self.threshold) / self.scale)
        return float(-np.expm1(many * np.log1p(-min(p, 0.999999))))


def null(read: Profile) -> Null:
    """Fit the tail of the scores of unrelated verses with what was read."""
    scores = verse_alignment.score(read, _decoys(), spans=bool(read.kanji)).astype(float)
    threshold = float(np.quantile(scores, 1.0 - TAIL))
    excess = scores[scores > threshold] - threshold
    scale = float(np.median(excess)) / np.log(2.0) if len(excess) else 1.0
    # A sign or two give the decoys only a few different scores; a tail of no width would call any verse certain.
    return Null(threshold, max(scale, 0.3))


def holding(phrase: str) -> int:
    """How many of the drawn verses hold a phrase, voicing aside: how common it is in verse at large, of ``DECOYS``.

    >>> holding("ほととぎす") > holding("とひらのうら")
    True
    """
    text = codes(phrase)
    table = _decoys().codes
    if not text or len(text) > table.shape[1]:
        return 0
    fits = np.ones((len(table), table.shape[1] - len(text) + 1), dtype=bool)
    for n, code in enumerate(text):
        fits &= table[:, n:n + fits.shape[1]] == code
    return int(fits.any(axis=1).sum())


@lru_cache(maxsize=1)
def _decoys() -> Rows:
    """Verses drawn from the kana models: phrases of old verse, but no verse."""
    models = verse_model.models()
    drawn = [verse for number, (name, share) in enumerate(SOURCES.items())
             for verse in models[name].draw(LENGTHS[number % 2], int(DECOYS * share), SEED + number)]
    return verse_alignment.rows(["".join(v) for v in drawn], list(range(len(drawn))))
