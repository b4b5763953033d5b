"""Walking a trie along the graph with all edges at once.

Conventions: a *path* is a number in ``Walk``: following ``parent`` gives the edges of a word from last to first.
A *hit* is a path at whose end a word ends, with the trie's leaf value. Edges that bear a longer byte sequence
are stepped byte by byte, shared leading bytes once for each path.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon.budget import STANDARD, nearest
from readaid.lexicon.dictionary import Trie
from readaid.lexicon.graph import Graph
from readaid.lexicon.own_words import OwnWords

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Walk:
    """Every prefix of a word that was met: its last edge and the prefix before it (-1 for none)."""

    parent: Ints
    edge: Ints

    def edges(self, path: int) -> list[int]:
        """Edges of one path, first to last."""
        out = []
        while path >= 0:
            out.append(int(self.edge[path]))
            path = int(self.parent[path])
        return out[::-1]

    def firsts(self, paths: Ints) -> Ints:
        """First edge of each path."""
        first = paths
        while len(first) and np.any(up := self.parent[first] >= 0):
            first = np.where(up, self.parent[first], first)
        return self.edge[first]

    def joined(self, other: Walk) -> Walk:
        """Both walks in one; paths of ``other`` are shifted by the length of this one."""
        shift = len(self.parent)
        return Walk(np.concatenate([self.parent, np.where(other.parent >= 0, other.parent + shift, -1)]),
                    np.concatenate([self.edge, other.edge]))


@dataclass(frozen=True)
class Hits:
    """Words met: start and end node, cost of the edges, leaf value, path; and the walk, and whether it was cut."""

    start: Ints
    end: Ints
    cost: Floats
    leaf: Ints
    path: Ints
    walk: Walk
    cut: bool

    def thinned(self, graph: Graph, most: int) -> Hits:
        """About ``most`` tokens at most: those on the cheapest ways, and all words of one character."""
        few = nearest(graph.detour(self.start, self.cost, self.end), self.start, self.leaf & 255, most)
        if few is None:
            return self
        rows = np.union1d(few, np.flatnonzero(self.walk.parent[self.path] < 0))  # so that a path remains
        return Hits(self.start[rows], self.end[rows], self.cost[rows], self.leaf[rows], self.path[rows], self.walk,
                    True)


class _Bytes:
    """Edges ready for a trie of bytes: those of one node with the same leading bytes form a group."""

    def __init__(self, graph: Graph, trie: Trie) -> None:
        self._trie = trie
        data = [e.text.encode() for e in graph.edges]
        # Kana have one of three pairs of leading bytes: those are stepped once for each path and not for each
        # kana.
        lead = np.array([int.from_bytes(b[:-1], "big") for b in data], dtype=np.int64)
        self._last = np.array([b[-1] for b in data], dtype=np.int64)
        self._leads = np.unique(lead)
        lead_of = np.searchsorted(self._leads, lead)
        self._order = np.lexsort((lead_of, graph.source))
        key = graph.source[self._order] * len(self._leads) + lead_of[self._order]
        first = np.flatnonzero(np.r_[True, key[1:] != key[:-1]])
        self._lead_of = lead_of[self._order][first]
        self._starts = np.r_[first, len(self._order)]
        self._groups = np.searchsorted(graph.source[self._order][first], np.arange(graph.size + 1))
        self.root = trie.root

    def step(self, at: Ints, state: Ints) -> tuple[Ints, Ints, Ints]:
        """From nodes in trie states over all edges: (number of the row, edge, new state)."""
        row, group = expand(self._groups, at)
        middle = state[row]
        lead = self._lead_of[group]
        for k, value in enumerate(self._leads.tolist()):
            chosen = np.flatnonzero(lead == k)
            for byte in value.to_bytes(3, "big").lstrip(b"\0"):
                middle[chosen] = self._trie.step(middle[chosen], byte)
        keep = np.flatnonzero(middle >= 0)
        sub, place = expand(self._starts, group[keep])
        edge = self._order[place]
        after = self._trie.step(middle[keep][sub], self._last[edge])
        on = np.flatnonzero(after >= 0)
        return row[keep][sub[on]], edge[on], after[on]

    def leaves(self, state: Ints) -> Ints:
        return self._trie.leaves(state)


class _Characters:
    """Edges ready for a trie of characters."""

    root = 0

    def __init__(self, graph: Graph, trie: OwnWords) -> None:
        self._trie, self._starts = trie, graph.starts
        self._codes = np.array([ord(e.text) for e in graph.edges], dtype=np.int64)

    def step(self, at: Ints, state: Ints) -> tuple[Ints, Ints, Ints]:
        row, edge = expand(self._starts, at)
        after = self._trie.step(state[row], self._codes[edge])
        on = np.flatnonzero(after >= 0)
        return row[on], edge[on], after[on]

    def leaves(self, state: Ints) -> Ints:
        return self._trie.leaves(state)


def walk(graph: Graph, trie: Trie | OwnWords, deadline: float | None = None, ways: int = STANDARD.ways) -> Hits:
    """All words of a trie along the graph.

    ``ways`` bounds the edges tried in one step: beyond it only prefixes on the cheapest ways are followed.
    ``deadline`` (``time.monotonic``) bounds the time. Either sets ``cut``. Words of one character are always looked up.
    """
    steps = _Bytes(graph, trie) if isinstance(trie, Trie) else _Characters(graph, trie)
    inside, begins, closes, not_alone = (np.array([getattr(e, name) for e in graph.edges], dtype=bool)
                                         for name in ("inside", "start", "closes", "not_alone"))
    word_ends = np.zeros(graph.size, dtype=bool)
    word_ends[list(graph.word_ends)] = True
    parents: list[Ints] = []
    edges: list[Ints] = []
    found: list[tuple[Ints, Ints, Floats, Ints, Ints]] = []
    at = np.flatnonzero(~graph.solid[:-1])
    begin, cost, before = at, np.zeros(len(at)), np.full(len(at), -1, dtype=np.int64)
    state = np.full(len(at), steps.root, dtype=np.int64)
    done, level, cut = 0, 0, False
    while len(at):
        level += 1
        if level > 1:
            if deadline is not None and time.monotonic() > deadline:
                cut = True
                break
            few = nearest(graph.detour(begin, cost, at), begin, graph.starts[at + 1] - graph.starts[at], ways)
            if few is not None:
                cut = True
                at, begin, cost, state, before = at[few], begin[few], cost[few], state[few], before[few]
        row, edge, state = steps.step(at, state)
        # は read わ never begins a word, and what is marked as a beginning never goes on with one.
        fits = np.flatnonzero(~(inside if level == 1 else begins)[edge])
        row, edge, state = row[fits], edge[fits], state[fits]
        at, begin, cost = graph.target[edge], begin[row], cost[row] + graph.cost[edge]
        parents.append(before[row])
        edges.append(edge)
        before = np.arange(done, done + len(edge), dtype=np.int64)
        done += len(edge)
        leaf = steps.leaves(state)
        ends = (leaf >= 0) & ~graph.solid[at]
        if level == 1:
            ends &= ~not_alone[edge]
        hit = np.flatnonzero(ends)
        found.append((begin[hit], at[hit], cost[hit], leaf[hit], before[hit]))
        # A word end that the reader set stops every prefix there, however well the word goes on.
        more = np.flatnonzero((at < graph.size - 1) & ~closes[edge] & ~word_ends[at])
        at, begin, cost, state, before = at[more], begin[more], cost[more], state[more], before[more]
    start, end, price, leaf, path = (np.concatenate([f[i] for f in found]) for i in range(5))
    return Hits(start, end, price, leaf, path, Walk(np.concatenate(parents), np.concatenate(edges)), cut)


def expand(starts: Ints, keys: Ints) -> tuple[Ints, Ints]:
    """For rows with ``keys``, all items starts[key]:starts[key + 1]; returns (row of each item, item).

    >>> [a.tolist() for a in expand(np.array([0, 2, 5]), np.array([1, 0]))]
    [[0, 0, 0, 1, 1], [2, 3, 4, 0, 1]]
    """
    counts = starts[keys + 1] - starts[keys]
    row = np.repeat(np.arange(len(keys), dtype=np.int64), counts)
    before = np.cumsum(counts) - counts
    return row, np.arange(int(counts.sum()), dtype=np.int64) - np.repeat(before - starts[keys], counts)


def expand_leaves(leaf: Ints) -> tuple[Ints, Ints]:
    """For leaves ``first << 8 | count``, every token: (row of each, token)."""
    counts = leaf & 255
    row = np.repeat(np.arange(len(leaf), dtype=np.int64), counts)
    before = np.cumsum(counts) - counts
    return row, np.arange(int(counts.sum()), dtype=np.int64) + np.repeat((leaf >> 8) - before, counts)
