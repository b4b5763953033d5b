"""Moves of a chain: the groups that begin at each node, and where each state may go on to, most promising first.

Conventions: states, groups and nodes are numbers; scores are natural logarithms. ``Step`` holds many moves at once,
sorted by the state they leave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon import ear

Ints = NDArray[np.int64]
Keys = NDArray[np.uint64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Group:
    """Arcs that the chain does not tell apart: numbers into the lattice's arcs, and what they say (a logarithm)."""

    start: int
    end: int
    kana: str
    units: int
    evidence: float
    arcs: tuple[int, ...] = ()


@dataclass(frozen=True)
class Step:
    """Moves into a node: from states of ``source`` along groups to states, each with its score."""

    source: int
    state: Ints
    to: Ints
    group: Ints
    score: Floats


class Onset:
    """Groups that begin at a node, those of most kana first."""

    def __init__(self, groups: Sequence[Group], chosen: Sequence[int], last: int) -> None:
        order = sorted(chosen, key=lambda n: -len(groups[n].kana))
        codes = [ear.codes(groups[n].kana) for n in order]
        self.groups = np.array(order, dtype=np.int64)
        self.symbols = np.zeros((len(codes), max(map(len, codes), default=0)), dtype=np.uint64)
        for row, symbols in zip(self.symbols, codes, strict=True):
            row[:len(symbols)] = symbols
        #: How many groups have a first, a second ... kana.
        self.reach = [sum(len(c) > i for c in codes) for i in range(self.symbols.shape[1])]
        final = np.array([groups[n].end == last for n in order], dtype=bool)
        parts = ((False, np.flatnonzero(~final)), (True, np.flatnonzero(final)))
        self.parts = [(told, columns) for told, columns in parts if len(columns)]


def onsets(size: int, groups: Sequence[Group]) -> list[Onset]:
    """The groups that begin at each node."""
    begun: list[list[int]] = [[] for _ in range(size)]
    for number, group in enumerate(groups):
        begun[group.start].append(number)
    return [Onset(groups, chosen, size - 1) for chosen in begun]


def parted(keys: Keys, step: Step, ends: Ints) -> list[tuple[int, Keys, Step]]:
    """Moves by the node where they end."""
    to = ends[step.group]
    found = np.unique(to)
    if len(found) == 1:
        return [(int(found[0]), keys, step)]
    out = []
    for end in found.tolist():
        on = np.flatnonzero(to == end)
        out.append((end, keys[on], Step(step.source, step.state[on], step.to[on], step.group[on], step.score[on])))
    return out


class Departures:
    """Moves out of each state, the most promising first: (end, state, group, score, best completion)."""

    def __init__(self, groups: Sequence[Group], steps: Sequence[Sequence[Step]], top: list[Floats]) -> None:
        self.top = top
        self._kana = [g.kana for g in groups]
        self._sorted: dict[tuple[int, int], list[tuple[int, int, int, float, float]]] = {}
        self._said: dict[tuple[int, int], dict[str, list[tuple[int, int, int, float, float]]]] = {}
        by_source: list[list[tuple[int, Step]]] = [[] for _ in steps]
        for node in range(1, len(steps)):
            for step in steps[node]:
                by_source[step.source].append((node, step))
        self._steps = by_source
        self._ready: dict[int, tuple[Ints, Ints, Ints, Ints, Floats, Floats]] = {}

    def of(self, node: int, state: int) -> list[tuple[int, int, int, float, float]]:
        key = node, state
        if key not in self._sorted:
            if node not in self._ready:
                self._ready[node] = self._table(node)
            starts, end, to, group, score, rest = self._ready[node]
            rows = slice(int(starts[state]), int(starts[state + 1]))  # none where nothing leads on
            self._sorted[key] = list(zip(end[rows].tolist(), to[rows].tolist(), group[rows].tolist(),
                                         score[rows].tolist(), rest[rows].tolist(), strict=True))
        return self._sorted[key]

    def by_kana(self, node: int, state: int) -> dict[str, list[tuple[int, int, int, float, float]]]:
        """Moves out of a state by what they read."""
        key = node, state
        if key not in self._said:
            found: dict[str, list[tuple[int, int, int, float, float]]] = {}
            for move in self.of(node, state):
                found.setdefault(self._kana[move[2]], []).append(move)
            self._said[key] = found
        return self._said[key]

    def _table(self, node: int) -> tuple[Ints, Ints, Ints, Ints, Floats, Floats]:
        steps = self._steps[node]
        state = np.concatenate([s.state for _, s in steps])
        end = np.concatenate([np.full(len(s.state), n) for n, s in steps])
        to, group = np.concatenate([s.to for _, s in steps]), np.concatenate([s.group for _, s in steps])
        score = np.concatenate([s.score for _, s in steps])
        rest = np.concatenate([self.top[n][s.to] for n, s in steps])
        order = np.lexsort((-(score + rest), state))
        order = order[np.isfinite(rest[order])]
        starts = np.searchsorted(state[order], np.arange(len(self.top[node]) + 1))
        return starts, end[order], to[order], group[order], score[order], rest[order]
