"""How much one search may hold, counted while it is built, so that no input takes all of a machine's time or memory.

Conventions
-----------
* Counts, never seconds: the same input gives the same answer on a slow machine. A time limit stands beside them.
* What is over a budget is thinned and the result is labelled as cut; only what cannot be thinned is refused, in words.
* What stays is what lies on the cheapest ways: the *detour* of a thing is what the cheapest way through it costs more
  than the cheapest of all. Where many detours are equal (candidates of one confidence), each group keeps an equal part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
#: Seconds that a search within the whole budget may take on a slow machine.
FULL = 5.0


@dataclass(frozen=True)
class Budget:
    """Most of everything that a search holds; the standard keeps 200 signs of 40 candidates within 5 s and 1 GB.

    ``lost`` signs that may be missing beyond one a place; ``spelled`` kana of all signs that spelling rules are tried
    on (two signs of 80 kana each hit a thousand rules); ``copies`` ways that all repetition marks together may copy;
    ``inner`` nodes within arcs of several characters (けふ read きょう has two); ``edges`` of the graph in all;
    ``ways`` edges tried in one step of a walk; ``moves`` from the states of a long text along what each sign may be
    (200 signs of 40 candidates have some 15,000 groups: with 300 states each they would be heard 4.5 million times);
    ``words`` weighed without metre; ``kept`` words searched with metre, and ``cells`` connections between them (right
    times left contexts, over all nodes).
    """

    lost: int = 200
    spelled: int = 3_000
    copies: int = 8_000
    inner: int = 5_000
    edges: int = 150_000
    ways: int = 400_000
    moves: int = 1_500_000
    words: int = 400_000
    kept: int = 60_000
    cells: int = 4_000_000

    def within(self, seconds: float | None) -> Budget:
        """The same, smaller where less than ``FULL`` seconds are given.

        >>> Budget().within(1.0).kept, Budget().within(None).kept
        (12000, 60000)
        """
        if seconds is None or seconds >= FULL:
            return self
        share = max(seconds / FULL, 0.02)
        return Budget(**{f.name: math.ceil(getattr(self, f.name) * (1.0 if f.name == "edges" else share))
                         for f in fields(self)})


STANDARD = Budget()


def nearest(detour: Floats, group: Ints, weight: Ints, most: int) -> Ints | None:
    """Rows of the least detours whose weights together are at most ``most``, in their order; None where all fit.

    Of equal detours those that rank first in their group come first.

    >>> one = np.ones(4, dtype=np.int64)
    >>> nearest(np.array([5.0, 0.0, 0.0, 0.0]), np.array([0, 0, 0, 1]), one, 2).tolist()
    [1, 3]
    >>> nearest(np.array([5.0, 0.0, 0.0, 0.0]), np.array([0, 0, 0, 1]), one, 4) is None
    True
    """
    if int(weight.sum()) <= most:
        return None
    near = np.round(detour, 3)  # sums in another order differ in the last digits
    order = np.lexsort((near, group))
    own = group[order]
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order)) - np.searchsorted(own, own)
    chosen = np.lexsort((rank, near))
    return np.sort(chosen[np.cumsum(weight[chosen]) <= most])


def cheapest_ways(size: int, steps: Sequence[tuple[int, int, float]]) -> tuple[Floats, Floats]:
    """Cost of the cheapest way from node 0 to each node, and from each to the last; steps are (start, end, cost).

    >>> [a.tolist() for a in cheapest_ways(3, [(0, 1, 2.0), (1, 2, 2.0), (0, 2, 5.0)])]
    [[0.0, 2.0, 4.0], [4.0, 2.0, 0.0]]
    """
    ahead, back = [np.inf] * size, [np.inf] * size
    ahead[0] = back[size - 1] = 0.0
    for start, end, cost in sorted(steps, key=lambda s: s[0]):
        ahead[end] = min(ahead[end], ahead[start] + cost)
    for start, end, cost in sorted(steps, key=lambda s: -s[1]):
        back[start] = min(back[start], cost + back[end])
    return np.array(ahead), np.array(back)


def cheapest_way(last: int, steps: Sequence[tuple[int, int, float]], ahead: Floats) -> list[int]:
    """Numbers of the steps of one cheapest way to the last node, given ``ahead`` of ``cheapest_ways``."""
    by_end: dict[int, list[int]] = {}
    for number, (_, end, _) in enumerate(steps):
        by_end.setdefault(end, []).append(number)
    out: list[int] = []
    node = last
    while node > 0 and np.isfinite(ahead[node]):
        out.append(min(by_end[node], key=lambda n: float(ahead[steps[n][0]]) + steps[n][2]))
        node = steps[out[-1]][0]
    return out
