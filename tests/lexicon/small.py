"""Small lattices for the tests of the search, and every path of them, worked out by plain recursion."""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np

from readaid.core.lattice import Arc, Lattice, candidate_cost
from readaid.lexicon import costs
from readaid.lexicon.kbest import Search

KANA = "あいうえおかきくけこさしすせそたちつてとなにのはまみもやよらりるれわをん"


def typed(text: str) -> Lattice:
    """One candidate for each character, nothing else."""
    return Lattice(("",) * len(text), tuple(Arc(i, i + 1, c, 0.0, c, c) for i, c in enumerate(text)))


def drawn(length: int, many: int, seed: int, letters: str = KANA) -> Lattice:
    """``many`` candidates in each of ``length`` positions, with confidences drawn at random; no rules."""
    draw = random.Random(seed)
    arcs = []
    for i in range(length):
        for char in draw.sample(letters, many):
            arcs.append(Arc(i, i + 1, char, candidate_cost(draw.random()), char, char))
    return Lattice(("",) * length, tuple(arcs))


def strings(lattice: Lattice) -> Iterator[tuple[str, float]]:
    """Every string of a lattice of single characters, with the cost of its candidates."""
    by_start = [[a for a in lattice.arcs if a.start == i] for i in range(lattice.last)]

    def go(i: int, text: str, cost: float) -> Iterator[tuple[str, float]]:
        if i == len(by_start):
            yield text, cost
            return
        for arc in by_start[i]:
            yield from go(i + 1, text + arc.text, cost + arc.cost)
    yield from go(0, "", 0.0)


def bare(lattice: Lattice) -> Search:
    """A search with our own lexicon and weights off."""
    return Search(lattice, costs.bare())


def paths(search: Search, form: str) -> Iterator[tuple[str, float, tuple[int, ...]]]:
    """Every path of words and metre states: its kana, its cost, its rows."""
    from readaid.script import verse_forms

    words = search.words
    metre = search.metre(verse_forms.form(form))
    readings = search.readings(metre.characters)
    last = search.graph.last

    def go(node: int, right: int, state: int, kana: str, cost: float, rows: tuple[int, ...],
           ) -> Iterator[tuple[str, float, tuple[int, ...]]]:
        if node == last:
            yield kana, cost + search.dictionary.connection(right, 0) + float(metre.final[state]), rows
            return
        for row in np.flatnonzero(words.start == node):
            link = search.dictionary.connection(right, int(words.left[row]))
            targets, prices = metre.moves(readings.sounds[readings.sound[row]])
            for target, price in zip(targets[state], prices[state], strict=True):
                if np.isfinite(price):
                    yield from go(int(words.end[row]), int(words.right[row]), int(target),
                                  kana + str(readings.kana[row]), cost + link + float(words.cost[row]) + float(price),
                                  (*rows, int(row)))
    yield from go(0, 0, 0, "", 0.0, ())
