"""What our tables add to the dictionary's word costs: by part of speech and by single word.

Conventions: added to the token's cost, in the dictionary's units; own words carry their whole cost themselves.
"""

from __future__ import annotations

from fnmatch import fnmatchcase
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from readaid.core import tsv
from readaid.lexicon.dictionary import Dictionary

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

PARTS = Path(__file__).parent / "part_weights.tsv"
WORDS = Path(__file__).parent / "word_weights.tsv"


class WordWeights:
    """Additions by left context id and by token."""

    def __init__(self, dictionary: Dictionary, parts: Path = PARTS, words: Path = WORDS) -> None:
        self.by_left = _by_left(dictionary, tsv.load(
            parts, ("pattern", "cost", "note"), lambda r: (r["pattern"].split(","), tsv.number(r["cost"]))))
        found: dict[int, float] = {}
        rows = tsv.load(words, ("surface", "part", "cost", "note"),
                           lambda r: (r["surface"], r["part"], tsv.number(r["cost"])))
        for surface, part, cost in rows:
            for token in dictionary.tokens(surface):
                if ",".join(dictionary.fields(token)).startswith(part):
                    found[token] = found.get(token, 0.0) + cost
        self._tokens = np.array(sorted(found), dtype=np.int64)
        self._costs = np.array([found[t] for t in sorted(found)])

    def of(self, token: Ints, left: Ints) -> Floats:
        """What is added to the cost of dictionary tokens."""
        out: Floats = self.by_left[left]
        if len(self._tokens):
            at = np.minimum(np.searchsorted(self._tokens, token), len(self._tokens) - 1)
            out = out + np.where(self._tokens[at] == token, self._costs[at], 0.0)
        return out


def _by_left(dictionary: Dictionary, patterns: list[tuple[list[str], float]]) -> Floats:
    out = np.zeros(dictionary.matrix.shape[0])
    if not patterns:
        return out
    for number, fields in dictionary.left_ids():
        out[number] = sum(cost for pattern, cost in patterns
                          if all(fnmatchcase(f, p) for p, f in zip(pattern, fields, strict=False)))
    return out


@lru_cache(maxsize=1)
def shipped(dictionary: Dictionary) -> WordWeights:
    """The additions the project ships, read once."""
    return WordWeights(dictionary)
