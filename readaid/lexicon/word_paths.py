"""A string of kana parted into words at the least cost: what the dictionary makes of a reading once it is known.

Conventions: paths are rows of ``Words`` from the first node to the last; costs are those of words, of their connections
and of the arcs they take, without any metre. Strings that begin alike share the work.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon.readings import Readings
from readaid.lexicon.space import Space

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class WordPath:
    """A string's cheapest path: its cost, and its words as rows."""

    kana: str
    cost: float
    rows: tuple[int, ...]


@dataclass(frozen=True)
class _Front:
    """Ways that reach a node with some kana read: last word of each, cost so far, which way it came from."""

    rows: Ints  # -1: nothing read yet
    cost: Floats
    before: Ints


class WordPaths:
    """Strings parted into the words of one space."""

    def __init__(self, space: Space, readings: Readings) -> None:
        self._space, self._last = space, space.size - 1
        self._words = space.words
        self._from: list[dict[str, list[int]]] = [{} for _ in range(space.size)]
        for row, (start, kana) in enumerate(zip(space.words.start.tolist(), readings.kana.tolist(), strict=True)):
            self._from[start].setdefault(kana, []).append(row)
        self._lengths = [sorted({len(k) for k in words}) for words in self._from]
        self._start = _Front(np.array([-1]), np.zeros(1), np.array([-1]))

    def of(self, kana: str) -> WordPath | None:
        """The cheapest path that spells a string, None where no words do."""
        parts: dict[tuple[int, int], list[tuple[Ints, Floats, Ints, int, int]]] = {}
        reached: list[set[int]] = [set() for _ in range(self._space.size)]  # how much is read at each node
        reached[0].add(0)
        for here in range(self._last):
            for read in sorted(reached[here]):
                front = _joined(parts[here, read]) if here else self._start
                for rows in self._rows(here, kana, read):
                    cost, before = self._follow(front, rows)
                    said = len(rows[1])
                    for end in np.unique(self._words.end[rows[0]]).tolist():
                        on = np.flatnonzero(self._words.end[rows[0]] == end)
                        parts.setdefault((end, read + said), []).append((rows[0][on], cost[on], before[on], here, read))
                        reached[end].add(read + said)
        final = parts.get((self._last, len(kana)))
        if not final:
            return None
        front = _joined(final)
        closing = self._space.dictionary.block(self._words.right[front.rows], np.zeros(1, dtype=np.int64))[:, 0]
        total = front.cost + closing
        at = int(np.argmin(total))
        return WordPath(kana, float(total[at]), self._path(parts, len(kana), at))

    def _rows(self, node: int, kana: str, read: int) -> list[tuple[Ints, str]]:
        """Words from a node that spell what comes next."""
        words = self._from[node]
        found = []
        for length in self._lengths[node]:
            said = kana[read:read + length]
            if len(said) == length and said in words:
                found.append((np.array(words[said], dtype=np.int64), said))
        return found

    def _follow(self, front: _Front, rows: tuple[Ints, str]) -> tuple[Floats, Ints]:
        """Cost of the words after the ways of a front, and the way each follows."""
        right = np.where(front.rows >= 0, self._words.right[front.rows], 0)
        link = front.cost[:, None] + self._space.dictionary.block(right, self._words.left[rows[0]])
        before = link.argmin(axis=0)
        return link[before, np.arange(len(before))] + self._words.cost[rows[0]], before

    def _path(self, parts: dict[tuple[int, int], list[tuple[Ints, Floats, Ints, int, int]]], read: int, at: int,
              ) -> tuple[int, ...]:
        out: list[int] = []
        key = self._last, read
        while key != (0, 0):
            for rows, _, before, node, said in parts[key]:
                if at < len(rows):
                    out.append(int(rows[at]))
                    key, at = (node, said), int(before[at])
                    break
                at -= len(rows)
        return tuple(out[::-1])


def _joined(parts: list[tuple[Ints, Floats, Ints, int, int]]) -> _Front:
    return _Front(np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts]),
                  np.concatenate([p[2] for p in parts]))
