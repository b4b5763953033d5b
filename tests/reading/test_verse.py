"""Counting and breaking verses; every rule of the count that the trade notes name."""

import pytest

from readaid.core.errors import OptionError, TextError
from readaid.reading.verse import count, verse

#: Hokku of the 17th-19th century, public domain, from memory; lines by slashes, morae beside them (common knowledge).
HOKKU = [
    ("なのはなや/つきはひがしに/ひはにしに", (5, 7, 5)),
    ("あらうみや/さどによこたふ/あまのがは", (5, 7, 5)),
    ("さみだれを/あつめてはやし/もがみがは", (5, 7, 5)),
    ("かれえだに/からすのとまりけり/あきのくれ", (5, 9, 5)),
    ("めいげつや/いけをめぐりて/よもすがら", (5, 7, 5)),
]


@pytest.mark.parametrize(("lines", "morae"), HOKKU)
def test_running_text_breaks_where_the_verse_does(lines, morae):
    found = verse(lines.replace("/", ""), form="hokku")
    assert "/".join(found.lines) == lines
    assert found.morae == morae
    assert found.surplus == tuple(m - n for m, n in zip(morae, (5, 7, 5), strict=True))


@pytest.mark.parametrize(("text", "morae"), [
    # Rules of the trade notes: ん っ ー one each, small kana none, くわ for くゎ one, きやう read きょう two, てふ two.
    ("きょうと", 3), ("がっこう", 4), ("らーめん", 4), ("きやう", 2), ("てふ", 2), ("くゎし", 2), ("けふ", 2),
    ("古池や", 5),
])
def test_morae(text, morae):
    assert count(text) == morae


def test_kanji_are_counted_by_their_reading():
    assert verse("五月雨を集めて早し最上川").morae == (5, 7, 5)


def test_given_lines_stand_and_are_not_corrected():
    found = verse("ふるいけ\nかはづとびこむ\nみづのおと")
    assert found.lines == ("ふるいけ", "かはづとびこむ", "みづのおと")
    assert found.surplus == (-1, 0, 0)


def test_columns_are_no_lines():
    assert verse("ふるいけやかは\nづとびこむみづのおと").lines == ("ふるいけや", "かはづとびこむ", "みづのおと")


def test_no_form_fits():
    found = verse("山田作")
    assert (found.form, found.surplus, found.lines) == (None, (), ("山田作",))


def test_tanka_and_chinese_verse():
    assert verse("あきのたのかりほのいほのとまをあらみわがころもではつゆにぬれつつ").morae == (5, 7, 6, 7, 7)
    found = verse("國破山河在城春草木深")
    assert (found.form, found.lines) == ("chinese-5", ("國破山河在", "城春草木深"))


def test_bad_text():
    with pytest.raises(TextError, match="no text"):
        verse(" \n")
    with pytest.raises(OptionError, match="Unknown form"):
        verse("はる", form="limerick")
