"""Kanji by any part and its place. The table is outside (KanjiVG); expectations are textbook cases, from memory."""

import pytest

from readaid.core.errors import OptionError, TableError
from readaid.glyphs import components
from readaid.glyphs.components import Component, place_named
from readaid.glyphs.parts import by_part

table = pytest.mark.skipif(not components.installed(), reason="kanjivg is not installed (readaid[parts])")


def found(*args, **options):
    return {p.character for p in by_part(*args, **options)}


@table
@pytest.mark.parametrize(("part", "place", "kanji", "not_kanji"), [
    ("water", "left", "海", "落"), ("water", "bottom left", "落", "海"), ("roof", "top", "宮", "海"),
    ("寺", "right", "時", "寺"), ("木", "kanmuri", "李", "梅"), ("木", "hen", "梅", "李"),
    ("日", "right", "旧", "時"), ("心", "ashi", "忘", "情"),
    ("疒", "tare", "病", "海"), ("囗", "kamae", "国", "田"), ("辶", "nyo", "道", "海"), ("忄", "left", "情", "忘"),
])
def test_by_part_and_place(part, place, kanji, not_kanji):
    assert kanji in found(part, place=place)
    assert not_kanji not in found(part, place=place)


@table
def test_a_part_that_is_no_radical_and_one_that_is_not_the_radical():
    assert {"時", "持", "詩"} <= found("寺")
    assert "相" in found("木")  # its radical is 目
    assert "相" in found("tree", 9)
    assert "相" not in found("tree", 14)


@table
def test_radicals_stay_found_and_a_number_means_the_radical_alone():
    assert found(85) <= found("water")
    assert "相" not in found(75)


@table
def test_parts_of_parts_with_their_place():
    assert Component("氵", "水", "bottom left") in components.components("落")
    assert Component("艹", "艸", "top") in components.components("落")
    assert components.components("ABC") == components.components("あ々") == ()


@table
def test_unknown_parts_and_places():
    with pytest.raises(OptionError, match="did you mean 'water'"):
        by_part("watr")
    with pytest.raises(OptionError, match="No kanji with the part"):
        by_part("あ")
    with pytest.raises(OptionError, match="Unknown place 'lef': did you mean 'left'"):
        by_part("water", place="lef")


def test_without_the_table_radicals_are_found_and_a_place_is_refused(monkeypatch):
    monkeypatch.setattr(components, "_folder", lambda: None)
    assert "海" in found("water", 9)
    assert "相" not in found("木")
    with pytest.raises(TableError, match=r"pip install readaid\[parts\]"):
        by_part("water", place="left")


def test_names_of_places():
    assert [place_named(n) for n in ("tsukuri", "TOP", "over the left inside", "ashi hen")] == [
        "right", "top", "over the left inside", "bottom left"]
