"""Every way through a lattice weighed as verse: kana after kana, kanji by their readings, the metre beside them.

Conventions
-----------
* Nodes are the lattice's, with inner nodes where a gap may hold several kana. Arcs that agree in ends, kana and
  morae are one *group*;
  an arc over several signs that spells what they spell one by one, morae and all, adds nothing and is in none.
* A *state* is what of the kana read so far the ear still hears (``Ear.shortened``: up to five symbols), the verse
  line and the morae
  used in it. Ways with one state go on alike, so sums over states are sums over all ways, exact.
* Where a node has more than ``BEAM`` states the likeliest stay; ``lost`` is the share of the sums that went, added over
  the nodes: an estimate, since what was dropped might have gone on better or worse than what stayed. ``lost_at_most``
  is a bound that nothing breaks: it lets every dropped state go on as well as any kana model could. It is close where
  little was dropped, or late, and says 1 (nothing is known) where much was dropped early.
* Logarithms are natural; evidence is that of the signs and of the writing rules. ``best`` lists strings by their
  likeliest way, ``probability``
  is the sum over all ways of a string.
"""

from __future__ import annotations

import heapq
import itertools
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon import ear
from readaid.lexicon.ear import BASE, END, Ear
from readaid.lexicon.metre import Metre
from readaid.lexicon.moves import Departures, Group, Step, onsets, parted

Ints = NDArray[np.int64]
Keys = NDArray[np.uint64]
Floats = NDArray[np.float64]

BEAM = 300
#: How far below its likeliest way other ways of a string still count (a logarithm).
DEEP = 9.0
#: States kept once time has run out.
FEW = 12
#: Morae that a line within the verse may have too many or too few.
OVER, UNDER = 3, 2
#: Morae counted within a line.
_MOST = 64
_B = np.uint64(BASE)
_PLACE = np.uint64(BASE**5)


@dataclass(frozen=True)
class Way:
    """One string: kana, groups of its likeliest way, the lines that breaks it into, their morae, its logarithm."""

    kana: str
    groups: tuple[int, ...]
    lines: tuple[str, ...]
    morae: tuple[int, ...]
    score: float


@dataclass(frozen=True, slots=True)
class _Path:
    """A move of a way and those before it."""

    end: int
    to: int
    group: int
    before: _Path | None


