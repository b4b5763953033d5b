"""The lattice as a graph of single characters, which is what the dictionary is walked along.

Conventions
-----------
* Graph nodes are numbered so that every edge runs from a lower to a higher
  number; ``main[i]`` is the graph node of lattice node i. Between them lie the
  inner nodes of arcs whose text has several characters (也 read なり): a word may end there.
* An edge carries one character of text. The whole cost of an arc lies on its
  first edge; ``kana`` of an edge is its share of the carver's spelling
  (character by character where the lengths agree, else all on the first edge).
* ``inside`` edges never begin a word (は read わ holds inside a word only), ``start`` edges always do; after
  a ``closes`` edge its word ends; an edge that is ``not_alone`` is no word by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from readaid.core.character import UNREAD
from readaid.core.errors import LatticeError
from readaid.core.lattice import Arc, Constraint, Fixed, Gap, Lattice, Name, Reason, WordEnd
from readaid.lexicon.budget import STANDARD, Budget, cheapest_way, cheapest_ways, nearest
from readaid.lexicon.costs import Costs

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Edge:
    """One character on the way: from, to, what the dictionary is asked, the carver's kana, and the arc it is of."""

    source: int
    target: int
    text: str
    kana: str
    cost: float
    arc: int
    first: bool
    inside: bool = False
    start: bool = False
    closes: bool = False
    not_alone: bool = False


@dataclass(frozen=True)
class Graph:
    """Edges in order of their source; ``arcs`` are those of the lattice followed by the fillers of its gaps."""

    size: int  # number of nodes
    main: tuple[int, ...]
    edges: tuple[Edge, ...]
    arcs: tuple[Arc, ...]
    word_ends: frozenset[int]  # nodes where a word must end
    names: tuple[tuple[int, int, str], ...]
    source: Ints
    target: Ints
    cost: Floats
    starts: Ints  # edges of node v are starts[v]:starts[v + 1]
    solid: NDArray[np.bool_]  # nodes within an arc where no word begins or ends (けふ read きょう is one piece)
    cut: bool = False  # arcs were left out for their number

    @property
    def last(self) -> int:
        """The last node."""
        return self.size - 1

    @cached_property
    def _ways(self) -> tuple[Floats, Floats]:
        """Cost of the cheapest way from the first node to each, and from each to the last, words left aside."""
        return cheapest_ways(self.size, list(zip(self.source.tolist(), self.target.tolist(), self.cost.tolist(),
                                             strict=True)))

    def detour(self, start: Ints, cost: Floats, end: Ints) -> Floats:
        """What the cheapest way through a stretch of that cost costs more than the cheapest of all."""
        ahead, back = self._ways
        out: Floats = ahead[start] + cost + back[end] - back[0]
        return out


