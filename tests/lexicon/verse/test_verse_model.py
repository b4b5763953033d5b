"""The kana models of old verse: they are probabilities, and they know the verse they were counted in."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from readaid.lexicon import verse_model
from readaid.lexicon.verse_model import KanaModel, costs, counted, models, packed

KANA = "あいかがきくけこさしすそたつてでとなにのはばひふみもやよらりるれん"


@given(st.sampled_from(["voiced", "unvoiced", "hokku"]), st.lists(st.text(KANA, max_size=7), min_size=1, max_size=4))
def test_what_may_follow_sums_to_one(name, beginnings):
    np.testing.assert_allclose(models()[name].following(beginnings).sum(axis=1), 1.0, atol=1e-9)


def test_small_model_equals_the_formula():
    """Witten-Bell by hand: p = (c(h x) + T(h) p_shorter) / (c(h) + T(h)), T the kinds that follow h."""
    lines = ["かき", "かき", "かに"]
    model = KanaModel(*packed(counted(lines)), True)
    zero = 1.0 / len(verse_model.SYMBOLS)
    # Symbols met: ^ 3, か 3, き 2, に 1, $ 3, five kinds, 12 in all.
    p_ka = (3 + 5 * zero) / 17
    p_ka = (3 + 1 * p_ka) / 4  # after ^: か three times, one kind
    p_ki = (2 + 5 * zero) / 17
    p_ki = (2 + 2 * p_ki) / 5  # after か: き twice, に once
    p_ki = (2 + 2 * p_ki) / 5  # after ^か
    p_end = (3 + 5 * zero) / 17
    for _ in ("き", "かき", "^かき"):
        p_end = (2 + 1 * p_end) / 3
    assert model.logs(["かき"])[0] == pytest.approx(np.log(p_ka * p_ki * p_end))


def test_runs_met_once_may_be_left_out():
    lines = ["はるのはな", "はるのはな", "はるのゆき", "あきのはな"]
    whole = counted(lines)
    less = {run: n for run, n in whole.items() if len(run) < 3 or n > 1}
    assert len(less) < len(whole)
    model = KanaModel(*packed(less), True)
    np.testing.assert_allclose(model.following(["はるの", "あきの", "はる"]).sum(axis=1), 1.0, atol=1e-9)


def test_cost_is_a_sum_over_lines_and_many_equal_one():
    verse = ("はるかぜや", "こころのままに", "ちるさくら")
    assert verse_model.cost(verse) == pytest.approx(sum(verse_model.cost([line]) for line in verse))
    many = costs([verse, verse[:1], ()])
    assert many[0] == pytest.approx(verse_model.cost(verse))
    assert many[2] == 0.0
    assert verse_model.cost(["かぜ"], "unvoiced") == verse_model.cost(["かせ"], "unvoiced")


def test_counts_of_the_origin():
    """Figures told of the counts: ほととぎす stands 124 times in the poems counted, the poems have 18,736 lines."""
    model = models()["voiced"]
    key = packed({"ほととぎす": 1})[0]
    assert model._look(key)[0] == 124
    assert model._look(packed({"$": 1})[0])[0] == 18_736
    assert verse_model.TABLE.stat().st_size < 3_000_000


def test_drawn_verses_have_their_lengths_and_repeat():
    one = models()["unvoiced"].draw((5, 7, 5), 20, seed=3)
    assert one == models()["unvoiced"].draw((5, 7, 5), 20, seed=3)
    assert all(tuple(map(len, verse)) == (5, 7, 5) for verse in one)
    assert len(set(itertools.chain(*one))) > 40
