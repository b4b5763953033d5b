"""The class table against the Unicode character names, as Python's own ``unicodedata`` has them."""

import unicodedata

import pytest

from readaid.core.errors import TableError
from readaid.glyphs import character_net
from readaid.glyphs.classes import FOLDER, classes, index, read, sounds

LETTERS = [chr(c) for c in (0x1B001, *range(0x1B002, 0x1B11F))]
# ISO 3602 syllables as the names write them -> hiragana; the kana block's own names say which
SYLLABLE = {unicodedata.name(s).removeprefix("HIRAGANA LETTER "): s for s in
            "あいうえおかきくけこさしすせそたちつてとなにぬねのはひふへほまみむめもやゆよらりるれろわゐゑをん"}


def named_sounds(letter: str) -> set[str]:
    name = unicodedata.name(letter)
    if letter == "\U0001B001":  # named HIRAGANA LETTER ARCHAIC YE, corrected to HENTAIGANA LETTER E-1
        return {"え"}
    words = name.removeprefix("HENTAIGANA LETTER ").split("-")
    return {SYLLABLE[w] for w in words if w in SYLLABLE}


def test_syllable_names_cover_48():
    assert len(SYLLABLE) == 48
    assert set(sounds()) == set(SYLLABLE.values())


def test_every_hentaigana_letter_stands_in_one_class():
    held = [x for c in classes() for x in c.letters]
    assert sorted(held) == sorted(LETTERS)


def test_sounds_of_a_class_are_those_of_its_letters_by_unicode():
    for c in classes():
        if c.kind == "letter":
            assert set(c.sounds) == set().union(*(named_sounds(x) for x in c.letters)), c


def test_kana_sounds_by_unicode_names():
    for c in classes():
        if c.kind in ("hiragana", "katakana"):
            word = unicodedata.name(c.character).split()[-1]
            assert c.sounds == (SYLLABLE[word],)


def test_at_least_2000_kanji_and_they_are_kanji():
    kanji = [c for c in classes() if c.kind in ("kanji", "letter")]
    assert len(kanji) >= 2000
    # 﨑 (U+FA11) stands among the compatibility ideographs but is one of the twelve that are unified (Unicode 15, 23.8)
    for c in kanji:
        assert unicodedata.name(c.character).startswith("CJK UNIFIED IDEOGRAPH") or c.character == "\ufa11"
        assert unicodedata.normalize("NFC", c.character) == c.character


def test_model_and_table_belong_together_and_are_small():
    import numpy as np

    scores, embedding = character_net.run(np.zeros((2, 1, 48, 48), np.float32))
    assert scores.shape == (2, len(classes()) + 1)
    assert embedding.shape == (2, 128)
    assert character_net.FILE.stat().st_size <= 8_000_000


def test_index_leads_letters_to_their_parent():
    assert classes()[index()["\U0001B002"]].sounds == ("あ",)


def test_faulty_rows_are_told_at_once(tmp_path):
    lines = (FOLDER / "classes.tsv").read_text(encoding="utf-8").splitlines()[:8]
    path = tmp_path / "classes.tsv"
    faulty = ["xx\tkanji\t\t\t1.0\t0", "石\trune\t\t\t1.0\t0", "金\tkanji\t\t\tmany\t0", "銀\tkanji\t\t\t1.0\tfew"]
    path.write_text("\n".join([*lines, *faulty]) + "\n", encoding="utf-8")
    with pytest.raises(TableError) as told:
        read(path)
    assert all(word in str(told.value) for word in ("row 9", "row 10", "row 11", "row 12", "rune", "many", "few"))
