"""The search against enumeration: fugashi over all strings, and every path by plain recursion."""

import math

import numpy as np
import pytest

from readaid.core.lattice import COST_FACTOR
from readaid.lexicon import costs, tagger
from readaid.lexicon.kbest import Search
from readaid.lexicon.posterior import Posterior
from readaid.script import verse_forms
from tests.lexicon.small import bare, drawn, paths, strings, typed


@pytest.mark.parametrize("seed", range(4))
def test_best_of_4_to_the_6_strings_equals_the_minimum_through_the_tagger(seed):
    """Source: fugashi over each of the 4,096 strings, our lexicon, rules and metre off. The ten best, all exact."""
    lattice = drawn(6, 4, seed)
    through = sorted((cost + tagger.best(text)[1], text) for text, cost in strings(lattice))
    found = bare(lattice).best("prose", 10).strings
    assert [round(f.cost, 6) for f in found] == [round(c, 6) for c, _ in through[:10]]
    assert found[0].kana == through[0][1]
    assert len({f.kana for f in found}) == 10


@pytest.mark.parametrize(("form", "seed"), [("prose", 3), ("hokku", 3), ("tanka", 3), ("linked", 1)])
def test_k_best_and_sums_equal_enumeration_of_every_path(form, seed):
    """Each path of words and metre states of a small lattice, written down by recursion."""
    search = bare(drawn(5 if form == "prose" else 4, 2, seed))
    best: dict[str, float] = {}
    mass: dict[str, float] = {}
    arcs = np.zeros(len(search.graph.arcs))
    for kana, cost, rows in paths(search, form):
        best[kana] = min(best.get(kana, math.inf), cost)
        weight = math.exp(-cost / COST_FACTOR)
        mass[kana] = mass.get(kana, 0.0) + weight
        for row in rows:
            for edge in search.words.walk.edges(int(search.words.path[row])):
                arcs[search.graph.edges[edge].arc] += weight
    total = sum(mass.values())
    ranked = sorted(best.items(), key=lambda item: item[1])
    found = search.best(form, 1000).strings
    assert len(found) == len(best)  # every string comes back, each once
    assert [round(f.cost, 5) for f in found] == [round(c, 5) for _, c in ranked]
    metre = search.metre(verse_forms.form(form))
    posterior = Posterior(search.space, search.readings(), metre)
    assert posterior.log_total == pytest.approx(math.log(total))
    assert posterior.arcs(search.graph) == pytest.approx(arcs / total)
    for kana, weight in mass.items():
        assert posterior.string(kana) == pytest.approx(weight / total)


def test_a_path_costs_what_its_words_cost():
    search = Search(drawn(12, 5, 11), costs.standard())
    machine = search.metre(verse_forms.form("hokku"))
    readings = search.readings()
    for found in search.best("hokku", 5).strings:
        total, right, state = 0.0, 0, 0
        for row, after in zip(found.rows, found.states, strict=True):
            target, price = machine.moves(readings.sounds[readings.sound[row]])
            total += search.dictionary.connection(right, int(search.words.left[row])) + search.words.cost[row]
            total += min(p for t, p in zip(target[state], price[state], strict=True) if t == after)
            right, state = int(search.words.right[row]), after
        total += search.dictionary.connection(right, 0) + machine.final[state]
        assert total == pytest.approx(found.cost)
        assert "".join(str(readings.kana[row]) for row in found.rows) == found.kana


def test_strings_followed_have_their_cheapest_paths():
    search = Search(drawn(10, 4, 31), costs.standard())
    best = search.best("hokku", 40)
    again = search.follow(best.form, [f.kana for f in best.strings])
    assert [f.kana for f in again] == [f.kana for f in best.strings]
    assert [f.cost for f in again] == pytest.approx([f.cost for f in best.strings])
    readings = search.readings()
    assert all("".join(str(readings.kana[row]) for row in f.rows) == f.kana for f in again)
    assert search.follow(best.form, ["ぴぴ", best.strings[0].kana[:-1]]) == []  # no path spells these


def test_narrow_margin_gives_the_same_answer(monkeypatch):
    """Exact pruning: with a margin of nothing to begin with the answers are those of no pruning at all."""
    from readaid.lexicon import search as module

    lattice = drawn(10, 5, 21)
    for form in ("prose", "hokku"):
        monkeypatch.setattr(module, "FIRST_MARGIN", 1e9)
        wide = [(f.kana, round(f.cost, 5)) for f in bare(lattice).best(form, 8).strings]
        monkeypatch.setattr(module, "FIRST_MARGIN", 1.0)
        narrow = [(f.kana, round(f.cost, 5)) for f in bare(lattice).best(form, 8).strings]
        assert sorted(wide, key=lambda w: (w[1], w[0])) == sorted(narrow, key=lambda w: (w[1], w[0]))


def test_sum_of_a_long_text_does_not_vanish():
    search = Search(drawn(200, 3, 5), costs.standard())
    posterior = Posterior(search.space, search.readings(), search.metre(verse_forms.form("prose")))
    shares = posterior.arcs(search.graph)
    first = sum(s for s, a in zip(shares, search.graph.arcs, strict=True) if a.start == 0)
    assert first == pytest.approx(1.0)


def test_word_with_no_entry_still_has_a_path():
    assert bare(typed("㐂𠮷")).best("prose", 1).strings[0].rows
