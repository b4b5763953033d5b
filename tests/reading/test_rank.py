"""Ranking where letters are open: what comes up is exact in cost, shares are shares."""

import pytest

from readaid.lexicon.builder import build
from readaid.lexicon.kbest import Search
from readaid.reading import rank
from readaid.reading.solve import solve

#: はるかぜや (a first line of many verses) among look-alikes.
ZONES = [[(c, 1 / 3) for c in p] for p in ("はけを", "るろひ", "かやう", "せやを", "やかわ")]


def test_strings_brought_up_cost_what_their_paths_cost():
    search = Search(build(ZONES))
    best = search.best("hokku", rank.WIDTH)
    search.weigh(best.form)
    ranked = rank.rank(search, best)
    fresh = [f for f in ranked.strings if f not in best.strings]
    assert fresh  # the chain brings up strings that the search did not list
    again = {f.kana: f.cost for f in search.best("hokku", 2000).strings}
    for found in fresh:
        if found.kana in again:
            assert found.cost == pytest.approx(again[found.kana])
        assert found.cost >= best.strings[-1].cost - 1e-6
    assert len({f.kana for f in ranked.strings}) == len(ranked.strings)
    assert list(ranked.probabilities) == sorted(ranked.probabilities, reverse=True)
    assert 0.0 < sum(ranked.probabilities) <= 1.0 + 1e-9


def test_shares_of_letters_sum_to_one_and_favour_verse():
    found = solve(ZONES, form="hokku", k=3)
    for at, pairs in enumerate(ZONES):
        sums = {c: sum(s.probability for s in found.shares if s.at == at and s.character == c) for c, _ in pairs}
        assert sum(sums.values()) == pytest.approx(1.0, abs=5e-3)
        assert max(sums, key=sums.get) == "はるかせや"[at]
    assert found.readings[0].kana == "はるかぜや"


def test_typed_text_is_not_searched_twice(monkeypatch):
    def never(*given):
        raise AssertionError("nothing is open")
    monkeypatch.setattr(rank, "proposed", never)
    assert solve("はるかせや", form="hokku", k=1).readings[0].kana == "はるかぜや"


def test_unread_signs_are_weighed_as_verse():
    found = solve("ほとと?す", form="hokku", k=1)
    shares = {}
    for s in found.shares:
        if s.at == 3:
            shares[s.kana] = shares.get(s.kana, 0.0) + s.probability
    assert max(shares, key=shares.get) == "ぎ"