class Chain:
    """Forward and backward sums over groups under one ear and one metre; ``unit`` is what a nat costs."""

    def __init__(self, size: int, groups: Sequence[Group], heard: Ear, metre: Metre, unit: float = 700.0,
                 beam: int = BEAM, deadline: float | None = None) -> None:
        self.size, self.groups, self.ear, self.metre, self.unit = size, tuple(groups), heard, metre, unit
        self.beam, self.lost, self.late = beam, 0.0, False
        self._dropped: dict[int, float] = {}  # logarithm of the sums that went, by node
        self._leaves: Departures | None = None
        self._evidence = np.array([g.evidence for g in self.groups])
        self._units = np.array([g.units for g in self.groups], dtype=np.int64)
        self._ends = np.array([g.end for g in self.groups], dtype=np.int64)
        self._from = onsets(size, self.groups)
        self._prices = _prices(metre)
        self.keys: list[Keys] = [np.zeros(0, dtype=np.uint64) for _ in range(size)]
        self.ahead: list[Floats] = [np.zeros(0) for _ in range(size)]
        self.keys[0], self.ahead[0] = np.array([ear.BEGIN], dtype=np.uint64), np.zeros(1)
        self.steps: list[list[Step]] = [[] for _ in range(size)]
        coming: list[list[tuple[Keys, Step]]] = [[] for _ in range(size)]
        for node in range(size):
            if not self.late and deadline is not None and time.monotonic() > deadline:
                self.late = True
            if coming[node]:
                self._merge(node, coming[node], FEW if self.late else beam)
                coming[node] = []
            if len(self.keys[node]):
                for end, keys, step in self._moves(node):
                    coming[end].append((keys, step))
        #: Logarithm of the whole: -inf where nothing leads through.
        self.log_total = _summed(self.ahead[-1])
        self.back: list[Floats] = [np.full(len(a), -np.inf) for a in self.ahead]
        #: Share of each group.
        self.shares = np.zeros(len(self.groups))
        if np.isfinite(self.log_total):
            self._backward()

    def _moves(self, node: int) -> list[tuple[int, Keys, Step]]:
        """All states of a node along all groups: (end, keys there, moves), within the line and ending it."""
        here, onset = self.keys[node], self._from[node]
        history = np.repeat((here % _PLACE)[:, None], len(onset.groups), axis=1)
        score = np.repeat(self._evidence[onset.groups][None, :], len(here), axis=0)
        for i, many in enumerate(onset.reach):  # longer groups stand first
            before, symbol = history[:, :many], onset.symbols[None, :many, i]
            score[:, :many] += self.ear.after(before.ravel(), np.repeat(symbol, len(here), axis=0).ravel()
                                              ).reshape(before.shape)
            history[:, :many] = (before * _B + symbol) % _PLACE
        out = []
        for final, columns in onset.parts:
            state = np.repeat(np.arange(len(here)), len(columns))
            group = np.tile(onset.groups[columns], len(here))
            told = self._lined(here[state], group, history[:, columns].ravel(), score[:, columns].ravel(), final)
            for keys, rows, scores in told:
                made = Step(node, state[rows], state[rows], group[rows], scores)
                out += parted(keys, made, self._ends)
        return out

    def _lined(self, here: Keys, group: Ints, history: Keys, score: Floats, final: bool,
               ) -> list[tuple[Keys, Ints, Floats]]:
        """Moves by what the line makes of them: (keys, numbers of the moves, scores), going on and ending the line."""
        if not self.metre.lines:
            if final:
                score = score + self.ear.after(history, np.full(len(history), END, dtype=np.uint64))
            return [(self.ear.shortened(history), np.arange(len(history)), score)]
        place = (here // _PLACE).astype(np.int64)
        line, used = place // _MOST, np.minimum(place % _MOST + self._units[group], _MOST - 1)
        length = np.array(self.metre.lines)[line]
        last = np.zeros(len(line), dtype=bool) if self.metre.repeats else line == len(self.metre.lines) - 1
        out = []
        if not final:
            on = np.flatnonzero(last | (used <= length + OVER))
            keys = self.ear.shortened(history[on]) + (line[on] * _MOST + used[on]).astype(np.uint64) * _PLACE
            out.append((keys, on, score[on]))
        fits = (used > 0) & (used >= length - UNDER) & (used <= length + OVER)
        ends = np.flatnonzero(np.ones(len(used), dtype=bool) if final else ~last & fits)
        if len(ends):
            price = self._prices[int(final)][line[ends], used[ends]]
            closing = self.ear.after(history[ends], np.full(len(ends), END, dtype=np.uint64))
            after = (history[ends] * _B + np.uint64(END)) % _PLACE
            following = line[ends] + (0 if final or self.metre.repeats else 1)
            keys = self.ear.shortened(after) + (following * _MOST).astype(np.uint64) * _PLACE
            out.append((keys, ends, score[ends] + closing - price / self.unit))
        return out

    def metre_cost(self, morae: Sequence[int]) -> float:
        """What the metre charges for lines of so many morae."""
        if not self.metre.lines:
            return 0.0
        last = len(morae) - 1
        return sum(float(self._prices[int(n == last)][0 if self.metre.repeats else min(n, len(self.metre.lines) - 1),
                                                      min(many, _MOST - 1)]) for n, many in enumerate(morae))

    def _merge(self, node: int, coming: list[tuple[Keys, Step]], beam: int) -> None:
        """States of a node from all moves into it; the likeliest stay."""
        keys = np.concatenate([k for k, _ in coming])
        if not len(keys):
            return
        score = np.concatenate([self.ahead[s.source][s.state] + s.score for _, s in coming])
        distinct, of = np.unique(keys, return_inverse=True)
        of = of.ravel()
        top = np.full(len(distinct), -np.inf)
        np.maximum.at(top, of, score)
        total = top + np.log(np.bincount(of, np.exp(score - top[of]), len(distinct)))
        kept = np.arange(len(distinct))
        if len(distinct) > beam:
            # The best of each place in the verse stays as well: else all that stay may have run past a line.
            order = np.argsort(-total, kind="stable")
            _, first = np.unique((distinct // _PLACE)[order], return_index=True)
            kept = np.union1d(order[:beam], order[first])
            share = np.exp(total - total.max())
            self.lost += 1.0 - float(share[kept].sum() / share.sum())
            gone = np.ones(len(distinct), dtype=bool)
            gone[kept] = False
            self._dropped[node] = _summed(total[gone])
        number = np.full(len(distinct), -1)
        number[kept] = np.arange(len(kept))
        self.keys[node], self.ahead[node] = distinct[kept], total[kept]
        begun = 0
        for k, s in coming:
            to = number[of[begun:begun + len(k)]]
            begun += len(k)
            on = np.flatnonzero(to >= 0)
            self.steps[node].append(Step(s.source, s.state[on], to[on], s.group[on], s.score[on]))

    def lost_at_most(self) -> float:
        """A strict bound on the share of all ways that was dropped, 0..1.

        Ways are told apart by the node where they were first dropped. From there on, of groups of one end and length
        no two spell the same, so that whatever the history their probabilities add up to one at most (times
        ``Ear.most`` a symbol, for steps of the stored logarithms); the metre only adds cost.
        """
        if not self._dropped:
            return 0.0
        ahead = np.full(self.size, -np.inf)
        ahead[-1] = 0.0
        step = math.log(self.ear.most)
        for node in range(self.size - 2, -1, -1):
            best: dict[tuple[int, int], dict[str, float]] = {}
            for n in self._from[node].groups.tolist():
                group = self.groups[n]
                of = best.setdefault((group.end, len(group.kana)), {})
                of[group.kana] = _plus(of.get(group.kana, -math.inf), group.evidence)
            # one step more than kana: the end of a line is a symbol too
            ahead[node] = _summed(np.array([max(of.values()) + ahead[end] + (long + 1) * step
                                            for (end, long), of in best.items()]))
        gone = _summed(np.array([log + ahead[node] for node, log in self._dropped.items()]))
        return 1.0 / (1.0 + math.exp(min(700.0, self.log_total - gone))) if np.isfinite(gone) else 0.0

    def _backward(self) -> None:
        self.back[-1][:] = 0.0
        for node in range(self.size - 1, 0, -1):
            for step in self.steps[node]:
                later = step.score + self.back[node][step.to]
                share = np.exp(self.ahead[step.source][step.state] + later - self.log_total)
                self.shares += np.bincount(step.group, share, len(self.groups))
                # Steps of one source come from all its states in order: sums by state without a slow scatter.
                _add_logs(self.back[step.source], step.state, later)

    def best(self, k: int) -> list[Way]:
        """The ``k`` strings with the likeliest ways (paths of groups and line ends), likeliest first."""
        leave = self._leave()
        counter = itertools.count()
        found: dict[str, Way] = {}
        # (cost, order, node, state, place among its moves, sum so far, what came before: (move, before))
        heap: list[tuple[float, int, int, int, int, float, _Path | None]] = []
        if np.isfinite(leave.top[0][0]):
            heap.append((-float(leave.top[0][0]), next(counter), 0, 0, 0, 0.0, None))
        tried = 0
        # Several ways spell one string; sixty a string, or a text of open signs would be walked for ever.
        while heap and len(found) < k and tried < 60 * k:
            _, _, node, state, place, spent, before = heapq.heappop(heap)
            moves = leave.of(node, state)
            end, to, group, score, _ = moves[place]
            if place + 1 < len(moves):
                further = -(spent + sum(moves[place + 1][3:]))
                heapq.heappush(heap, (further, next(counter), node, state, place + 1, spent, before))
            path = _Path(end, to, group, before)
            if end == self.size - 1:
                tried += 1
                way = self._way(path, spent + score)
                found.setdefault(way.kana, way)
            else:
                onward = leave.of(end, to)[0]
                spent += score
                heapq.heappush(heap, (-(spent + onward[3] + onward[4]), next(counter), end, to, 0, spent, path))
        return list(found.values())

    def _leave(self) -> Departures:
        if self._leaves is not None:
            return self._leaves
        top = [np.full(len(a), -np.inf) for a in self.ahead]
        top[-1][:] = 0.0
        for node in range(self.size - 1, 0, -1):
            for step in self.steps[node]:
                np.maximum.at(top[step.source], step.state, step.score + top[node][step.to])
        self._leaves = Departures(self.groups, self.steps, top)
        return self._leaves

    def _way(self, path: _Path | None, score: float) -> Way:
        moves = []
        while path is not None:
            moves.append((path.end, path.to, path.group))
            path = path.before
        lines, morae = [""], [0]
        for end, to, group in reversed(moves):
            lines[-1] += self.groups[group].kana
            morae[-1] += self.groups[group].units
            if end < self.size - 1 and self.metre.lines and int(self.keys[end][to]) % BASE == END:
                lines.append("")
                morae.append(0)
        return Way("".join(lines), tuple(g for _, _, g in reversed(moves)), tuple(lines), tuple(morae), score)

    def string(self, kana: str, least: float = -math.inf) -> tuple[float, Floats]:
        """Share of a string among all, summed over its ways, and the share of each group in it (0..1 each).

        Ways that no completion at all could bring above ``least`` (a logarithm) are left out.
        """
        leave = self._leave()
        ahead: list[dict[tuple[int, int], float]] = [{} for _ in range(self.size)]  # by kana read and state
        ahead[0][0, 0] = 0.0
        moves: list[tuple[int, int, int, int, int, int, int, float]] = []
        for node in range(self.size - 1):
            for (read, state), sums in ahead[node].items():
                onward = leave.by_kana(node, state)
                for said in (s for s in onward if kana.startswith(s, read)):
                    after = read + len(said)
                    for end, to, group, score, rest in onward[said]:
                        if sums + score + rest < least:
                            continue
                        there = ahead[end]
                        there[after, to] = _plus(there.get((after, to), -math.inf), sums + score)
                        moves.append((node, read, state, end, after, to, group, score))
        whole = -math.inf
        for sums in (s for (read, _), s in ahead[-1].items() if read == len(kana)):
            whole = _plus(whole, sums)
        groups = np.zeros(len(self.groups))
        if whole == -math.inf:
            return 0.0, groups
        back: dict[tuple[int, int, int], float] = {(self.size - 1, len(kana), to): 0.0 for read, to in ahead[-1]
                                                   if read == len(kana)}
        for node, read, state, end, after, to, group, score in reversed(moves):
            later = back.get((end, after, to))
            if later is not None:
                groups[group] += math.exp(ahead[node][read, state] + score + later - whole)
                back[node, read, state] = _plus(back.get((node, read, state), -math.inf), score + later)
        return math.exp(min(0.0, whole - self.log_total)), groups

    def strings(self, ways: Sequence[Way]) -> list[tuple[float, Floats]]:
        """``string`` of each, without what is e**-``DEEP`` of its likeliest way."""
        return [self.string(way.kana, way.score - DEEP) for way in ways]


@lru_cache(maxsize=64)
def _prices(metre: Metre) -> tuple[Floats, Floats]:
    """What the metre charges by line and morae used: within the verse, and for its end."""
    # A line of waka that is too long mostly holds a bare vowel; which kana it held the chain no longer knows.
    vowel = bool(metre.form and metre.form.bare_vowel)
    table = [[[price(line, used, vowel) for used in range(_MOST)] for line in range(len(metre.lines))]
             for price in (metre.line_cost, metre.closing)]
    return np.array(table[0]), np.array(table[1])


def _summed(logs: Floats) -> float:
    return float(np.logaddexp.reduce(logs)) if len(logs) else -np.inf


def _plus(one: float, two: float) -> float:
    """Sum of two logarithms."""
    high, low = (one, two) if one > two else (two, one)
    return high + math.log1p(math.exp(low - high)) if low > -math.inf else high


def _add_logs(into: Floats, state: Ints, logs: Floats) -> None:
    """Add sums in logarithms by state, in place."""
    top = into.copy()
    np.maximum.at(top, state, logs)
    safe = np.where(np.isfinite(top), top, 0.0)
    total = np.bincount(state, np.exp(logs - safe[state]), len(into)) + np.exp(into - safe)
    into[:] = np.where(total > 0.0, safe + np.log(np.maximum(total, 1e-300)), -np.inf)
