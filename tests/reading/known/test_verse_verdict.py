"""The verdict on both sides of each of its limits. They are our own choice; what they keep apart is said at each."""

import dataclasses

import pytest

from readaid.reading.verse_verdict import Common, verdict

HOKKU = 17
#: A hokku whose last line alone is another one, as in a real variant; nothing lacks, and 13 of 17 kana agree.
VARIANT = Common(begin=0, stop=12, lines=(0, 1), inside=12, agree=13, read=17, outside=0, heard=13, faced=17)
#: A middle line and nothing else of the verse.
LINE = Common(begin=5, stop=12, lines=(1,), inside=7, agree=7, read=7, outside=10, heard=7, faced=7)
#: A first line and nothing else of the verse.
FIRST = Common(begin=0, stop=5, lines=(0,), inside=5, agree=5, read=5, outside=12, heard=5, faced=5)


def of(found, chance=0.001, others=0, drawn=0, same=False, season=False, **changed):
    return verdict(same, HOKKU, dataclasses.replace(found, **changed), chance, others, drawn, season)


@pytest.mark.parametrize(("changed", "told"), [
    ({}, "a variant"),
    ({"heard": 12}, "quotes a line"),  # two lines of three, 12 of 17 kana, are a quotation
    ({"agree": 12}, "a variant"), ({"agree": 11}, "quotes a line"),  # of signs that were read
    ({"outside": 4}, "a variant"), ({"outside": 5}, "quotes a line"),  # a line of five that is not here
])
def test_most_of_a_verse_is_a_variant_and_two_lines_of_three_are_not(changed, told):
    assert of(VARIANT, **changed) == told


@pytest.mark.parametrize(("inside", "told"), [(7, "quotes a line"), (6, "near")])
def test_a_phrase_that_fills_no_line_counts_from_seven_kana(inside, told):
    assert of(LINE, lines=(), inside=inside) == told


@pytest.mark.parametrize(("found", "met", "told"), [
    (LINE, {"others": 1}, "quotes a line"), (LINE, {"others": 2}, "shares a stock phrase"),
    (LINE, {"drawn": 2}, "quotes a line"), (LINE, {"drawn": 3}, "shares a stock phrase"),
    (FIRST, {}, "quotes a line"), (FIRST, {"others": 1}, "shares a stock phrase"),  # ふるいけや stands in two verses
    (FIRST, {"drawn": 1}, "shares a stock phrase"), (FIRST, {"season": True}, "shares a stock phrase"),
])
def test_a_phrase_of_many_verses_is_stock_and_a_short_one_soon(found, met, told):
    assert of(found, **met) == told


@pytest.mark.parametrize(("chance", "found", "changed", "told"), [
    (0.1, FIRST, {"read": 9}, "shares a stock phrase"), (0.3, FIRST, {"read": 9}, "nothing near"),
    (0.3, FIRST, {}, "shares a stock phrase"),  # はつしぐれ and nothing beside it is never beyond chance
    (0.1, VARIANT, {}, "near"), (0.3, VARIANT, {}, "nothing near"),
])
def test_what_chance_brings_is_no_verse_but_a_stock_phrase_it_may_be(chance, found, changed, told):
    assert of(found, chance, others=1, **changed) == told


def test_the_same_is_what_differs_in_nothing():
    assert (of(VARIANT, same=True), of(VARIANT, chance=0.05, same=True)) == ("the same", "near")
