"""Strings of kana parted into words at the least cost: what the dictionary makes of readings once they are known.

Conventions: paths are rows of ``Words`` from the first node to the last; costs are those of words, of their connections
and of the arcs they take, without any metre. A *place* is a node and the kana read up to it: strings that begin alike
share their places, and what was found for a place stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon.readings import Readings
from readaid.lexicon.space import Space

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
_Place = tuple[int, str]


@dataclass(frozen=True)
class WordPath:
    """A string's cheapest path: its cost, and its words as rows."""

    kana: str
    cost: float
    rows: tuple[int, ...]


@dataclass(frozen=True)
class _Group:
    """Words of one reading between two nodes, the cheapest of each pair of context ids."""

    end: int
    rows: Ints
    left: Ints
    right: Ints
    cost: Floats


@dataclass(frozen=True)
class _Front:
    """The cheapest way to a place for each right context id: last word, cost, where it came from and which way there.

    Ways that end alike go on alike, so that a way that is dearer than another with its id is left behind here.
    """

    rows: Ints  # -1: nothing read yet
    right: Ints
    cost: Floats
    source: Ints  # number into ``places``
    before: Ints
    places: tuple[_Place, ...]
    ids: bytes  # of ``right``, to know a front like it by


class WordPaths:
    """Strings parted into the words of one space."""

    def __init__(self, space: Space, readings: Readings) -> None:
        self._space, self._last = space, space.size - 1
        self._from = _grouped(space, readings)
        self._lengths = [sorted({len(k) for k in words}) for words in self._from]
        none = np.zeros(1, dtype=np.int64)
        self._start = _Front(none - 1, none, np.zeros(1), none, none, (), none.tobytes())
        self._blocks: dict[tuple[bytes, int], NDArray[np.int16]] = {}
        self._fronts: dict[_Place, _Front] = {(0, ""): self._start}

    def of(self, kana: str) -> WordPath | None:
        """The cheapest path that spells a string, None where no words do."""
        reached: list[set[int]] = [set() for _ in range(self._space.size)]  # how much is read at each node
        reached[0].add(0)
        coming: dict[tuple[int, int], list[tuple[_Place, _Group]]] = {}
        for here in range(self._last):
            for read in sorted(reached[here]):
                self._stand((here, kana[:read]), coming.get((here, read), ()))
                for said in self._lengths[here]:
                    for group in self._from[here].get(kana[read:read + said], ()) if read + said <= len(kana) else ():
                        reached[group.end].add(read + said)
                        if (group.end, kana[:read + said]) not in self._fronts:
                            coming.setdefault((group.end, read + said), []).append(((here, kana[:read]), group))
        if len(kana) not in reached[self._last]:
            return None
        front = self._stand((self._last, kana), coming.get((self._last, len(kana)), ()))
        closing = self._space.dictionary.block(front.right, np.zeros(1, dtype=np.int64))[:, 0]
        total = front.cost + closing
        at = int(np.argmin(total))
        return WordPath(kana, float(total[at]), self._path(front, at))

    def _stand(self, place: _Place, coming: tuple[()] | list[tuple[_Place, _Group]]) -> _Front:
        """The ways to a place, found once."""
        if place in self._fronts:
            return self._fronts[place]
        parts = [self._onward(self._fronts[before], group) for before, group in coming]
        if len(parts) == 1:
            rows, right, cost, way = parts[0]
            source = np.zeros(len(rows), dtype=np.int64)
        else:
            rows, right, cost, way = (np.concatenate(p) for p in zip(*parts, strict=True))
            source = np.repeat(np.arange(len(parts)), [len(p[0]) for p in parts])
        if len(right) > 1:
            order = np.lexsort((cost, right))
            kept = order[_first(right[order])]
            rows, right, cost, way, source = rows[kept], right[kept], cost[kept], way[kept], source[kept]
        made = _Front(rows, right, cost, source, way, tuple(p for p, _ in coming), right.tobytes())
        self._fronts[place] = made
        return made

    def _onward(self, front: _Front, group: _Group) -> tuple[Ints, Ints, Floats, Ints]:
        """Words of a group after a front: rows, right ids, costs, and the way of the front that each follows."""
        key = front.ids, id(group)
        block = self._blocks.get(key)
        if block is None:  # the same words follow one another in string after string
            block = self._blocks[key] = self._space.dictionary.block(front.right, group.left)
        if len(front.cost) == 1:
            return group.rows, group.right, front.cost[0] + block[0] + group.cost, np.zeros(len(group.rows), np.int64)
        link = front.cost[:, None] + block
        way = link.argmin(axis=0)
        return group.rows, group.right, link[way, np.arange(len(way))] + group.cost, way

    def _path(self, front: _Front, at: int) -> tuple[int, ...]:
        out: list[int] = []
        while front.places:
            out.append(int(front.rows[at]))
            front, at = self._fronts[front.places[int(front.source[at])]], int(front.before[at])
        return tuple(out[::-1])


def _grouped(space: Space, readings: Readings) -> list[dict[str, list[_Group]]]:
    """Words from each node by what they read, in groups of one end: 15 ways of writing は are one where ids agree."""
    words = space.words
    kinds, kana = np.unique(readings.kana, return_inverse=True)
    order = np.lexsort((words.cost, words.right, words.left, words.end, kana.ravel(), words.start))
    place = np.stack([words.start, kana.ravel(), words.end, words.left, words.right])[:, order]
    order = order[_first(place)]
    said = kana.ravel()[order]
    first = np.flatnonzero(_first(np.stack([words.start[order], said, words.end[order]])))
    out: list[dict[str, list[_Group]]] = [{} for _ in range(space.size)]
    for begin, stop in zip(first.tolist(), [*first[1:].tolist(), len(order)], strict=True):
        rows = order[begin:stop]
        group = _Group(int(words.end[rows[0]]), rows, words.left[rows], words.right[rows], words.cost[rows])
        out[int(words.start[rows[0]])].setdefault(str(kinds[said[begin]]), []).append(group)
    return out


def _first(sorted_keys: Ints) -> NDArray[np.bool_]:
    """Where each key of a sorted row of keys (or columns of keys) stands first."""
    out = np.ones(sorted_keys.shape[-1], dtype=bool)
    changed = sorted_keys[..., 1:] != sorted_keys[..., :-1]
    out[1:] = changed.any(axis=0) if changed.ndim > 1 else changed
    return out
