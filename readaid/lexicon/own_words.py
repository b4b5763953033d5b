"""Our own words beside the dictionary's: ``own_words.tsv``, walked as the dictionary is.

Conventions: token numbers of own words begin at ``FIRST``, so that they cannot be taken for the dictionary's. A
state is a number, 0 the root; words are followed character by character.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from readaid.core import tsv
from readaid.lexicon.dictionary import Entry

Ints = NDArray[np.int64]

FIRST = 1 << 40
TABLE = Path(__file__).parent / "own_words.tsv"
COLUMNS = ("surface", "left", "right", "cost", "part", "kana", "modern", "spoken", "lemma", "kind", "source")
_CHARACTER = 1 << 21


def _row(row: dict[str, str]) -> Entry:
    left, right, cost = int(row["left"]), int(row["right"]), int(row["cost"])
    if not row["surface"] or not 0 <= left < 1 << 16 or not 0 <= right < 1 << 16:
        raise ValueError(f"surface {row['surface']!r} or ids {left}, {right} are out of range")
    return Entry(row["surface"], left, right, cost, row["part"], row["kana"], row["modern"] or row["kana"],
                 row["spoken"] or row["modern"] or row["kana"], row["lemma"], row["kind"])


class OwnWords:
    """Own words with a trie over their characters."""

    def __init__(self, entries: list[Entry]) -> None:
        self.entries = sorted(entries, key=lambda e: e.surface)
        self.left = np.array([e.left for e in self.entries], dtype=np.int64)
        self.right = np.array([e.right for e in self.entries], dtype=np.int64)
        self.cost = np.array([e.cost for e in self.entries], dtype=np.float64)
        moves: dict[tuple[int, str], int] = {}
        leaves: dict[int, tuple[int, int]] = {}
        for number, e in enumerate(self.entries):
            state = 0
            for char in e.surface:
                state = moves.setdefault((state, char), len(moves) + 1)
            first, count = leaves.get(state, (number, 0))
            leaves[state] = first, count + 1
        keys = np.array([s * _CHARACTER + ord(c) for s, c in moves], dtype=np.int64)
        order = np.argsort(keys)
        self._keys = keys[order]
        self._next = np.array(list(moves.values()), dtype=np.int64)[order] if moves else keys
        self._leaf = np.full(len(moves) + 1, -1, dtype=np.int64)
        for state, (first, count) in leaves.items():
            # As the dictionary's trie holds its leaves, so that one walk goes along both.
            self._leaf[state] = first << 8 | min(count, 255)

    def __len__(self) -> int:
        return len(self.entries)

    def step(self, states: Ints, characters: Ints) -> Ints:
        """Follow one character (code point) from many states at once; -1 where no word goes on."""
        wanted = states * _CHARACTER + characters
        # A key beyond the last one is looked for too; the comparison below refuses it.
        at = np.minimum(np.searchsorted(self._keys, wanted), len(self._keys) - 1)
        return np.where(self._keys[at] == wanted, self._next[at], -1)

    def leaves(self, states: Ints) -> Ints:
        """``first entry << 8 | count`` at each state, -1 where no word ends."""
        return self._leaf[states]

    def entry(self, token: int) -> Entry:
        """The entry of a token number."""
        return self.entries[token - FIRST]


def load(path: Path = TABLE) -> OwnWords:
    """Read a table of own words; raises TableError naming every faulty row."""
    return OwnWords(tsv.load(path, COLUMNS, _row))


@lru_cache(maxsize=1)
def shipped() -> OwnWords:
    """The words the project ships, read once."""
    return load()


@lru_cache(maxsize=1)
def none() -> OwnWords:
    """No own words, for comparison with the dictionary's tagger."""
    return OwnWords([])
