"""Probabilities over the whole lattice: of each arc given all others, and of each string.

Conventions
-----------
* A path has weight exp(-cost / (700 t)) with t the temperature of the weights
  (1: the costs are taken at their word). Sums run over every path of the lattice
  with the metre of one form, none left out.
* Sums are kept with one scale (a logarithm) per node, since a path of 200 signs weighs e**-500.
"""

from __future__ import annotations

import heapq
import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import COST_FACTOR
from readaid.lexicon.graph import Graph
from readaid.lexicon.metre import Metre
from readaid.lexicon.readings import Readings
from readaid.lexicon.space import Space

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


#: Products of fewer multiplications than this are done in one thread (OpenBLAS: 4 times 65,536).
_ONE_THREAD = 200_000


class Posterior:
    """Forward and backward sums of one lattice under one form."""

    def __init__(self, space: Space, readings: Readings, metre: Metre, temperature: float = 1.0,
                 deadline: float | None = None) -> None:
        self.space, self.readings, self.metre = space, readings, metre
        self.unit = COST_FACTOR * temperature
        words = space.words
        self.late = False
        self._summed: dict[str, dict[tuple[int, int], _Sum]] = {}
        self._deadline = deadline
        self._target, price = metre.table(readings.sounds)
        self._weight = np.exp(-price / self.unit)
        width = max(1, readings.kana.dtype.itemsize // 4)
        self._codes = np.ascontiguousarray(readings.kana).view(np.uint32).reshape(len(readings.kana), width)
        self._word = words.cost / self.unit
        size, count = space.size, len(metre)
        self._cells: list[_Cells | None] = []
        for node in range(size):
            self._cells.append(_cells(space, readings, self._word, node))
            if self._is_late(node):
                return
        self._ahead = np.zeros((len(space.right.ids), count))
        self._scale = np.full(size, -np.inf)  # logarithm taken out of the forward sums of each node
        self._ahead[0, 0], self._scale[0] = 1.0, 0.0
        self._into: dict[int, Floats] = {}
        for node in range(size - 1):
            self._forward(node)
            if self._is_late(node):
                return
        self._back = np.zeros_like(self._ahead)
        self._back_scale = np.full(size, -np.inf)
        last = space.rights(size - 1)
        closing = (space.closing()[:, None] + metre.final[None, :]) / self.unit
        least = float(closing.min())
        self._back[last], self._back_scale[size - 1] = np.exp(least - closing), -least
        total = float((self._ahead[last] * self._back[last]).sum())
        #: Logarithm of the sum over all paths.
        self.log_total = float(np.log(total)) + float(self._scale[size - 1] + self._back_scale[size - 1])
        #: Probability of each word row.
        self.rows = np.zeros(len(words))
        for node in range(size - 2, -1, -1):
            self._backward(node)
            if self._is_late(node):
                return

    def _is_late(self, node: int) -> bool:
        if self._deadline is not None and node % 8 == 0 and time.monotonic() > self._deadline:
            self.late = True
        return self.late

    def _forward(self, node: int) -> None:
        here, cells = self._ahead[self.space.rights(node)], self._cells[node]
        biggest = float(here.max(initial=0.0))
        if cells is None or biggest <= 0.0:
            return
        here /= biggest  # the sums of this node are complete: scale them to at most 1
        scale = self._scale[node] = self._scale[node] + np.log(biggest)
        states = np.flatnonzero(here.any(axis=0))
        into = _product(np.exp(self.space.block(node).T / -self.unit), here[:, states])
        self._into[node] = into
        value = np.add.reduceat(into[cells.left] * cells.weight[:, None], cells.by_pair, axis=0)
        # The cheapest word of the node is taken out of all: e**-20 in front of each would leave nothing of the dearer
        # ones.
        base = scale - cells.least
        for end in np.unique(cells.end):
            at = np.flatnonzero(cells.end == end)
            peak = float(value[at].max())
            if peak <= 0.0:
                continue
            if not np.isfinite(self._scale[end]):
                # The first words that come to a node set its scale; later ones are brought to it.
                self._scale[end] = base + np.log(peak)
            pick = cells.sound[at][:, None], states[None, :]
            np.add.at(self._ahead, (cells.slot[at][:, None, None], self._target[pick]),
                      value[at][:, :, None] * (self._weight[pick] * np.exp(base - self._scale[end])))

    def _backward(self, node: int) -> None:
        cells = self._cells[node]
        if cells is None or node not in self._into:
            return
        r, f, w = self.space.rights(node), self.space.lefts(node), self.space.words_from(node)
        states = np.flatnonzero(self._ahead[r].any(axis=0))
        logs = self._back_scale[cells.end]
        top = float(logs.max())
        if not np.isfinite(top):
            return
        pick = cells.sound[:, None], states[None, :]
        after = (self._back[cells.slot[:, None, None], self._target[pick]] * self._weight[pick]).sum(axis=2)
        after *= np.exp(logs - top)[:, None]
        value = after[cells.pair] * cells.weight[:, None]
        share = np.einsum("cs,cs->c", self._into[node][cells.left], after[cells.pair])
        scale = np.exp(self._scale[node] + top - cells.least - self.log_total)
        self.rows[w] = share[cells.of_row] * np.exp(cells.least - self._word[w]) * scale
        leave = np.zeros((f.stop - f.start, len(states)))
        np.add.at(leave, cells.left, value)
        out = _product(np.exp(self.space.block(node) / -self.unit), leave)
        biggest = float(out.max(initial=0.0))
        if biggest > 0.0:
            self._back[r, :] = 0.0
            self._back[np.arange(r.start, r.stop)[:, None], states[None, :]] = out / biggest
            self._back_scale[node] = top - cells.least + np.log(biggest)

    def arcs(self, graph: Graph) -> Floats:
        """Probability that a path takes each arc of ``graph.arcs``."""
        walk = self.space.words.walk
        edges = np.zeros(len(graph.edges))
        path = self.space.words.path.copy()
        share = self.rows
        while len(path):
            np.add.at(edges, walk.edge[path], share)
            up = walk.parent[path]
            on = up >= 0
            path, share = up[on], share[on]
        out = np.zeros(len(graph.arcs))
        first = np.array([e.first for e in graph.edges], dtype=bool)
        np.add.at(out, np.array([e.arc for e in graph.edges], dtype=np.int64)[first], edges[first])
        return out

    def string(self, kana: str) -> float:
        """Probability of a string: the sum over all its paths as a share of the whole."""
        space, size = self.space, self.space.size
        width = self._codes.shape[1]
        wanted = np.r_[np.array([ord(c) for c in kana], dtype=np.uint32), np.zeros(width + 1, dtype=np.uint32)]
        shared, here = self._shared(kana)
        agenda = sorted(key for key in here if key[1] + width > shared or shared == 0)
        while agenda:
            node, taken = heapq.heappop(agenda)
            w = space.words_from(node)
            if node == size - 1 or w.start == w.stop:
                continue
            length = self.readings.length[w]
            same = self._codes[w] == wanted[taken:taken + width]
            same |= np.arange(width) >= length[:, None]
            new = (taken + length > shared) | (shared == 0)  # shorter words were passed along before
            on = np.flatnonzero(same.all(axis=1) & (taken + length <= len(kana)) & new) + w.start
            if len(on):
                for key in self._spread(here, node, taken, on):
                    heapq.heappush(agenda, key)
        self._summed[kana] = here
        final = here.get((size - 1, len(kana)))
        if final is None:
            return 0.0
        closing = space.closing()[final.slots - space.rights(size - 1).start]
        weights = np.exp(-(closing[:, None] + self.metre.final[None, :]) / self.unit)
        return float((final.sums * weights).sum() * np.exp(final.scale - self.log_total))

    def _shared(self, kana: str) -> tuple[int, dict[tuple[int, int], _Sum]]:
        """Sums that a string has in common with one summed before: length of the common kana, and standing places."""
        def common(other: str) -> int:
            return next((i for i, (a, b) in enumerate(zip(kana, other, strict=False)) if a != b),
                        min(len(kana), len(other)))
        # The strings asked for are the best ones, and those mostly begin alike: the sums so far are kept and gone on
        # from.
        nearest = max(self._summed, key=common, default="")
        shared = common(nearest)
        if shared:
            return shared, {key: at for key, at in self._summed[nearest].items() if key[1] <= shared}
        start = np.zeros((1, len(self.metre)))
        start[0, 0] = 1.0
        return 0, {(0, 0): _Sum(np.zeros(1, dtype=np.int64), start, 0.0)}

    def _spread(self, here: dict[tuple[int, int], _Sum], node: int, taken: int, on: Ints) -> list[tuple[int, int]]:
        """Pass the sums of one standing place on along the words ``on``; returns places not stood at before."""
        space, place = self.space, here[node, taken]
        peak = float(place.sums.max())
        if peak <= 0.0:
            return []
        states = np.flatnonzero(place.sums.any(axis=0))
        lefts, inverse = np.unique(space.left.of[on], return_inverse=True)
        block = space.block(node)[(place.slots - space.rights(node).start)[:, None], lefts - space.lefts(node).start]
        cost = self._word[on]
        least = float(cost.min())
        value = (np.exp(block.T / -self.unit) @ (place.sums[:, states] / peak))[inverse.ravel()]
        value *= np.exp(least - cost)[:, None]
        base = place.scale + np.log(peak) - least
        pick = self.readings.sound[on][:, None], states[None, :]
        spread = value[:, :, None] * self._weight[pick]
        target = self._target[pick]
        ends, lengths = space.words.end[on], self.readings.length[on]
        made = []
        for code in np.unique(ends * 4096 + lengths):
            key = (int(code) >> 12, taken + (int(code) & 4095))
            at = np.flatnonzero((ends == key[0]) & (lengths == key[1] - taken))
            if key not in here:
                slots = np.arange(space.rights(key[0]).start, space.rights(key[0]).stop)
                here[key] = _Sum(slots, np.zeros((len(slots), len(self.metre))), base)
                made.append(key)
            there = here[key]
            np.add.at(there.sums, ((space.right.of[on[at]] - there.slots[0])[:, None, None], target[at]),
                      spread[at] * np.exp(base - there.scale))
        return made


def _product(a: Floats, b: Floats) -> Floats:
    """a @ b in pieces so small that the linear algebra library works on them in one thread.

    Its threads wait for each other by spinning: on a busy machine of two cores this was five times slower.
    """
    step = max(1, _ONE_THREAD // max(1, a.shape[1] * b.shape[1]))
    if step >= len(a):
        return a @ b
    out = np.empty((len(a), b.shape[1]))
    for start in range(0, len(a), step):
        np.matmul(a[start:start + step], b, out=out[start:start + step])
    return out


@dataclass(frozen=True)
class _Cells:
    """Words from one node that differ in neither left context, nor right context and end, nor sound, summed.

    A *pair* is (right slot, sound). ``by_pair`` are the first cells of each pair for ``reduceat``.
    """

    left: Ints
    pair: Ints
    weight: Floats  # without the factor exp(-least)
    of_row: Ints
    by_pair: Ints
    slot: Ints
    sound: Ints
    end: Ints
    least: float


def _cells(space: Space, readings: Readings, word: Floats, node: int) -> _Cells | None:
    w = space.words_from(node)
    if w.start == w.stop:
        return None
    count = len(readings.sounds)
    pairs, pair = np.unique(space.right.of[w] * count + readings.sound[w], return_inverse=True)
    lefts = space.lefts(node)
    width = lefts.stop - lefts.start
    keys, of_row = np.unique(pair.ravel() * width + space.left.of[w] - lefts.start, return_inverse=True)
    least = float(word[w].min())
    of_row = of_row.ravel()
    weight: Floats = np.bincount(of_row, np.exp(least - word[w]), len(keys)).astype(np.float64)
    own = keys // width
    slot = pairs // count
    end = np.searchsorted(space.right.starts, slot, side="right") - 1
    return _Cells(keys % width, own, weight, of_row, np.searchsorted(own, np.arange(len(pairs))), slot, pairs % count,
                  end, least)


@dataclass
class _Sum:
    """Sums of a string's paths at a place: right slots, sums (slots, states), and the logarithm taken out of them."""

    slots: Ints
    sums: Floats
    scale: float
