"""Old and new kanji against joyokanji and Unihan, kanji as kana, tables with faults."""

import bz2
import re
from pathlib import Path

import pytest

from readaid.core.errors import TableError, TextError
from readaid.script import hentaigana, kana_kanji, kanji
from readaid.script.rows import load

UNIHAN = Path("/usr/share/unicode/Unihan_OtherMappings.txt.bz2")


@pytest.mark.parametrize(
    ("old", "new"), ["國国", "澤沢", "壽寿", "龍竜", "禮礼", "邊辺", "應応", "廣広", "齋斎", "嶋島", "\ufa19神"]
)
def test_known_pairs(old, new):
    assert kanji.new_form(old) == new
    assert old in kanji.old_forms(new)


def test_joyokanji_agrees():
    joyokanji = pytest.importorskip("joyokanji", reason="oracle not installed: pip install joyokanji")
    pairs = load("kanji_forms.tsv", ("new", "old", "old_code", "source"), dict)
    joyo = [r for r in pairs if "joyo" in r["source"]]
    assert len(joyo) >= 355
    assert all(joyokanji.convert(r["old"]) == r["new"] == kanji.new_form(r["old"]) for r in joyo)


def test_unihan_agrees():
    if not UNIHAN.exists():
        pytest.skip("Unihan is not installed (Debian: unicode-data)")
    text = bz2.decompress(UNIHAN.read_bytes()).decode()
    pairs = re.findall(r"^U\+([0-9A-F]+)\tkJinmeiyoKanji\t\d+:U\+([0-9A-F]+)$", text, re.M)
    assert len(pairs) == 230
    # Unihan names the traditional form as the standard one for ten, and a compatibility ideograph for five: those
    # stand the other way round here (禄 is the new form of 祿; common practice, no source). The pairs are the same.
    turned = set("亘尭巌晃桧槙禄穣萌遥")
    other_way = 0
    for variant, standard in ((chr(int(a, 16)), chr(int(b, 16))) for a, b in pairs):
        if variant in turned or 0xF900 <= ord(standard) <= 0xFAFF:
            variant, standard = standard, variant
            other_way += 1
        assert kanji.new_form(variant) == standard
    assert other_way == 15


def test_new_form_is_stable():
    """A new form has no newer one: modernising twice changes nothing."""
    for row in load("kanji_variants.tsv", ("new", "variants"), dict):
        for char in row["variants"]:
            assert kanji.new_form(kanji.new_form(char)) == kanji.new_form(char) != char
            assert char in kanji.forms(kanji.new_form(char))


def test_one_character_only():
    with pytest.raises(TextError, match="not one character"):
        kanji.new_form("國國")


@pytest.mark.parametrize(
    ("char", "values"),
    [
        ("者", {"は"}),
        ("之", {"の", "し"}),
        ("而", {"て", "にて"}),
        ("与", {"と", "よ"}),
        ("江", {"え", "へ"}),
        ("茂", {"も"}),
        ("尓", {"に"}),
        ("越", {"を"}),
        ("八", {"は"}),
        ("三", {"み"}),
        ("哉", {"かな"}),
        ("也", {"なり"}),
        ("鳧", {"けり"}),
        ("覧", {"らむ"}),
        ("計", {"ばかり"}),
    ],
)
def test_kanji_as_kana(char, values):
    """Common practice, no source."""
    found = {v.kana: v for v in kana_kanji.values(char)}
    assert values <= set(found)
    assert any(found[v].grade == "usual" for v in values)
    assert kana_kanji.values(char)[0].kana in values


def test_every_parent_may_be_kana():
    for letter in hentaigana.letters():
        found = {v.kana for v in kana_kanji.values(letter.parent)}
        assert set(letter.sounds) <= found
        assert letter.parent in kana_kanji.kanji_for(letter.sounds[0])


def test_faulty_table_tells_every_row(tmp_path):
    table = tmp_path / "kana_kanji.tsv"
    table.write_text(
        "kanji\tkana\tuse\tgrade\n者\tは\tkana\tusual\nx\tは\tkana\tusual\n者\tは\tkana\toften\n", encoding="utf-8"
    )
    with pytest.raises(TableError, match=r"row 3.*row 4: grade 'often' is none of usual") as caught:
        load(table.name, ("kanji", "kana", "use", "grade"), kana_kanji._row, tmp_path)
    assert "kana_kanji.tsv" in str(caught.value)
