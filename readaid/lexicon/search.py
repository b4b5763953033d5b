"""The exact search: best readings with metre, distinct by their kana.

Conventions
-----------
* A *string* is the kana of a whole reading. Its cost is that of its cheapest
  path. ``best`` returns the k cheapest distinct strings, cheapest first; of two
  equally dear the one met first.
* Method: one backward pass gives, for each node, context and metre state, the exact cost of the best
  completion. Strings are then taken one by one: all strings that leave the ones already
  found at a given place form one set; the backward costs tell the cheapest string
  of each set, so each step yields exactly one new string (Lawler's partition, on
  strings and not on paths: 60 paths held a median of 11 strings).
* Exact pruning: words whose lower bound without metre lies above the cost of
  the k-th string cannot be part of an answer and are left out.
"""

from __future__ import annotations

import heapq
import itertools
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon.metre import Metre
from readaid.lexicon.readings import Readings
from readaid.lexicon.space import Bounds, Space

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: First guess of how far above the lower bound the answers lie, in the dictionary's units.
FIRST_MARGIN = 6000.0


_END, _ALL = -1, -2


@dataclass(frozen=True)
class Found:
    """One string: its kana, the cost of its best path, and that path as rows of ``Words``."""

    kana: str
    cost: float
    rows: tuple[int, ...]
    states: tuple[int, ...]  # metre state after each word


@dataclass(frozen=True)
class Answer:
    """The strings found; ``cut`` if time ran out before all were."""

    strings: tuple[Found, ...]
    cut: bool


def best(space: Space, readings: Readings, metre: Metre, limits: Bounds, k: int,
         deadline: float | None = None) -> Answer:
    """The k cheapest distinct strings.

    ``limits`` are the bounds of ``space``; ``deadline`` is a time of ``time.monotonic``. With a
    deadline passed the strings found so far are returned with ``cut`` set (at least one).
    """
    margin, top = FIRST_MARGIN, float(np.max(limits.through[np.isfinite(limits.through)], initial=limits.best))
    while True:
        bound = limits.best + margin
        # A word dearer than the bound even without metre is in no answer.
        keep = np.flatnonzero(limits.through <= bound + 1e-6)
        answer = _Pass(space, readings, metre, keep).strings(k, deadline)
        worst = answer.strings[-1].cost if len(answer.strings) == k else np.inf
        if worst <= bound or bound >= top or answer.cut:
            return answer
        # Exactly as far as the k-th string lies; where fewer than k were found, further by steps.
        margin = worst - limits.best if np.isfinite(worst) else 3 * margin


def follow(space: Space, readings: Readings, metre: Metre, strings: Sequence[str]) -> list[Found]:
    """The given strings with their cheapest paths, exact; those that no path spells are left out."""
    # Only words that lie somewhere in one of the strings.
    parts = {s[i:j] for s in strings for i in range(len(s)) for j in range(i, len(s) + 1)}
    distinct, of = np.unique(readings.kana, return_inverse=True)
    used = np.array([str(kana) in parts for kana in distinct], dtype=bool)
    walk = _Pass(space, readings, metre, np.flatnonzero(used[of.ravel()]))
    return [found for found in (walk.along(s) for s in strings) if found is not None]


