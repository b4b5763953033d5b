"""The words of a lattice laid out for the search: context slots, connection blocks, lower bounds.

Conventions
-----------
* A *right slot* is a pair (node, right context id) that some word ends with there, a
  *left slot* a pair (node, left context id) that some word begins with. Slots are numbered
  by node, so those of one node are a range. Right slot 0 is the beginning of the text.
* Costs without metre are lower bounds of costs with metre, since metre only adds. Words whose best
  path without metre is dearer than a bound can be left out, and the result stays exact up to that bound.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.core.errors import LatticeError
from readaid.lexicon.budget import Budget
from readaid.lexicon.dictionary import Dictionary
from readaid.lexicon.words import Words

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

_ID = 1 << 16
#: Connection blocks are kept for a second use up to this many numbers in all (two bytes each).
_KEEP = 40_000_000


@dataclass(frozen=True)
class Slots:
    """Distinct (node, id) pairs: those of node v are ``starts[v]:starts[v + 1]``; ``of`` is the slot of each row."""

    ids: Ints
    starts: Ints
    of: Ints


class Space:
    """Words in slots. ``size`` nodes, the last one the end of the text."""

    def __init__(self, words: Words, size: int, dictionary: Dictionary) -> None:
        self.words, self.size, self.dictionary = words, size, dictionary
        self.rows = np.searchsorted(words.start, np.arange(size + 1))
        self.left = _slots(words.start, words.left, size)
        right = _slots(np.r_[0, words.end], np.r_[0, words.right], size)
        # Row 0 is the beginning of the text, put in for its context and for no word.
        self.right = Slots(right.ids, right.starts, right.of[1:])
        self._blocks: dict[int, NDArray[np.int16]] = {}
        self._kept = 0

    def block(self, node: int) -> NDArray[np.int16]:
        """Connection costs at a node, shape (right slots, left slots)."""
        found = self._blocks.get(node)
        if found is None:
            found = self.dictionary.block(self.right.ids[self.rights(node)], self.left.ids[self.lefts(node)])
            self._kept += found.size
            # Thirty-one unread signs have fifty million connections: beyond the limit blocks are made again each
            # time.
            if self._kept <= _KEEP:
                self._blocks[node] = found
        return found

    def rights(self, node: int) -> slice:
        """Right slots of a node."""
        return slice(int(self.right.starts[node]), int(self.right.starts[node + 1]))

    def lefts(self, node: int) -> slice:
        """Left slots of a node."""
        return slice(int(self.left.starts[node]), int(self.left.starts[node + 1]))

    def words_from(self, node: int) -> slice:
        """Rows of the words that begin at a node."""
        return slice(int(self.rows[node]), int(self.rows[node + 1]))

    @property
    def cells(self) -> int:
        """Number of connection costs over all nodes."""
        return int(np.diff(self.right.starts) @ np.diff(self.left.starts))

    def closing(self) -> Floats:
        """Cost of ending the text after each right slot of the last node."""
        ids = self.right.ids[self.rights(self.size - 1)]
        return self.dictionary.block(ids, np.zeros(1, dtype=np.int64))[:, 0].astype(float)


def _slots(node: Ints, ids: Ints, size: int) -> Slots:
    keys, of = np.unique(node * _ID + ids, return_inverse=True)
    return Slots(keys % _ID, np.searchsorted(keys // _ID, np.arange(size + 1)), of.ravel().astype(np.int64))


@dataclass(frozen=True)
class Bounds:
    """Best cost through each word without metre, and of the whole; ``late`` when time ran out."""

    through: Floats
    best: float
    late: bool = False


def bounds(space: Space, deadline: float | None = None) -> Bounds:
    """Lower bounds by one pass forward and one backward.

    Raises LatticeError if no path leads through; where time runs out the bounds known so far are 0.
    """
    words, size = space.words, space.size
    ahead = np.full(len(space.right.ids), np.inf)
    ahead[0] = 0.0
    arrive = np.full(len(space.left.ids), np.inf)
    for node in range(size - 1):
        r, f, w = space.rights(node), space.lefts(node), space.words_from(node)
        if r.start == r.stop or f.start == f.stop:
            continue
        arrive[f] = (ahead[r, None] + space.block(node)).min(axis=0)
        np.minimum.at(ahead, space.right.of[w], arrive[space.left.of[w]] + words.cost[w])
        # Asked now and then: the clock at each of a thousand nodes would cost more than it saves.
        if deadline is not None and node % 16 == 0 and time.monotonic() > deadline:
            return Bounds(np.zeros(len(words)), 0.0, True)
    back = np.full(len(space.right.ids), np.inf)
    last = space.rights(size - 1)
    back[last] = space.closing()
    total = float(np.min(ahead[last] + back[last], initial=np.inf))
    if not np.isfinite(total):
        raise LatticeError("No chain of words leads from the first sign to the last",
                           cure="take back a fixed word end, or give another candidate")
    leave = np.full(len(space.left.ids), np.inf)
    for node in range(size - 2, -1, -1):
        r, f, w = space.rights(node), space.lefts(node), space.words_from(node)
        if f.start == f.stop:
            continue
        np.minimum.at(leave, space.left.of[w], words.cost[w] + back[space.right.of[w]])
        if r.start < r.stop:
            back[r] = (space.block(node) + leave[None, f]).min(axis=1)
    return Bounds(arrive[space.left.of] + words.cost + back[space.right.of], total)


def within(space: Space, limits: Bounds, budget: Budget) -> tuple[Space, Bounds]:
    """The space and its bounds with as many words as the budget keeps, those on the best paths without metre.

    The words of the best path through a word lie on paths no worse, so the bounds of the words that stay hold as they
    are. Halved until the connections fit too: thirty-one unread signs have 50 million.
    """
    most = budget.kept
    while most and (len(space.words) > budget.kept or space.cells > budget.cells):
        most = min(most, len(space.words))
        # By cost and not by number: all words of one cost stay or go together, whatever order they came in.
        edge = float(np.partition(limits.through, most - 1)[most - 1])
        rows = np.flatnonzero(limits.through <= edge + 1e-6)
        space = Space(space.words.take(rows, cut=True), space.size, space.dictionary)
        limits = Bounds(limits.through[rows], limits.best)
        most //= 2
    return space, limits
