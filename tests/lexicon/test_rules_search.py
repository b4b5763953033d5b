"""Words along a lattice with rules, against a plain walk over every chain of arcs."""

import math

import pytest

from readaid.core.lattice import Arc, Lattice
from readaid.lexicon.builder import build
from readaid.lexicon.kbest import Search


def chains(lattice: Lattice, node: int = 0) -> list[list[Arc]]:
    """Every way through the arcs."""
    if node == lattice.last:
        return [[]]
    return [[arc, *rest] for arc in lattice.arcs if arc.start == node for rest in chains(lattice, arc.end)]


def cheapest(chain: list[Arc], search: Search) -> float:
    """Best cost of one chain: words looked up one by one, their place rules checked as the house states them."""
    text = "".join(a.text for a in chain)
    owner = [(arc, i) for arc in chain for i in range(len(arc.text))]
    closed = {n for n, (arc, i) in enumerate(owner) if i and arc.kana and len(arc.kana) != len(arc.text)}
    book, weights = search.dictionary, search.bounds
    assert weights is not None
    best: dict[tuple[int, int], float] = {(0, 0): sum(a.cost for a in chain)}
    for at in range(len(text)):
        here = [(right, cost) for (node, right), cost in best.items() if node == at]
        if not here or at in closed:
            continue
        for surface, tokens in book.words.prefixes(text[at:]):
            end = at + len(surface)
            if end in closed or not all(allowed(owner, n, at, end) for n in range(at, end)):
                continue
            for token in tokens:
                row = book.words.tokens[token]
                left, right, price = int(row["left"]), int(row["right"]), int(row["cost"])
                cost = min(c + book.connection(r, left) for r, c in here) + price
                if cost < best.get((end, right), math.inf):
                    best[end, right] = cost
    return min((c + book.connection(r, 0) for (n, r), c in best.items() if n == len(text)), default=math.inf)


def allowed(owner: list[tuple[Arc, int]], n: int, at: int, end: int) -> bool:
    arc, i = owner[n]
    last = i == len(arc.text) - 1
    if arc.place == "inside" and i == 0:
        return n > at
    if arc.place in ("start", "alone") and i == 0 and n != at:
        return False
    if arc.place in ("end", "alone") and last and n != end - 1:
        return False
    return not (arc.place == "not alone" and len(arc.text) == 1 and at == n and end == n + 1)


@pytest.mark.parametrize("text", ["けふは", "おもふ", "くわし", "こひぢ", "かゝる", "春哉", "者な", "𛀁に", "さま〱"])
def test_best_strings_equal_a_plain_walk_over_all_chains(text, monkeypatch):
    from readaid.lexicon import words
    monkeypatch.setattr(words.own_words, "shipped", words.own_words.none)
    monkeypatch.setattr(words, "_weights", lambda book: type("None_", (), {"of": staticmethod(lambda t, left: 0.0)}))
    lattice = build(text)
    search = Search(lattice)
    best: dict[str, float] = {}
    plain = [c for c in chains(lattice) if all(a.kana for a in c)]
    for chain in plain:
        kana = "".join(a.kana for a in chain)
        best[kana] = min(best.get(kana, math.inf), cheapest(chain, search))
    wanted = sorted(c for c in best.values())[:4]
    found = [f for f in search.best("prose", 400).strings if f.kana in best]
    assert [round(f.cost, 4) for f in found[:4]] == [round(c, 4) for c in wanted]
    assert all(best[f.kana] == pytest.approx(f.cost) for f in found[:4])