class Backward:
    """Best completions: ``after[slot, state]`` from a right slot on, ``row[i, state]`` from the start of a word on."""

    def __init__(self, space: Space, readings: Readings, metre: Metre, keep: Ints) -> None:
        self.space, self.metre, self.keep = space, metre, keep
        words, size, count = space.words, space.size, len(metre)
        self.start = words.start[keep]
        self.rows = np.searchsorted(self.start, np.arange(size + 1))
        self.sound = readings.sound[keep]
        self.end = words.end[keep]
        self.right, self.left = space.right.of[keep], space.left.of[keep]
        self.cost = words.cost[keep]
        self.target, self.price = metre.table(readings.sounds)
        self.begun = np.unique(self.start).tolist()
        self.active = self._reachable()
        self.after = np.full((len(space.right.ids), count), np.inf)
        last = space.rights(size - 1)
        self.after[last] = space.closing()[:, None] + metre.final[None, :]
        self.leave = np.full((len(space.left.ids), count), np.inf)
        self.row = np.full((len(keep), count), np.inf)  # without the word's own cost
        for node in reversed(self.begun):
            self._node(node)

    def _reachable(self) -> list[Ints]:
        """Metre states that some path reaches at each node."""
        reach = np.zeros((self.space.size, len(self.metre)), dtype=bool)
        reach[0, 0] = True
        possible = np.isfinite(self.price)
        for node in self.begun:
            here = np.flatnonzero(reach[node])
            rows = slice(int(self.rows[node]), int(self.rows[node + 1]))
            pairs = np.unique(self.end[rows] * len(self.target) + self.sound[rows])
            end, sound = pairs // len(self.target), pairs % len(self.target)
            row, state, choice = np.nonzero(possible[sound[:, None], here[None, :]])
            reach[end[row], self.target[sound[row], here[state], choice]] = True
        return [np.flatnonzero(r) for r in reach]

    def moves(self, rows: Ints, states: Ints) -> tuple[Ints, Floats]:
        """Next states and prices of words in states, shape (rows, states, choices)."""
        pick = self.sound[rows][:, None], states[None, :]
        return self.target[pick], self.price[pick]

    def _node(self, node: int) -> None:
        space, states = self.space, self.active[node]
        rows = np.arange(self.rows[node], self.rows[node + 1])
        if not len(rows) or not len(states):
            return
        target, price = self.moves(rows, states)
        self.row[rows[:, None], states] = (self.after[self.right[rows][:, None, None], target] + price).min(axis=2)
        lefts, inverse = np.unique(self.left[rows], return_inverse=True)
        leave = np.full((len(lefts), len(states)), np.inf)
        np.minimum.at(leave, inverse.ravel(), self.cost[rows, None] + self.row[rows[:, None], states[None, :]])
        self.leave[lefts[:, None], states[None, :]] = leave
        rights = space.rights(node)
        block = space.block(node)[:, lefts - space.lefts(node).start]
        for i, state in enumerate(states):
            self.after[rights, state] = (block + leave[None, :, i]).min(axis=1, initial=np.inf)


@dataclass
class _Here:
    """Where a string's paths stand after ``taken`` kana at ``node``: right slots, costs (slots, states), and whence."""

    slots: Ints
    costs: Floats
    arrivals: list[tuple[tuple[int, int], Ints, Ints, Floats]]  # key before, kept rows, states, costs (rows, states)


@dataclass(frozen=True, slots=True)
class _Way:
    """The cheapest path of a set of strings: what it costs whole, the kana before its word, the word and its state."""

    price: float
    prefix: str
    row: int  # a kept row, or _END where the string ends here, or _ALL for the set of all strings
    state: int


