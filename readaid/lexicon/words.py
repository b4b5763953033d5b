"""Words along the graph: the dictionary's trie walked with all edges at once.

Conventions
-----------
* ``Words`` is a table of parallel arrays, one row per token per path, sorted
  by ``start``. ``cost`` is the token's cost and the cost of the path's edges together.
* ``path`` points into ``Walk``: following ``parent`` gives the edges of the word from last to first.
* Unknown words. The dictionary's tagger offers them by the characters that follow. On a
  lattice the rule is: a first edge offers unknown words if its class always does (``invoke``), or if
  no dictionary word starts with that character there; lengths as the class says; a run of one class is one word
  if it may end there, that is if the text ends or some following edge is of another class.
  For a single string this is the tagger's own rule.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon import classes
from readaid.lexicon.dictionary import Dictionary
from readaid.lexicon.graph import Graph

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Longest run of one class taken as one unknown word (the tagger's own default).
MAX_GROUP = 24
#: Prefixes of unknown words followed in one lattice; a run of many katakana candidates would never end otherwise.
MAX_UNKNOWN = 20_000


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


@dataclass(frozen=True)
class Words:
    """One row per token per path; ``token`` is negative (-1 - unknown token) for unknown words."""

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

    def take(self, rows: Ints | NDArray[np.bool_]) -> Words:
        """Some of the rows, order kept."""
        return Words(self.start[rows], self.end[rows], self.left[rows], self.right[rows], self.cost[rows],
                     self.token[rows], self.path[rows], self.walk, self.cut)




def find(graph: Graph, dictionary: Dictionary, deadline: float | None = None, frontier: int = 3_000_000) -> Words:
    """All words along the graph.

    ``frontier`` bounds the prefixes followed at once and ``deadline`` (``time.monotonic``) the time; a search
    stopped by either has ``cut`` set. Single characters are always looked up, so a path remains.
    """
    trie = dictionary.words
    data = [e.text.encode() for e in graph.edges]
    lead = np.array([int.from_bytes(b[:-1], "big") for b in data], dtype=np.int64)
    last = np.array([b[-1] for b in data], dtype=np.int64)
    inside = np.array([e.inside for e in graph.edges], dtype=bool)
    first_only = np.array([e.start for e in graph.edges], dtype=bool)
    closes = np.array([e.closes for e in graph.edges], dtype=bool)
    not_alone = np.array([e.not_alone for e in graph.edges], dtype=bool)
    leads = np.unique(lead)
    lead_of = np.searchsorted(leads, lead)
    order = np.lexsort((lead_of, graph.source))  # edges of a node grouped by their leading bytes
    group_key = graph.source[order] * len(leads) + lead_of[order]
    first = np.flatnonzero(np.r_[True, group_key[1:] != group_key[:-1]])
    group_node, group_lead = graph.source[order][first], lead_of[order][first]
    group_starts = np.r_[first, len(order)]
    node_groups = np.searchsorted(group_node, np.arange(graph.size + 1))
    parents, edges_of, found = [], [], []
    done, cut = 0, False
    at = np.flatnonzero(~graph.solid[:-1])
    state = np.full(len(at), trie.root, dtype=np.int64)
    begin, cost, before = at, np.zeros(len(at)), np.full(len(at), -1, dtype=np.int64)
    level = 0
    while len(at):
        level += 1
        if level > 1 and (deadline is not None and time.monotonic() > deadline):
            cut = True
            break
        row, group = _expand(node_groups, at)
        middle = state[row]
        step = group_lead[group]
        for k in range(len(leads)):
            chosen = np.flatnonzero(step == k)
            for byte in int(leads[k]).to_bytes(3, "big").lstrip(b"\0"):
                middle[chosen] = trie.step(middle[chosen], byte)
        keep = np.flatnonzero(middle >= 0)
        row, group, middle = row[keep], group[keep], middle[keep]
        if np.sum(group_starts[group + 1] - group_starts[group]) > frontier:
            cut = True
            if level > 1:
                break
        sub, place = _expand(group_starts, group)
        edge = order[place]
        after = trie.step(middle[sub], last[edge])
        keep = after >= 0
        keep &= ~(inside if level == 1 else first_only)[edge]
        sub, edge, after = sub[keep], edge[keep], after[keep]
        row = row[sub]
        at, begin, before = graph.target[edge], begin[row], before[row]
        cost, state = cost[row] + graph.cost[edge], after
        parents.append(before)
        edges_of.append(edge)
        before = np.arange(done, done + len(edge), dtype=np.int64)
        done += len(edge)
        leaf = trie.leaves(state)
        ends = (leaf >= 0) & ~graph.solid[at]
        hit = np.flatnonzero(ends & ~not_alone[edge] if level == 1 else ends)
        found.append((begin[hit], at[hit], cost[hit], leaf[hit], before[hit], edge[hit] if level == 1 else None))
        more = np.flatnonzero((at < graph.size - 1) & ~closes[edge])
        if graph.word_ends:
            more = more[~np.isin(at[more], list(graph.word_ends))]
        at, begin, cost, state, before = at[more], begin[more], cost[more], state[more], before[more]
    return _table(graph, dictionary, found, parents, edges_of, cut)


def _expand(starts: Ints, keys: Ints) -> tuple[Ints, Ints]:
    """For rows with ``keys``, all items starts[key]:starts[key + 1]; returns (row of each, item of each)."""
    counts = starts[keys + 1] - starts[keys]
    total = int(counts.sum())
    row = np.repeat(np.arange(len(keys), dtype=np.int64), counts)
    before = np.cumsum(counts) - counts
    item = np.arange(total, dtype=np.int64) - np.repeat(before - starts[keys], counts)
    return row, item


def _table(graph: Graph, dictionary: Dictionary, found: list[tuple[Ints, Ints, Floats, Ints, Ints, Ints | None]],
           parents: list[Ints], edges_of: list[Ints], cut: bool) -> Words:
    def column(i: int, kind: type) -> NDArray[np.generic]:
        return np.concatenate([f[i] for f in found]) if found else np.zeros(0, dtype=kind)
    begin, end, cost, leaf, path = (column(i, float if i == 2 else np.int64) for i in range(5))
    row, token = _expand_tokens(leaf)
    parent = np.concatenate(parents) if parents else np.zeros(0, dtype=np.int64)
    edge = np.concatenate(edges_of) if edges_of else np.zeros(0, dtype=np.int64)
    first = path.copy()
    while True:  # up to the first edge of each word found
        up = parent[first]
        if np.all(up < 0):
            break
        first = np.where(up >= 0, up, first)
    known = {(graph.edges[e].source, graph.edges[e].text) for e in np.unique(edge[first]).tolist()}
    extra = _unknown(graph, dictionary, known, len(parent))
    tokens = dictionary.words.tokens
    t = tokens[token]
    unknown = dictionary.unknown.tokens[extra.token]
    start = np.concatenate([begin[row], extra.start])
    order = np.argsort(start, kind="stable")
    return Words(
        start[order], np.concatenate([end[row], extra.end])[order],
        np.concatenate([t["left"], unknown["left"]]).astype(np.int64)[order],
        np.concatenate([t["right"], unknown["right"]]).astype(np.int64)[order],
        (np.concatenate([cost[row], extra.cost]) + np.concatenate([t["cost"], unknown["cost"]]))[order],
        np.concatenate([token, -1 - extra.token])[order],
        np.concatenate([path[row], extra.path])[order],
        Walk(np.concatenate([parent, extra.parent]), np.concatenate([edge, extra.edge])), cut)


def _expand_tokens(leaf: Ints) -> tuple[Ints, Ints]:
    counts, base = leaf & 255, leaf >> 8
    row = np.repeat(np.arange(len(leaf), dtype=np.int64), counts)
    before = np.cumsum(counts) - counts
    return row, np.arange(int(counts.sum()), dtype=np.int64) + np.repeat(base - before, counts)


@dataclass(frozen=True)
class _Unknown:
    start: Ints
    end: Ints
    cost: Floats
    token: Ints
    path: Ints
    parent: Ints
    edge: Ints


def _unknown(graph: Graph, dictionary: Dictionary, known: set[tuple[int, str]], offset: int) -> _Unknown:
    """Unknown words by the rule at the head of this module."""
    table = classes.opened(dictionary)
    rows: list[tuple[int, int, float, int, int]] = []
    parent: list[int] = []
    edge: list[int] = []
    edges, starts = graph.edges, graph.starts

    def following(node: int) -> range:
        return range(starts[node], starts[node + 1])

    for number, e in enumerate(edges):
        info = table.of(e.text)
        if e.inside or e.not_alone or graph.solid[e.source] or ((e.source, e.text) in known and not info.invoke):
            continue
        stack = [(number, -1, e.cost, 1, info)]
        while stack:
            i, up, cost, length, kind = stack.pop()
            parent.append(up)
            edge.append(i)
            path = offset + len(parent) - 1
            node = edges[i].target
            follows = [(j, table.of(edges[j].text)) for j in following(node)] if node not in graph.word_ends else []
            grouped = info.group and length <= MAX_GROUP + 1 and (
                not follows or any(not kind.kinds & f.kinds for _, f in follows))
            if not graph.solid[node] and (length <= info.length or grouped or length == 1 and not info.group):
                rows += [(e.source, node, cost, token, path) for token in table.tokens(info.default)]
            limit = MAX_GROUP + 1 if info.group else info.length
            if length < limit and len(parent) < MAX_UNKNOWN:
                stack += [(j, path, cost + edges[j].cost, length + 1, f) for j, f in follows if kind.kinds & f.kinds]
    columns = list(zip(*rows, strict=True)) if rows else [()] * 5
    return _Unknown(*(np.array(c, dtype=float if i == 2 else np.int64) for i, c in enumerate(columns)),
                    np.array(parent, dtype=np.int64), np.array(edge, dtype=np.int64))