def build(lattice: Lattice, costs: Costs, budget: Budget = STANDARD) -> Graph:
    """Make the graph; raises LatticeError where no path leads from the first node to the last, or it holds too much.

    Of more arcs of several characters than the budget has inner nodes for, those on the cheapest ways stay.
    """
    arcs = [a for a in lattice.arcs if a.text]
    arcs = held(lattice, arcs)
    n = lattice.last
    _check(lattice)
    evidence = 1.0 if costs.plain else costs.weight("evidence")
    arcs, cut = _few(arcs, lattice, costs, evidence, budget.inner)
    gap_steps = [(g, _fillers(g, costs)) for g in lattice.gaps]
    fits(arcs, gap_steps, budget.edges)
    inner: list[list[tuple[int, int]]] = [[] for _ in range(n + 1)]  # inner nodes after main node i: (arc, place)
    for number, arc in enumerate(arcs):
        for place in range(1, len(arc.text)):
            inner[arc.start].append((number, place))
    for number, (gap, _) in enumerate(gap_steps):
        for place in range(1, gap.most):
            inner[gap.start].append((-1 - number, place))
    index: dict[tuple[int, int], int] = {}
    main: list[int] = []
    size = 0
    for i in range(n + 1):
        main.append(size)
        size += 1
        for key in inner[i]:
            index[key] = size
            size += 1
    edges: list[Edge] = []
    solid = np.zeros(size, dtype=bool)
    for number, arc in enumerate(arcs):
        for place in range(1, len(arc.text)):
            # Nor between a kanji and the mark that repeats it: the dictionary has 人々 as one word.
            solid[index[number, place]] = (bool(arc.kana) and len(arc.kana) != len(arc.text)) or "々" in arc.text
        shares = _shares(arc)
        here = main[arc.start]
        price = _price(arc, evidence)
        for place, char in enumerate(arc.text):
            there = main[arc.end] if place == len(arc.text) - 1 else index[number, place + 1]
            first, final = place == 0, place == len(arc.text) - 1
            edges.append(Edge(here, there, char, shares[place], price if first else 0.0, number, first,
                              first and arc.place == "inside", first and arc.place in ("start", "alone"),
                              final and arc.place in ("end", "alone"), arc.place == "not alone"))
            here = there
    all_arcs = list(arcs)
    for number, (gap, fillers) in enumerate(gap_steps):
        span = costs.gap_length(gap)
        for place in range(gap.most):
            here = main[gap.start] if place == 0 else index[-1 - number, place]
            targets = []
            if place + 1 >= gap.least:
                targets.append((main[gap.end], span))
            if place + 1 < gap.most:
                targets.append((index[-1 - number, place + 1], 0.0))
            for there, extra in targets:
                for text, price in fillers:
                    reason = Reason("restored", UNREAD, text, gap.start, price, "supplied, not seen")
                    all_arcs.append(Arc(gap.start, gap.end, text, price + extra, "", text, (reason,), "filler"))
                    edges.append(Edge(here, there, text, text, price + extra, len(all_arcs) - 1, True))
    # What was fixed may have cut off whole parts: words along them would be found and never used.
    edges = _connected(edges, size)
    if not edges:
        raise LatticeError("No reading leads from the first sign to the last", _where(lattice, edges, main),
                           "give at least one candidate for each sign, or ? for an unread one")
    edges.sort(key=lambda e: e.source)
    source = np.array([e.source for e in edges], dtype=np.int64)
    ends = frozenset(main[n] for c in lattice.constraints for n in _ends(c) if 0 < n < lattice.last)
    names = tuple((main[c.start], main[c.end], c.of) for c in lattice.constraints if isinstance(c, Name))
    return Graph(size, tuple(main), tuple(edges), tuple(all_arcs), ends, names, source,
                 np.array([e.target for e in edges], dtype=np.int64),
                 np.array([e.cost for e in edges], dtype=np.float64),
                 np.searchsorted(source, np.arange(size + 1)), solid, cut)


def _price(arc: Arc, evidence: float) -> float:
    """How sure the reader was of a sign counts more than the dictionary's costs, which claim too much (weights.tsv)."""
    return arc.cost + (evidence - 1.0) * max(0.0, arc.cost - sum(r.cost for r in arc.reasons))


def fits(arcs: Sequence[Arc], gaps: Sequence[tuple[Gap, Sequence[object]]], most: int) -> None:
    """Refuse, in words, more ways to read and to supply than can be searched."""
    read = sum(len(a.text) for a in arcs)
    supplied = sum((2 * g.most - g.least) * len(fillers) for g, fillers in gaps)
    if read + supplied > most:
        raise LatticeError(
            f"{read:,} ways to read the signs and {supplied:,} to supply unread ones are more than can be searched",
            f"{most:,} together at most", "give fewer candidates, narrower numbers of lost signs or a part of the text",
            read=read, supplied=supplied, most=most)


