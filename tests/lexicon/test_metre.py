"""The metre machine and the counts of whole verses."""

import pytest

from readaid.lexicon import costs
from readaid.lexicon.metre import Metre, Sound
from readaid.script import verse_forms


@pytest.fixture
def hokku():
    return Metre(verse_forms.form("hokku"), costs.standard())


def cheapest(metre, sounds):
    """Cost of a row of words by plain recursion over the choices."""
    def go(state, at):
        if at == len(sounds):
            return float(metre.final[state])
        target, price = metre.moves(sounds[at])
        return min(float(p) + go(int(t), at + 1) for t, p in zip(target[state], price[state], strict=True)
                   if p != float("inf"))
    return go(0, 0)


def words(*units):
    return [Sound(n) for n in units]


def test_regular_verse_costs_nothing(hokku):
    assert cheapest(hokku, words(3, 2, 4, 3, 5)) == 0.0


def test_surplus_lack_and_crossing_cost(hokku):
    weight = costs.standard().weights
    assert cheapest(hokku, words(5, 8, 5)) == weight["metre.over first"] + weight["metre.over"]
    assert cheapest(hokku, words(5, 6, 5)) == weight["metre.under"]
    apart = weight["metre.under"] + weight["metre.over first"] + weight["metre.over"]
    assert cheapest(hokku, words(4, 8, 5)) == min(weight["metre.cross"], apart)
    assert cheapest(hokku, [Sound(5), Sound(1, ending=True), Sound(6), Sound(5)]) == weight["metre.phrase"]


def test_every_text_has_a_path(hokku):
    assert cheapest(hokku, words(2)) < float("inf")
    assert cheapest(hokku, words(*[3] * 20)) < float("inf")
    assert cheapest(hokku, words(30)) < float("inf")


def test_bare_vowel_makes_a_surplus_cheaper_in_waka_only():
    """Motoori Norinaga's observation: inside the line, not as its first mora."""
    tanka = Metre(verse_forms.form("tanka"), costs.standard())
    line = [Sound(5), Sound(7), Sound(3), Sound(3), Sound(7), Sound(7)]
    inside = [*line[:3], Sound(3, first_vowel=True), *line[4:]]
    first = [*line[:2], Sound(3, first_vowel=True), *line[3:]]
    assert cheapest(tanka, inside) < cheapest(tanka, line)
    assert cheapest(tanka, first) == cheapest(tanka, line)
    hokku = Metre(verse_forms.form("hokku"), costs.standard())
    assert cheapest(hokku, [Sound(5), Sound(5), Sound(3, True), Sound(5)]) == cheapest(
        hokku, [Sound(5), Sound(5), Sound(3), Sound(5)])


def test_least_is_a_lower_bound(hokku):
    for units in range(1, 40):
        one_by_one = cheapest(hokku, words(*[1] * units)) if units < 9 else None
        if one_by_one is not None:
            assert hokku.least(units, units) <= one_by_one
    assert hokku.least(17, 17) == 0.0
    assert hokku.least(40, 40) > 0.0


def test_chinese_verse_counts_characters():
    chinese = Metre(verse_forms.form("chinese-5"), costs.standard())
    assert chinese.characters
    assert cheapest(chinese, words(2, 3, 2, 3)) == 0.0