class _Pass:
    """One enumeration over the words kept."""

    def __init__(self, space: Space, readings: Readings, metre: Metre, keep: Ints) -> None:
        self.space, self.metre, self.keep = space, metre, keep
        self.back = Backward(space, readings, metre, keep)
        self.kana = readings.kana[keep]
        self.length = readings.length[keep]
        width = max(1, self.kana.dtype.itemsize // 4)
        self.codes = np.ascontiguousarray(self.kana).view(np.uint32).reshape(len(keep), width)
        self.goal = space.size - 1

    def strings(self, k: int, deadline: float | None) -> Answer:
        """Up to k strings; at least one, whatever the deadline."""
        count = itertools.count()
        start = {(0, 0): _Here(np.zeros(1, dtype=np.int64), self._start(), [])}
        first = float(self.back.after[0, 0])
        if not np.isfinite(first):
            return Answer((), False)
        # An entry: cost, order, set of strings, the standing places of its parent (those before the first place where
        # its strings may be left are its own too), that place.
        heap: list[tuple[float, int, _Way, dict[tuple[int, int], _Here], int]] = [
            (first, next(count), _Way(first, "", _ALL, 0), start, 0)]
        out: list[Found] = []
        while heap and len(out) < k:
            # One answer is always given: a reading that is told to be cut is more use than none.
            if out and deadline is not None and time.monotonic() > deadline:
                return Answer(tuple(out), True)
            cost, _, way, shared, fork = heapq.heappop(heap)
            kana = self._whole(way)
            here, sets = self._follow(kana, {key: at for key, at in shared.items() if key[0] < max(1, fork)}, fork)
            out.append(self._path(kana, cost, here))
            # Lawler's partition: what leaves this string at one place by one kana is one set, so no string is met
            # twice.
            for (place, char), way in sets.items():
                following = place + 1 if char else len(kana) + 1  # a set of one string that ends here has no other
                heapq.heappush(heap, (way.price, next(count), way, here, following))
        return Answer(tuple(out), False)

    def along(self, kana: str) -> Found | None:
        """One string with its cheapest path, None where there is none."""
        start = {(0, 0): _Here(np.zeros(1, dtype=np.int64), self._start(), [])}
        here, _ = self._follow(kana, start, 0, leaving=False)
        place = here.get((len(kana), self.goal))
        cost = np.inf if place is None else float((place.costs + self.back.after[place.slots]).min())
        return self._path(kana, cost, here) if np.isfinite(cost) else None

    def _start(self) -> Floats:
        costs = np.full((1, len(self.metre)), np.inf)
        costs[0, 0] = 0.0
        return costs

    def _arrive(self, node: int, here: _Here) -> tuple[Ints, Ints, Floats]:
        """Words from a node after a string's paths: kept rows, states, and costs with the word's own (rows, states)."""
        rows = np.arange(self.back.rows[node], self.back.rows[node + 1])
        states = np.flatnonzero(np.isfinite(here.costs).any(axis=0))
        lefts, inverse = np.unique(self.back.left[rows], return_inverse=True)
        block = self.space.block(node)
        local = block[(here.slots - self.space.rights(node).start)[:, None], lefts - self.space.lefts(node).start]
        costs = here.costs[:, states]
        into = np.empty((len(lefts), len(states)))
        for i in range(len(states)):
            into[:, i] = (local + costs[:, i, None]).min(axis=0)
        return rows, states, into[inverse.ravel()] + self.back.cost[rows, None]

    def _follow(self, kana: str, shared: dict[tuple[int, int], _Here], fork: int, leaving: bool = True,
                ) -> tuple[dict[tuple[int, int], _Here], dict[tuple[int, str], _Way]]:
        """Walk all paths of a string; returns its standing places and, for each way of leaving it, the cheapest."""
        here = dict(shared)
        codes = np.r_[np.array([ord(c) for c in kana], dtype=np.uint32),
                      np.zeros(self.codes.shape[1] + 1, dtype=np.uint32)]
        sets: dict[tuple[int, str], _Way] = {}
        # Places shared with the parent are known, but words from them may reach past the fork: walk on from those.
        known = set(here)
        # Places far before the fork lead only where the parent has been.
        agenda = sorted((node, taken) for taken, node in here if taken + self.codes.shape[1] >= fork)
        done: set[tuple[int, int]] = set()
        while agenda:
            node, taken = heapq.heappop(agenda)
            if (taken, node) in done or node == self.goal:
                continue
            done.add((taken, node))
            place = here[taken, node]
            rows, states, costs = self._arrive(node, place)
            if not len(rows) or not len(states):
                continue
            same = self.codes[rows] == codes[taken:taken + self.codes.shape[1]]
            common = np.minimum(np.cumprod(same, axis=1).sum(axis=1), self.length[rows])
            on = common == self.length[rows]
            for end in np.unique(self.back.end[rows[on]]):
                picked = on & (self.back.end[rows] == end)
                self._stand(here, known, (taken, node), int(end), rows[picked], states, costs[picked], agenda)
            off = np.flatnonzero(~on & (taken + common >= fork))
            if leaving and len(off):
                self._leave(sets, kana, taken, node, rows[off], states, costs[off], common[off])
        if leaving:
            self._ends(sets, kana, here, fork)
        return here, sets

    def _stand(self, here: dict[tuple[int, int], _Here], known: set[tuple[int, int]], before: tuple[int, int], end: int,
               rows: Ints, states: Ints, costs: Floats, agenda: list[tuple[int, int]]) -> None:
        """Words that follow the string: where its paths stand after them."""
        for length in np.unique(self.length[rows]):
            some = self.length[rows] == length
            key = (before[0] + int(length), end)
            if key in known:
                continue
            slots, inverse = np.unique(self.back.right[rows[some]], return_inverse=True)
            reached = np.full((len(slots), len(self.metre)), np.inf)
            target, price = self.back.moves(rows[some], states)
            np.minimum.at(reached, (inverse.ravel()[:, None, None], target), costs[some][:, :, None] + price)
            arrival = (before, rows[some], states, costs[some])
            if key in here:
                old = here[key]
                merged = np.union1d(old.slots, slots)
                table = np.full((len(merged), len(self.metre)), np.inf)
                table[np.searchsorted(merged, old.slots)] = old.costs
                at = np.searchsorted(merged, slots)
                table[at] = np.minimum(table[at], reached)
                here[key] = _Here(merged, table, [*old.arrivals, arrival])
            else:
                here[key] = _Here(slots, reached, [arrival])
            heapq.heappush(agenda, (end, key[0]))

    def _leave(self, sets: dict[tuple[int, str], _Way], kana: str, taken: int, node: int, rows: Ints, states: Ints,
               costs: Floats, common: Ints) -> None:
        """Words that leave the string: the cheapest whole for each place and next kana."""
        totals = costs + self.back.row[rows[:, None], states[None, :]]
        state = totals.argmin(axis=1)
        total = totals[np.arange(len(rows)), state]
        place = taken + common
        key = place.astype(np.int64) << 32 | self.codes[rows, common].astype(np.int64)
        order = np.lexsort((total, key))
        firsts = order[np.flatnonzero(np.r_[True, key[order][1:] != key[order][:-1]])]
        for i in firsts:
            price = float(total[i])
            if not np.isfinite(price):
                continue
            name = (int(place[i]), chr(int(key[i]) & 0xFFFFFFFF))
            if name not in sets or price < sets[name].price:
                sets[name] = _Way(price, kana[:taken], int(rows[i]), int(states[state[i]]))

    def _ends(self, sets: dict[tuple[int, str], _Way], kana: str, here: dict[tuple[int, int], _Here],
              fork: int) -> None:
        """Paths that come to the end of the text before the string does."""
        for (taken, node), place in here.items():
            if node == self.goal and fork <= taken < len(kana):
                price = float((place.costs + self.back.after[place.slots]).min())
                if np.isfinite(price):
                    sets[taken, ""] = _Way(price, kana[:taken], _END, 0)

    def _whole(self, way: _Way) -> str:
        """The whole string of the cheapest path of a set."""
        if way.row == _END:
            return way.prefix
        if way.row == _ALL:
            return self._rest(0, 0, 0)
        slot, state = self._move(way.row, way.state)
        return way.prefix + str(self.kana[way.row]) + self._rest(int(self.back.end[way.row]), slot, state)

    def _move(self, row: int, state: int) -> tuple[int, int]:
        """Right slot of a word and the state that the cheapest completion goes on from."""
        sound, slot = self.back.sound[row], int(self.back.right[row])
        target = self.back.target[sound, state]
        choice = int(np.argmin(self.back.price[sound, state] + self.back.after[slot, target]))
        return slot, int(target[choice])

    def _rest(self, node: int, slot: int, state: int) -> str:
        """The string of the cheapest completion after a right slot in a metre state."""
        out = []
        while node != self.goal:
            rows = slice(int(self.back.rows[node]), int(self.back.rows[node + 1]))
            local = self.space.block(node)[slot - self.space.rights(node).start]
            totals = (local[self.back.left[rows] - self.space.lefts(node).start] + self.back.cost[rows]
                      + self.back.row[rows, state])
            row = rows.start + int(np.argmin(totals))
            out.append(str(self.kana[row]))
            slot, state = self._move(row, state)
            node = int(self.back.end[row])
        return "".join(out)

    def _path(self, kana: str, cost: float, here: dict[tuple[int, int], _Here]) -> Found:
        """The cheapest path of a string, from its standing places backward."""
        key = (len(kana), self.goal)
        place = here[key]
        totals = place.costs + self.back.after[place.slots]
        slot, state = (int(v) for v in np.unravel_index(int(np.argmin(totals)), totals.shape))
        slot = int(place.slots[slot])
        value = float(totals.min() - self.back.after[slot, state])
        rows: list[int] = []
        states: list[int] = []
        while key != (0, 0):
            row, before, came, value = self._before(here[key], here, slot, state, value)
            rows.append(int(self.keep[row]))
            states.append(state)
            slot, state, key = came[0], came[1], before
        return Found(kana, cost, tuple(rows[::-1]), tuple(states[::-1]))

    def _before(self, place: _Here, here: dict[tuple[int, int], _Here], slot: int, state: int, value: float,
                ) -> tuple[int, tuple[int, int], tuple[int, int], float]:
        """The last word of the path that stands at (slot, state): its row, where it began, slot and state there."""
        found: tuple[float, int, tuple[int, int], int] | None = None
        for before, rows, states, costs in place.arrivals:
            for i in np.flatnonzero(self.back.right[rows] == slot):
                sound = self.back.sound[rows[i]]
                target, price = self.back.target[sound], self.back.price[sound]
                for j, choice in np.argwhere(target[states] == state):
                    old = int(states[j])
                    total = float(costs[i, j] + price[old, choice])
                    if np.isfinite(total) and (found is None or total < found[0]):
                        found = total, int(rows[i]), before, old
        assert found is not None, f"no path of cost {value} leads to slot {slot}"
        _, row, before, old = found
        start = here[before]
        node = before[1]
        local = self.space.block(node)[start.slots - self.space.rights(node).start,
                                       self.back.left[row] - self.space.lefts(node).start]
        best = int(np.argmin(start.costs[:, old] + local))
        return row, before, (int(start.slots[best]), old), float(start.costs[best, old])
