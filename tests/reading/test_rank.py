"""Strings heard and weighed by words: shares are shares, the list stands in its order, costs add up."""

from dataclasses import replace

import pytest

from readaid.core.lattice import COST_FACTOR, Gap, WordEnd
from readaid.lexicon.builder import build
from readaid.lexicon.costs import standard
from readaid.lexicon.kbest import Search
from readaid.lexicon.word_paths import WordPaths
from readaid.reading import hearing, rank
from readaid.reading.solve import solve
from readaid.script import verse_forms

#: はるかぜや (a first line of many verses) among look-alikes.
ZONES = [[(c, 1 / 3) for c in p] for p in ("はけを", "るろひ", "かやう", "せやを", "やかわ")]


def heard(text, form):
    return hearing.heard(build(text), verse_forms.form(form), standard(), float("inf"))


def test_words_of_a_string_are_the_cheapest_by_the_search_too():
    """``Search.follow`` (exact, with every path) without metre is the reference."""
    told = heard("けふのやまはるのうみ", "prose")
    ways = told.chain.best(8)
    search = Search(told.narrowed(ways))
    words_of = WordPaths(search.space, search.readings())
    follow = {f.kana: f.cost for f in search.follow(verse_forms.form("prose"), [w.kana for w in ways])}
    for way in ways:
        assert words_of.of(way.kana).cost == pytest.approx(follow[way.kana])
    assert words_of.of("ぬぬぬ") is None


def test_shares_of_letters_sum_to_one_and_favour_verse():
    found = solve(ZONES, form="hokku", k=3)
    for at, pairs in enumerate(ZONES):
        sums = {c: sum(s.probability for s in found.shares if s.at == at and s.character == c) for c, _ in pairs}
        assert sum(sums.values()) == pytest.approx(1.0, abs=1e-2)
        assert max(sums, key=sums.get) == "はるかせや"[at]
    assert found.readings[0].kana == "はるかぜや"


def test_the_list_stands_by_share_and_costs_add_up():
    for form in ("hokku", "prose"):
        found = solve("ふるさとやはるのゆふくれ", form=form, k=6).readings
        shares = [r.probability for r in found]
        assert shares == sorted(shares, reverse=True)
        assert sum(shares) <= 1.0 + 1e-9
        for r in found:
            assert sum(c for _, c in r.costs) == pytest.approx(r.cost)
            assert "".join(r.lines) == r.kana
            assert "".join(w.kana for w in r.words) == r.kana


def test_unread_signs_are_weighed_as_verse():
    found = solve("ほとと?す", form="hokku", k=1)
    shares = {}
    for s in found.shares:
        if s.at == 3:
            shares[s.kana] = shares.get(s.kana, 0.0) + s.probability
    assert max(shares, key=shares.get) == "ぎ"
    assert found.readings[0].restored[0].kana == "ぎ"
    assert found.readings[0].restored[0].probability == pytest.approx(shares["ぎ"], abs=1e-6)


def test_a_gap_of_several_kana_is_filled_and_counted():
    lattice = build("あきのや")
    gap = Gap(3, 4, 2, 3)
    arcs = tuple(a if a.start < 3 else replace(a, start=a.start + 1, end=a.end + 1) for a in lattice.arcs
                 if a.end <= 3 or a.start >= 3)
    found = solve(replace(lattice, positions=("",) * 5, arcs=arcs, gaps=(gap,)), form="hokku", k=4)
    assert {len(r.kana) for r in found.readings} <= {6, 7}
    for r in found.readings:
        assert r.kana.startswith("あき")
        assert r.restored[0].kana == r.kana[3:-1]
        assert r.restored[0].probability > 0.0


def test_what_is_fixed_stays_fixed():
    found = solve("山は", k=3, constraints=(WordEnd(1),))
    assert all(any(w.end == 1 for w in r.words) for r in found.readings)


def test_kanji_are_read_as_the_period_read_them_and_okurigana_come_back():
    """Common readings of old verse; the sentences are made up for this test."""
    for written, form, kana in (("蛙飛込水の音", "linked", "とびこむ"), ("五月雨の晴間もなく鳴蛙", None, "さみだれ"),
                                ("郭公鳴や月の夜", "linked", "ほととぎす")):
        first = solve(written, form=form, k=1).readings[0]
        assert kana in first.kana, (written, first.kana)
        assert any(r.kind == "kanji reading" for r in first.reasons)


def test_a_kanji_nobody_reads_is_passed_over_at_a_price():
    found = solve("春の龘", k=1).readings[0]
    assert found.written == "春の龘"
    assert found.kana.startswith("はるの")


def test_where_kanji_are_read_the_list_is_less_sure(monkeypatch):
    told = solve("山里の雪や雁鳴夕かな", form="hokku", k=1).readings[0].probability
    plain = {name: replace(own, kanji=1.0) for name, own in rank.weights().items()}
    monkeypatch.setattr(rank, "weights", lambda: plain)
    assert told < solve("山里の雪や雁鳴夕かな", form="hokku", k=1).readings[0].probability


def test_an_ending_that_may_not_stand_there_is_charged():
    """ば follows a verb, not a noun (ゆめば); は may. The charge is told as a cause of its own."""
    found = solve("たびのゆめはのこる", form="linked", k=12).readings
    charges = {r.kana: dict(r.costs)["grammar"] for r in found}
    assert charges["たびのゆめはのこる"] == 0.0
    wrong = next(kana for kana in charges if "ゆめば" in kana)
    assert charges[wrong] == pytest.approx(COST_FACTOR * rank.weights()["linked"].grammar)
