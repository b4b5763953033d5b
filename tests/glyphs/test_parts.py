"""Kanji by radical and strokes, against textbook cases and the Unicode radical names."""

import unicodedata

import pytest

from readaid.core.errors import OptionError
from readaid.glyphs.classes import classes
from readaid.glyphs.parts import _forms, by_part, radical


@pytest.mark.parametrize(("part", "kanji", "strokes"), [
    ("water", "海", 9), ("roof", "宮", 10), ("tree", "梅", 10), ("grass", "花", 7), ("gold", "銘", 14),
    ("氵", "清", 11), ("亻", "作", 7), ("火", "灯", 6), ("bird", "鶴", 21),
])
def test_textbook_cases(part, kanji, strokes):
    """Radicals and stroke counts as school dictionaries give them (from memory)."""
    assert kanji in [p.character for p in by_part(part, strokes)]


def test_every_radical_sign_by_name_and_form():
    for number in range(1, 215):
        sign = chr(0x2F00 + number - 1)
        assert radical(sign) == number
        assert radical(unicodedata.name(sign).removeprefix("KANGXI RADICAL ").lower()) == number


def test_each_kanji_has_one_radical():
    found = [p.character for n in range(1, 215) for p in by_part(n)]
    assert sorted(found) == sorted(c.character for c in classes() if c.kind in ("kanji", "letter"))


def test_a_radical_is_known_by_the_form_it_takes_inside_a_kanji():
    """As school dictionaries list them (from memory): water in 海, hand in 持, fire in 照, and no other form."""
    for name, inside, other in (("water", "氵", "亻"), ("hand", "扌", "氵"), ("fire", "灬", "扌")):
        number, forms = _forms(name)
        assert number == radical(inside)
        assert inside in forms
        assert other not in forms


def test_unknown_part():
    with pytest.raises(OptionError, match="did you mean 'water'"):
        by_part("watr")
    with pytest.raises(OptionError, match="Unknown part"):
        by_part(215)
