"""Words along the graph: the dictionary's, our own, and unknown ones, in one table.

Conventions
-----------
* ``Words`` is a table of parallel arrays, one row per token per path, sorted
  by ``start``. ``cost`` is the token's cost with our weights and the cost of the path's edges together.
* ``token``: below ``own_words.FIRST`` the dictionary's, from there on our own, -1 - n for entry n of ``unk.dic``.
* ``path`` points into ``Walk``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon import own_words, unknown_words
from readaid.lexicon.budget import STANDARD, Budget
from readaid.lexicon.costs import Costs
from readaid.lexicon.dictionary import Dictionary
from readaid.lexicon.graph import Graph
from readaid.lexicon.own_words import FIRST, OwnWords
from readaid.lexicon.walk import Walk, expand_leaves, walk
from readaid.lexicon.weights import WordWeights, shipped

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Words:
    """One row per token per path."""

    start: Ints
    end: Ints
    left: Ints
    right: Ints
    cost: Floats
    token: Ints
    path: Ints
    walk: Walk
    cut: bool = False

    def __len__(self) -> int:
        return len(self.start)

    def take(self, rows: Ints, cut: bool = False) -> Words:
        """Some of the rows, order kept."""
        return Words(self.start[rows], self.end[rows], self.left[rows], self.right[rows], self.cost[rows],
                     self.token[rows], self.path[rows], self.walk, self.cut or cut)

    def cheapest(self, many: int) -> Words:
        """The cheapest words from each node: one for each end, and ``many`` in all; labelled as cut."""
        rank = np.lexsort((self.cost, self.start))
        start = self.start[rank]
        kept = rank[np.arange(len(rank)) - np.searchsorted(start, start) < many]
        # The cheapest word to each end stays too, so that a path remains.
        _, first = np.unique(self.start[rank] * (int(self.end.max()) + 1) + self.end[rank], return_index=True)
        return self.take(np.union1d(rank[first], kept), cut=True)


def find(graph: Graph, dictionary: Dictionary, costs: Costs, deadline: float | None = None,
         budget: Budget = STANDARD) -> Words:
    """All words along the graph, with the costs of our tables unless ``costs.plain``.

    A walk stopped by ``deadline`` or the ``budget``, or more words than that, leave the result labelled as cut.
    """
    # Thinned by the ways of the signs alone, before tokens are looked up: one hit has up to 255 of them.
    hits = walk(graph, dictionary.words, deadline, budget.ways).thinned(graph, budget.words)
    row, token = expand_leaves(hits.leaf)
    tokens = dictionary.words.tokens[token]
    left = tokens["left"].astype(np.int64)
    price = tokens["cost"].astype(np.float64)
    if not costs.plain:
        price += _weights(dictionary).of(token, left)
    parts = [(hits.start[row], hits.end[row], left, tokens["right"].astype(np.int64), hits.cost[row] + price, token,
              hits.path[row])]
    met, cut = hits.walk, hits.cut or graph.cut
    own = own_words.none() if costs.plain else own_words.shipped()
    if len(own):
        part, added, fewer = _own(graph, own, len(met.parent), deadline, budget)
        parts.append(part)
        cut |= fewer
        met = met.joined(added)
    # Where the dictionary has a word that begins so, an unknown one is offered only by classes that always do
    # (katakana).
    firsts = np.unique(met.firsts(np.concatenate([p[6] for p in parts]))).tolist()
    known = {(graph.edges[e].source, graph.edges[e].text) for e in firsts}
    extra = unknown_words.find(graph, dictionary, known)
    rows = dictionary.unknown.tokens[extra.token]
    parts.append((extra.start, extra.end, rows["left"].astype(np.int64), rows["right"].astype(np.int64),
                  extra.cost + rows["cost"] + costs.weight("word.unknown"), -1 - extra.token,
                  extra.path + len(met.parent)))
    met = met.joined(extra.walk)
    start, end, left, right, cost, token, path = (np.concatenate([p[i] for p in parts]) for i in range(7))
    cost = cost + _not_names(graph, dictionary, costs, start, end, left)
    # Stable: of two words of one cost the dictionary's stands before our own.
    order = np.argsort(start, kind="stable")
    return Words(start[order], end[order], left[order], right[order], cost[order], token[order], path[order], met, cut)


def _weights(dictionary: Dictionary) -> WordWeights:
    return shipped(dictionary)


def _own(graph: Graph, own: OwnWords, shift: int, deadline: float | None, budget: Budget,
         ) -> tuple[tuple[Ints, Ints, Ints, Ints, Floats, Ints, Ints], Walk, bool]:
    hits = walk(graph, own, deadline, budget.ways).thinned(graph, budget.words)
    row, number = expand_leaves(hits.leaf)
    return (hits.start[row], hits.end[row], own.left[number], own.right[number], hits.cost[row] + own.cost[number],
            number + FIRST, hits.path[row] + shift), hits.walk, hits.cut


def _not_names(graph: Graph, dictionary: Dictionary, costs: Costs, start: Ints, end: Ints, left: Ints) -> Floats:
    """What words cost more that stand where the reader says a name stands, and are none."""
    out = np.zeros(len(start))
    if not graph.names:
        return out
    fields = dict(dictionary.left_ids())
    for begin, stop, of in graph.names:
        # UniDic's own words for its two kinds of proper nouns.
        what = {"place": "地名", "person": "人名"}.get(of, "")
        within = np.flatnonzero((start < stop) & (end > begin))
        for row in within:
            if not unknown_words.is_name(fields[int(left[row])], what):
                out[row] += costs.weight("name.other word")
    return out