def _few(arcs: list[Arc], lattice: Lattice, costs: Costs, evidence: float, most: int) -> tuple[list[Arc], bool]:
    """Arcs with at most ``most`` inner nodes, those on the cheapest ways and all of one character staying."""
    weight = np.array([len(a.text) - 1 for a in arcs], dtype=np.int64)
    if int(weight.sum()) <= most:
        return arcs, False
    steps = [(a.start, a.end, _price(a, evidence)) for a in arcs]
    gaps = [(g.start, g.end, costs.gap_length(g) + g.least * min(p for _, p in _fillers(g, costs)))
            for g in lattice.gaps]
    ahead, back = cheapest_ways(lattice.last + 1, steps + gaps)
    start, end, price = (np.array(x) for x in zip(*steps, strict=True))
    with np.errstate(invalid="ignore"):  # no way through at all is told where the edges are joined
        few = nearest(ahead[start] + price + back[end] - back[0], start, weight, most)
    kept = set(few.tolist() if few is not None else ()) | set(cheapest_way(lattice.last, steps + gaps, ahead))
    return [a for number, a in enumerate(arcs) if number in kept or len(a.text) == 1], True


def _check(lattice: Lattice) -> None:
    for c in lattice.constraints:
        start, end = (c.node, c.node) if isinstance(c, WordEnd) else (c.start, c.end)
        if not 0 <= start <= end <= lattice.last or (start == end and not isinstance(c, WordEnd)):
            raise LatticeError(f"What was fixed from sign {start + 1} to {end} lies outside the {lattice.last} signs",
                               cure="fix a part of what is there")


def _ends(constraint: Constraint) -> tuple[int, ...]:
    """Lattice nodes where a constraint puts a word end."""
    if isinstance(constraint, WordEnd):
        return (constraint.node,)
    return (constraint.start, constraint.end) if isinstance(constraint, Name) else ()


def _shares(arc: Arc) -> list[str]:
    if len(arc.kana) == len(arc.text):
        return list(arc.kana)
    return [arc.kana] + [""] * (len(arc.text) - 1)


def _fillers(gap: Gap, costs: Costs) -> list[tuple[str, float]]:
    return costs.fillers(gap.among)


def held(lattice: Lattice, arcs: list[Arc] | None = None) -> list[Arc]:
    """Arcs that agree with what the reader fixed (of the lattice, if none are given)."""
    arcs = list(lattice.arcs) if arcs is None else arcs
    for fixed in (c for c in lattice.constraints if isinstance(c, Fixed)):
        def agrees(arc: Arc, fixed: Fixed = fixed) -> bool:
            if arc.end <= fixed.start or arc.start >= fixed.end:
                return True
            # An arc that reaches beyond what was fixed says something of it that the reader did not.
            if arc.start < fixed.start or arc.end > fixed.end:
                return False
            whole = arc.start == fixed.start and arc.end == fixed.end
            said = fixed.text
            return (said in (arc.text, arc.kana, arc.written)) if whole else any(
                part and part in said for part in (arc.text, arc.kana, arc.written))
        kept = [a for a in arcs if agrees(a)]
        # The reader may fix what no candidate says: their word is enough.
        if not any(a.start >= fixed.start and a.end <= fixed.end for a in kept):
            kept.append(Arc(fixed.start, fixed.end, fixed.text, 0.0, fixed.text, fixed.text,
                            (Reason("fixed", "", fixed.text, fixed.start, 0.0, "fixed by the reader"),)))
        arcs = kept
    return arcs


def _connected(edges: list[Edge], size: int) -> list[Edge]:
    """Edges that lie on a path from the first node to the last."""
    ahead = bytearray(size)
    ahead[0] = 1
    for e in sorted(edges, key=lambda e: e.source):
        ahead[e.target] |= ahead[e.source]
    back = bytearray(size)
    back[size - 1] = 1
    for e in sorted(edges, key=lambda e: -e.target):
        back[e.source] |= back[e.target]
    return [e for e in edges if ahead[e.source] and back[e.target]]


def _where(lattice: Lattice, edges: list[Edge], main: list[int]) -> str:
    covered = [False] * lattice.last
    for start, end in [(x.start, x.end) for x in lattice.arcs] + [(x.start, x.end) for x in lattice.gaps]:
        covered[start:end] = [True] * (end - start)
    empty = [i + 1 for i, c in enumerate(covered) if not c]
    return f"sign {', '.join(map(str, empty[:8]))}" if empty else "constraints"
