"""What is counted while a lattice is built and searched: small budgets, so that the same is cut on any machine."""

import itertools

import pytest

from readaid.core.errors import LatticeError
from readaid.core.lattice import Arc, Gap, Lattice
from readaid.lexicon import builder, graph, kanji_runs, repeat_arcs, words
from readaid.lexicon.budget import STANDARD, Budget
from readaid.lexicon.costs import standard
from readaid.lexicon.dictionary import opened
from readaid.lexicon.kbest import Search
from readaid.reading import hearing
from readaid.script import verse_forms

KANA = "いろはにほへとちりぬるをわかよたれそつねならむうゐのおくやまけふこえてあさきゆめみしゑひもせす"


def open_signs(signs: int, candidates: int) -> list[list[tuple[str, float]]]:
    """Signs of so many kana each, the first the likeliest."""
    turning = itertools.cycle(KANA)
    return [[(next(turning), 1 / (2 + n)) for n in range(candidates)] for _ in range(signs)]


def fewer(**fields: int) -> Budget:
    return Budget(**{**{f: getattr(STANDARD, f) for f in STANDARD.__dataclass_fields__}, **fields})


def test_marks_in_a_row_do_not_treble():
    """か and marks: each further one adds about as many arcs as the one before, not three times as many."""
    count = [len(builder.build("か" + "ゝ" * n).arcs) for n in (8, 9, 10, 11, 12)]
    assert all(b - a < 1.5 * repeat_arcs.MOST_SINGLE * 3 for a, b in itertools.pairwise(count))
    assert builder.build("か" + "ゝ" * 12).cut
    assert not builder.build("か" + "ゝ" * 4).cut


def test_a_run_of_marks_without_end_is_refused_in_words():
    with pytest.raises(LatticeError, match=r"More than 23 repetition marks stand in a row \(sign 25\): write \?"):
        builder.build("か" + "ゝ" * 40)


def test_all_marks_together_share_what_they_may_copy():
    many = [[*signs, ("ゝ", 0.01)] for signs in open_signs(40, 6)]
    small = fewer(copies=40 * repeat_arcs.FEWEST)
    few, whole = builder.build(many, budget=small), builder.build(many, budget=STANDARD)
    assert few.cut
    marks = [a for a in few.arcs if any(r.kind == "repetition" for r in a.reasons)]
    assert 0 < len(marks) <= 40 * repeat_arcs.FEWEST * 4
    assert len(few.arcs) < len(whole.arcs)


def test_longer_arcs_are_counted_and_those_on_the_cheapest_ways_stay():
    lattice = builder.build(open_signs(12, 8))
    costs = standard()
    whole, few = graph.build(lattice, costs), graph.build(lattice, costs, fewer(inner=30))
    assert whole.size > len(whole.main) + 100
    assert not whole.cut
    assert few.size <= len(few.main) + 30
    assert few.cut
    kept = {(a.start, a.end, a.text, a.kana) for a in few.arcs}
    assert {(a.start, a.end, a.text, a.kana) for a in whole.arcs if len(a.text) == 1} <= kept  # no letter is lost


def test_the_only_way_through_stays_however_long():
    """より in one zone, a hundred times: these arcs are all there is."""
    arcs = tuple(Arc(i, i + 1, "より", 0.0, "ゟ", "より") for i in range(100))
    made = graph.build(Lattice(("",) * 100, arcs), standard(), fewer(inner=5))
    assert len(made.edges) == 200


def test_lost_passages_beyond_the_budget_are_refused_with_their_number():
    places = Lattice(("",) * 50, (), tuple(Gap(i, i + 1, 1, 40) for i in range(50)))
    with pytest.raises(LatticeError, match="to supply unread ones are more than can be searched") as caught:
        graph.build(places, standard())
    assert caught.value.values["supplied"] > STANDARD.edges
    assert "narrower numbers" in caught.value.cure


def test_a_walk_follows_the_cheapest_ways_and_says_so():
    costs, dictionary = standard(), opened()
    made = graph.build(builder.build(open_signs(12, 8)), costs)
    whole = words.find(made, dictionary, costs)
    few = words.find(made, dictionary, costs, budget=fewer(ways=400))
    assert few.cut
    assert not whole.cut
    assert len(few.walk.parent) < len(whole.walk.parent) / 3
    read = [[(sign, 0.99), *((c, 0.001) for c, _ in others[1:])]
            for sign, others in zip("はるのうみひねもすのたり", open_signs(12, 8), strict=True)]
    few_ways = Search(builder.build(read), None, None, fewer(ways=2_000)).best("prose", 1)
    assert few_ways.cut
    assert few_ways.strings[0].kana == Search(builder.build(read)).best("prose", 1).strings[0].kana


@pytest.mark.parametrize("budget", [fewer(words=5_000), fewer(kept=400), fewer(cells=3_000)],
                         ids=["words", "kept", "cells"])
