"""Words the dictionary does not know, along the graph.

Conventions. The dictionary's tagger offers unknown words by the characters that follow. On a lattice the
rule is: a first edge offers them if its class always does (``invoke``), or if no dictionary word starts with that
character there; lengths as the class says. A longer run of one class is one word only along signs that have one
value each, and where it may end: the text ends or some following edge is of another class. For a single string
this is the tagger's own rule; on a lattice a run of open signs is not taken for one unknown word of any length.
"""

from __future__ import annotations

import heapq
import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon import character_classes
from readaid.lexicon.dictionary import Dictionary
from readaid.lexicon.graph import Graph
from readaid.lexicon.walk import Walk

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Longest run of one class taken as one unknown word (the tagger's own default).
MAX_GROUP = 24
#: Prefixes of unknown words followed in one lattice; a run of many katakana candidates would never end otherwise.
MAX_UNKNOWN = 20_000
#: Spellings of a name tried, where the reader says that a name stands there.
MAX_NAMES = 200


@dataclass(frozen=True)
class Unknown:
    """Rows of unknown words; ``token`` counts the entries of ``unk.dic``."""

    start: Ints
    end: Ints
    cost: Floats
    token: Ints
    path: Ints
    walk: Walk


class _Rows:
    def __init__(self) -> None:
        self.rows: list[tuple[int, int, float, int, int]] = []
        self.parent: list[int] = []
        self.edge: list[int] = []

    def step(self, parent: int, edge: int) -> int:
        self.parent.append(parent)
        self.edge.append(edge)
        return len(self.parent) - 1

    def table(self) -> Unknown:
        start, end, cost, token, path = zip(*self.rows, strict=True) if self.rows else ((), (), (), (), ())
        return Unknown(np.array(start, dtype=np.int64), np.array(end, dtype=np.int64), np.array(cost, dtype=np.float64),
                       np.array(token, dtype=np.int64), np.array(path, dtype=np.int64),
                       Walk(np.array(self.parent, dtype=np.int64), np.array(self.edge, dtype=np.int64)))


def find(graph: Graph, dictionary: Dictionary, known: set[tuple[int, str]]) -> Unknown:
    """Unknown words by the rule at the head of this module; ``known`` are (node, character) that begin a word."""
    table = character_classes.opened(dictionary)
    out = _Rows()
    edges, starts = graph.edges, graph.starts
    known_follows: dict[int, list[tuple[int, character_classes.CharacterClass]]] = {}

    def following(node: int) -> list[tuple[int, character_classes.CharacterClass]]:
        if node not in known_follows:
            on = range(starts[node], starts[node + 1]) if node not in graph.word_ends else range(0)
            known_follows[node] = [(j, table.of(edges[j].text)) for j in on]
        return known_follows[node]

    for number, e in enumerate(edges):
        info = table.of(e.text)
        # は read わ begins no word, and けふ read きょう is entered as a whole: within either no unknown word begins.
        if e.inside or e.not_alone or graph.solid[e.source] or ((e.source, e.text) in known and not info.invoke):
            continue
        stack = [(number, -1, 0.0, 1, info, starts[e.source + 1] - starts[e.source] == 1)]
        while stack:
            i, up, cost, length, kind, sure = stack.pop()
            path = out.step(up, i)
            cost += edges[i].cost
            node = edges[i].target
            follows = following(node)
            # Only along signs of one value each: else every stretch of open signs were an unknown word of any length.
            grouped = info.group and (length == 1 or sure) and length <= MAX_GROUP + 1 and (
                not follows or any(not kind.kinds & f.kinds for _, f in follows))
            if not graph.solid[node] and (length <= info.length or grouped or (length == 1 and not info.group)):
                out.rows += [(e.source, node, cost, token, path) for token in table.tokens(info.default)]
            sure = sure and len(follows) == 1
            limit = MAX_GROUP + 1 if info.group and sure else info.length
            if length < limit and len(out.parent) < MAX_UNKNOWN:
                stack += [(j, path, cost, length + 1, f, sure) for j, f in follows if kind.kinds & f.kinds]
    for start, end, of in graph.names:
        _name(graph, dictionary, out, start, end, of)
    return out.table()


def _name(graph: Graph, dictionary: Dictionary, out: _Rows, start: int, end: int, of: str) -> None:
    """A name the reader says stands here: each spelling may be a name that the dictionary does not know."""
    table = character_classes.opened(dictionary)
    what = {"place": "地名", "person": "人名"}.get(of, "")
    heap = [(0.0, 0, start, -1, "")]  # cheapest spellings first
    tried, order = 0, itertools.count(1)
    while heap and tried < MAX_NAMES:
        cost, _, node, up, text = heapq.heappop(heap)
        if node == end and not graph.solid[node]:
            # The class of the first sign decides, as for the tagger: a name of kanji and kana counts as one of kanji.
            default = table.of(text[0]).default
            tokens = [t for t in table.tokens(default) if is_name(dictionary.unknown.feature(t), what)]
            out.rows += [(start, end, cost, t, up) for t in tokens or table.tokens(default)]
            tried += 1
            continue
        for j in range(graph.starts[node], graph.starts[node + 1]):
            e = graph.edges[j]
            if e.target <= end:
                heapq.heappush(heap, (cost + e.cost, next(order), e.target, out.step(up, j), text + e.text))


def is_name(fields: tuple[str, ...], what: str = "") -> bool:
    """Is it a proper noun (of a kind: 地名 place, 人名 person)?"""
    return len(fields) > 2 and fields[1] == "固有名詞" and (not what or fields[2] == what)
