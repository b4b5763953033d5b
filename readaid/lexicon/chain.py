"""Letters weighed as a chain of kana: how likely each letter is among its neighbours in old verse, words left aside.

Conventions
-----------
* Nodes are the lattice's. Kana are compared without voicing marks and full size; arcs that agree in ends, kana and
  morae are one *group*. Which of a group's arcs is meant (voiced or not) the chain does not ask. An arc over several
  signs that spells what they spell one by one (けふ read きょう) counts for their groups and is none itself.
* A state is what was read last (four signs, line ends among them), the verse line and the morae used in it. Sums run
  forward and backward; at each node the ``BEAM`` likeliest states stay, so shares are close, not exact
  (100, 300 and 800 states gave the same letters on fitting verses).
* A group's evidence is that of its candidates times a part of what the words of the dictionary say for it
  (``words``: 0 nothing, 1 all). Logarithms are natural; costs of the metre count as the search's do.
* A verse with signs whose kana are not known from the lattice (kanji), or a gap of several signs, has no chain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import Arc
from readaid.lexicon import verse_model
from readaid.lexicon.graph import Graph
from readaid.lexicon.metre import Metre
from readaid.script import kana as letters
from readaid.script import voicing

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Codes = NDArray[np.uint32]

BEAM = 300
#: A share of a letter below this counts as this, so that no other evidence has to lift it from nothing.
LEAST = 1e-6
_SMALL = frozenset("ぁぃぅぇぉゃゅょゎゕゖ")
_HISTORY = verse_model.ORDER - 1
_POWERS = np.array([verse_model.BASE**i for i in range(_HISTORY)], dtype=np.int64)
_PLACE = verse_model.BASE**_HISTORY
#: Morae counted within a line.
_MOST = 64
#: Morae that a line within the verse may have too many or too few.
OVER, UNDER = 2, 1


@dataclass(frozen=True)
class Group:
    """Arcs that the chain does not tell apart; ``spans`` are those over several signs that count for it too."""

    start: int
    end: int
    codes: tuple[int, ...]
    units: int
    share: float  # by the words
    evidence: float  # logarithm
    arcs: tuple[int, ...]
    spans: tuple[int, ...]


@dataclass(frozen=True)
class _Step:
    """Moves into node ``to``: from which states of which node, to which states, along which groups, at what score."""

    node: int
    to: int
    source: Ints
    state: Ints
    group: Ints
    score: Floats


class Chain:
    """Forward and backward sums over the groups of a graph, under one form."""

    def __init__(self, graph: Graph, metre: Metre, shares: Floats, unit: float, words: float, power: float) -> None:
        self.size, self.metre, self.unit, self.power = len(graph.main), metre, unit, power
        self.groups = _groups(graph, shares, unit, words)
        self.of: dict[int, list[int]] = {}  # groups that each arc counts for
        for number, group in enumerate(self.groups):
            for arc in (*group.arcs, *group.spans):
                self.of.setdefault(arc, []).append(number)
        #: Logarithm of the whole, and the share of each group.
        self.log_total, self.posterior = self._sums(range(len(self.groups)))

    def arcs(self, shares: Floats) -> Floats:
        """Shares of the graph's arcs: each group's, parted among its arcs as ``shares`` part it."""
        out = np.zeros(len(shares))
        lifted = self.posterior / np.maximum([g.share for g in self.groups], LEAST)
        for arc, numbers in self.of.items():
            if arc not in self.groups[numbers[0]].arcs:
                out[arc] = shares[arc] * min(float(lifted[n]) for n in numbers)
        for group, share in zip(self.groups, self.posterior, strict=True):
            if group.arcs:
                own = list(group.arcs)
                parts = np.maximum(shares[own], 1e-12)
                out[own] = max(0.0, share - float(out[list(group.spans)].sum())) * parts / parts.sum()
        return out

    def probability(self, arcs: Sequence[int]) -> float:
        """Share of the letters of one way through, voiced or not, 0..1."""
        held = sorted({n for arc in arcs for n in self.of[arc]})
        return float(min(1.0, np.exp(self._sums(held)[0] - self.log_total)))

    def message(self, arc: int) -> float:
        """What the chain adds to an arc's own evidence (logarithm)."""
        return sum(float(np.log(max(self.posterior[n], LEAST))) - self.groups[n].evidence for n in self.of[arc])

    def _sums(self, held: Sequence[int]) -> tuple[float, Floats]:
        """Logarithm of the whole, and the share of each group, over the groups held."""
        start = np.zeros((1, _HISTORY), dtype=np.uint32)
        start[0, 0] = 1
        states = {0: (start, np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64))}
        sums = {0: np.zeros(1)}
        moves: dict[tuple[int, int, int], list[int]] = {}  # groups by start, end and number of kana
        for n in held:
            moves.setdefault((self.groups[n].start, self.groups[n].end, len(self.groups[n].codes)), []).append(n)
        coming: list[list[_Step]] = [[] for _ in range(self.size)]
        steps: list[_Step] = []
        for node in range(self.size):
            if coming[node]:
                steps += _merge(coming[node], states, sums)
            if node in states:
                for (begin, end, many), chosen in moves.items():
                    if begin == node:
                        coming[end] += self._moves(node, end, many, np.array(chosen), states[node], sums[node])
        if self.size - 1 not in states:
            return -np.inf, np.zeros(len(self.groups))
        return self._backward(steps, sums)

    def _moves(self, node: int, to: int, many: int, chosen: Ints, states: tuple[Codes, Ints, Ints], sums: Floats,
               ) -> list[_Step]:
        """All states of a node along groups of ``many`` kana each: within the line, and ending it."""
        history, line, used = states
        count, wide = len(history), len(chosen)
        after = np.broadcast_to(history[:, None, :], (count, wide, _HISTORY))
        score = sums[:, None] + np.array([self.groups[n].evidence for n in chosen])
        for i in range(many):
            code = np.broadcast_to(np.array([self.groups[n].codes[i] for n in chosen], dtype=np.uint32), (count, wide))
            score = score + self.power * np.log(verse_model.letters_after(after, code))
            after = np.concatenate([code[:, :, None], after[:, :, :-1]], axis=2)
        after, score = after.reshape(-1, _HISTORY), score.ravel()
        state, group = np.repeat(np.arange(count), wide), np.tile(chosen, count)
        line = np.repeat(line, wide)
        used = (used[:, None] + np.array([self.groups[n].units for n in chosen])).ravel()
        length, final = np.array(self.metre.lines)[line], to == self.size - 1
        last = np.zeros(len(line), dtype=bool) if self.metre.repeats else line == len(self.metre.lines) - 1
        out = []
        if not final:
            on = np.flatnonzero(last | (used <= length + OVER))
            out.append(_Step(node, to, state[on], _keys(after[on], line[on], used[on]), group[on], score[on]))
        ends = np.flatnonzero((used > 0) & (final | (~last & (used >= length - UNDER) & (used <= length + OVER))))
        if len(ends):
            closing = np.log(verse_model.letters_after(after[ends, None, :], np.full((len(ends), 1), 2, np.uint32)))
            places, of = np.unique(line[ends] * _MOST + np.minimum(used[ends], _MOST - 1), return_inverse=True)
            cost = self.metre.closing if final else self._ended
            price = np.array([cost(p // _MOST, p % _MOST) for p in places.tolist()])[of.ravel()]
            fresh = np.zeros((len(ends), _HISTORY), dtype=np.uint32)
            fresh[:, 0] = 1
            following = line[ends] + (0 if final or self.metre.repeats else 1)
            out.append(_Step(node, to, state[ends], _keys(fresh, following, np.zeros_like(following)), group[ends],
                             score[ends] + self.power * closing[:, 0] - price / self.unit))
        return out

    def _ended(self, line: int, used: int) -> float:
        return self.metre.line_cost(line, used, False)

    def _backward(self, steps: list[_Step], sums: dict[int, Floats]) -> tuple[float, Floats]:
        whole = float(np.logaddexp.reduce(sums[self.size - 1]))
        back = {node: np.full(len(at), -np.inf) for node, at in sums.items()}
        back[self.size - 1][:] = 0.0
        out = np.zeros(len(self.groups))
        for step in reversed(steps):
            later = step.score + back[step.to][step.state]
            np.add.at(out, step.group, np.exp(later - whole))
            np.logaddexp.at(back[step.node], step.source, later - sums[step.node][step.source])
        return whole, out


def made(graph: Graph, metre: Metre, shares: Floats, unit: float, words: float, power: float) -> Chain | None:
    """The chain of a graph, or None where it has kanji or long gaps, or no way through within the form.

    Parameters
    ----------
    shares: share of each of the graph's arcs by the words (``Search.arc_shares``).
    unit: what one nat costs (700 times the temperature).
    words, power: how much the words and the kana models count, 0..1.
    """
    inner = {e.arc for e in graph.edges if graph.arcs[e.arc].source == "filler" and
             (e.source not in graph.main or e.target not in graph.main) and len(graph.arcs[e.arc].text) == 1}
    if not metre.lines or inner or any(not arc.kana for arc in graph.arcs):
        return None
    chain = Chain(graph, metre, shares, unit, words, power)
    return chain if np.isfinite(chain.log_total) else None


def _codes(kana: str) -> tuple[int, ...]:
    return tuple(verse_model.code(c) for c in voicing.plain(letters.full(letters.to_hiragana(kana))))


def _groups(graph: Graph, shares: Floats, unit: float, words: float) -> list[Group]:
    price = {e.arc: e.cost for e in graph.edges if e.first}
    single: dict[tuple[int, int, tuple[int, ...], int], list[int]] = {}
    wide: list[int] = []
    for number, arc in enumerate(graph.arcs):
        if number in price:
            if arc.end - arc.start > 1 and len(_codes(arc.kana)) == arc.end - arc.start:
                wide.append(number)
            else:
                single.setdefault(_key(arc), []).append(number)
    spans: dict[tuple[int, int, tuple[int, ...], int], list[int]] = {}
    for number in wide:
        arc = graph.arcs[number]
        parts = [(arc.start + i, arc.start + i + 1, (code,), 1) for i, code in enumerate(_codes(arc.kana))]
        if all(p in single for p in parts):
            for part in parts:
                spans.setdefault(part, []).append(number)
        else:
            single.setdefault(_key(arc), []).append(number)
    out = []
    for key, arcs in single.items():
        own = float(np.logaddexp.reduce([-price[a] / unit for a in arcs]))
        share = float(shares[arcs].sum() + shares[spans.get(key, [])].sum())
        out.append(Group(*key, share, own + words * (float(np.log(max(share, LEAST))) - own), tuple(arcs),
                         tuple(spans.get(key, ()))))
    return out


def _key(arc: Arc) -> tuple[int, int, tuple[int, ...], int]:
    return arc.start, arc.end, _codes(arc.kana), sum(c not in _SMALL for c in arc.text)


def _keys(history: Codes, line: Ints, used: Ints) -> Ints:
    out: Ints = history.astype(np.int64) @ _POWERS + (line * _MOST + np.minimum(used, _MOST - 1)) * _PLACE
    return out


def _merge(parts: list[_Step], states: dict[int, tuple[Codes, Ints, Ints]], sums: dict[int, Floats]) -> list[_Step]:
    """States of a node from all moves into it (their ``state`` a key); the likeliest stay."""
    score = np.concatenate([p.score for p in parts])
    if not len(score):
        return []
    distinct, to = np.unique(np.concatenate([p.state for p in parts]), return_inverse=True)
    to = to.ravel()
    total = np.full(len(distinct), -np.inf)
    np.logaddexp.at(total, to, score)
    kept = np.arange(len(distinct)) if len(distinct) <= BEAM else np.sort(np.argpartition(-total, BEAM)[:BEAM])
    number = np.full(len(distinct), -1)
    number[kept] = np.arange(len(kept))
    key = distinct[kept]
    history = np.stack([key // p % verse_model.BASE for p in _POWERS.tolist()], axis=1).astype(np.uint32)
    states[parts[0].to] = history, key // _PLACE // _MOST, key // _PLACE % _MOST
    sums[parts[0].to] = total[kept]
    out, begun = [], 0
    for p in parts:
        state = number[to[begun:begun + len(p.state)]]
        begun += len(p.state)
        on = np.flatnonzero(state >= 0)
        out.append(_Step(p.node, p.to, p.source[on], state[on], p.group[on], p.score[on]))
    return out