def test_words_beyond_the_budget_are_left_out_and_the_best_reading_stays(budget):
    characters = open_signs(12, 8)
    whole = Search(builder.build(characters))
    search = Search(builder.build(characters), None, None, budget)
    assert len(search.words) <= budget.words + 2_000  # words of one character, unknown ones
    assert len(search.words) <= budget.kept
    assert search.space.cells <= budget.cells
    assert search.cut
    assert not whole.cut
    best, same = whole.best("prose", 3).strings, search.best("prose", 3).strings
    assert best[0].kana == same[0].kana
    assert best[0].cost == pytest.approx(same[0].cost)


@pytest.mark.parametrize("characters", [
    "か" + "ゝ" * 12,
    [*open_signs(17, 6), [("ゝ", 1.0)]],
    [*open_signs(17, 6), [("〱", 1.0)]],
    "?" * 31,
    open_signs(31, 45),
    open_signs(200, 40),
], ids=["か and twelve marks", "a mark after open signs", "a group mark after open signs", "31 unread",
        "31 of all", "200 of 40"])
def test_inputs_that_ate_all_memory_stay_within_the_budget(characters):
    search = Search(builder.build(characters))
    assert search.graph.size - len(search.graph.main) <= STANDARD.inner
    assert len(search.graph.edges) <= STANDARD.edges
    assert len(search.words.walk.parent) <= 8 * STANDARD.ways
    assert len(search.words) <= STANDARD.kept
    assert search.space.cells <= STANDARD.cells
    assert search.best("prose", 1).strings


def moves(heard):
    return sum(len(step.score) for steps in heard.chain.steps for step in steps)


def test_what_is_heard_is_counted_and_the_best_reading_stays():
    """The moves of the chain took 20 million steps for 200 signs of 40 candidates, and ten seconds."""
    text = "はるのうみひねもすのたりのたりかなゆくはるやとりなきうをのめはなみだなつくさやつはものどもが"
    read = [[(sign, 0.7), *((c, 0.1) for c, _ in others[1:])]
            for sign, others in zip(text, open_signs(46, 12), strict=True)]
    lattice, form = builder.build(read), verse_forms.form("prose")
    whole = hearing.heard(lattice, form, standard(), float("inf"))
    few = hearing.heard(lattice, form, standard(), float("inf"), fewer(moves=60 * len(whole.chain.groups)))
    assert not whole.cut
    assert few.cut
    assert moves(few) < moves(whole) / 3
    assert few.chain.best(1)[0].kana == whole.chain.best(1)[0].kana
    widest = hearing.heard(builder.build(open_signs(200, 40)), form, standard(), float("inf"))
    assert moves(widest) <= 1.2 * STANDARD.moves
    assert widest.cut


def test_kanji_of_all_signs_together_are_bounded():
    """Each of 200 signs with 40 candidates was read in sixty ways and more; one sign alone still is."""
    kanji = [chr(c) for c in range(0x5000, 0x5F00, 12)]
    pool = itertools.cycle(kanji)
    many = builder.build([[(next(pool), 1 / (2 + n)) for n in range(40)] for _ in range(200)])
    assert len(kanji_runs.arcs(many)) <= kanji_runs.MOST_ARCS + 200 * kanji_runs.LONGEST
    alone = builder.build([[(next(pool), 1 / (2 + n)) for n in range(40)]])
    assert len({a.written for a in kanji_runs.arcs(alone)}) == 40
    read = {a.start: set() for a in kanji_runs.arcs(many)}
    for arc in kanji_runs.arcs(many):
        read[arc.start].add(arc.written[0])
    assert len(read) == 200  # every place is still read
    assert max(map(len, read.values())) <= kanji_runs.MOST_TOGETHER // 200


def test_spelling_rules_are_tried_on_the_likeliest_kana_only():
    signs = open_signs(20, 40)
    whole, few = builder.build(signs, budget=fewer(spelled=10**6)), builder.build(signs, budget=fewer(spelled=20))
    assert few.cut
    assert not whole.cut

    def ruled(lattice):
        return [a for a in lattice.arcs if a.end - a.start > 1]

    assert 0 < len(ruled(few)) < len(ruled(whole)) / 4
    letters = {(a.start, a.kana) for a in whole.arcs if a.end - a.start == 1 and len(a.text) == 1}
    assert letters <= {(a.start, a.kana) for a in few.arcs}  # none is lost


def test_when_the_time_is_over_no_further_form_is_heard(monkeypatch):
    asked = []
    chain = hearing._chain

    def counted(*given, **named):
        asked.append(given[2].name)
        return chain(*given, **named)

    monkeypatch.setattr(hearing, "_chain", counted)
    costs = standard()
    hearing.heard(builder.build(open_signs(20, 3)), None, costs, float("inf"))
    many = len(asked)
    asked.clear()
    heard = hearing.heard(builder.build(open_signs(20, 3)), None, costs, 0.0)
    assert 0 < len(asked) <= 2 < many
    assert heard.cut
