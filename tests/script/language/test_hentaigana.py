"""Hentaigana: every letter, sound and parent against Unicode's own names."""

import bz2
import runpy
import unicodedata
from pathlib import Path

import pytest

from readaid.core.errors import TextError
from readaid.script import hentaigana, kana, romaji, voicing

NAMES_LIST = Path("/usr/share/unicode/NamesList.txt")
MAKER = Path(__file__).resolve().parents[3] / "data" / "make_tables" / "hentaigana.py"
LETTERS = [x for x in hentaigana.letters() if x.script == "hentaigana"]


def test_286_letters():
    assert len(LETTERS) == len({x.character for x in LETTERS}) == 286
    assert sorted(ord(x.character) for x in LETTERS) == list(range(0x1B001, 0x1B11F))


@pytest.mark.parametrize("letter", LETTERS, ids=lambda x: x.name[18:])
def test_names_and_sounds_by_unicodedata(letter):
    """Python's unicodedata has the names (and, as an alias, the corrected name E-1)."""
    assert unicodedata.lookup(letter.name) == letter.character
    labels = [p for p in letter.name.removeprefix("HENTAIGANA LETTER ").split("-") if not p.isdigit()]
    for label, sound in zip(labels, letter.sounds, strict=True):
        assert unicodedata.name(sound) == f"HIRAGANA LETTER {label}"


def test_e_1_has_its_corrected_name():
    letter = hentaigana.letter("\U0001b001")
    assert (letter.sounds, letter.parent, letter.name) == (("え",), "江", "HENTAIGANA LETTER E-1")


def test_counts_of_the_names_list():
    """285 letters U+1B002-1B11E have 223 parents and 57 sound labels (counted in the Unicode names list)."""
    block = [x for x in LETTERS if x.character != "\U0001b001"]
    assert len({x.parent for x in block}) == 223
    assert len({x.sounds for x in block}) == 57


def test_names_list():
    if not NAMES_LIST.exists():
        pytest.skip("the Unicode names list is not installed (Debian: unicode-data)")
    maker = runpy.run_path(str(MAKER))
    text = NAMES_LIST.read_text(encoding="utf-8")
    assert maker["table"](text) == maker["OUT"].read_text(encoding="utf-8")


def test_double_sounds():
    double = {x.sounds for x in LETTERS if len(x.sounds) > 1}
    assert ("あ", "を") in double
    assert ("ん", "む", "も") in double
    letter = next(x for x in LETTERS if x.sounds == ("あ", "を"))
    assert letter in hentaigana.letters("あ")
    assert letter in hentaigana.letters("を")


def test_standard_letter_comes_first_for_every_sound():
    for sound in "あいうえおかきくけこさしすせそたちつてとなにぬねのはひふへほまみむめもやゆよらりるれろわゐゑをん":
        found = hentaigana.letters(sound)
        assert found[0].character == sound
        assert found[0].parent
        scripts = [x.script for x in found]
        assert scripts == sorted(scripts, key=["hiragana", "hentaigana", "katakana"].index)
        marks = [x.common for x in found if x.script == "hentaigana"]
        assert marks == sorted(marks, reverse=True)
        assert unicodedata.name(found[-1].character).startswith("KATAKANA LETTER")


def test_parents_old_and_new():
    assert hentaigana.by_parent("与") == hentaigana.by_parent("與") != []
    assert hentaigana.by_parent("猫") == []
    assert {x.sounds[0] for x in hentaigana.by_parent("之")} == {"し"}


def test_voiced_and_bad_sounds():
    assert hentaigana.letters("が") == hentaigana.letters("カ")
    assert hentaigana.letter("が").character == "か"
    assert hentaigana.letter("\U0001b019\u3099") == hentaigana.letter("\U0001b019")
    assert hentaigana.letter("花") is None
    for bad in ("", "花", "ka", "かき"):
        with pytest.raises(TextError, match="not the sound of a kana"):
            hentaigana.letters(bad)


def test_parents_are_read_with_the_sound():
    """Unihan's readings: a reading of the parent begins with the sound, plain or voiced, for most letters.

    The exceptions are real (川 つ, 者 は): a fixed number of them guards the table against a slip.
    """
    path = Path("/usr/share/unicode/Unihan_Readings.txt.bz2")
    if not path.exists():
        pytest.skip("Unihan is not installed (Debian: unicode-data)")
    readings = {}
    for line in bz2.decompress(path.read_bytes()).decode().splitlines():
        cells = line.split("\t")
        if len(cells) == 3 and cells[1] in ("kJapaneseOn", "kJapaneseKun"):
            readings.setdefault(chr(int(cells[0][2:], 16)), []).extend(cells[2].lower().split())

    def heads(sound):
        voiced = [k for k in (voicing.voiced(sound),) if k]
        return tuple(f(k, particles=False) for k in (sound, *voiced) for f in (romaji.hepburn, romaji.iso3602))

    fit = [x for x in LETTERS if any(r.startswith(heads(s)) for s in x.sounds for r in readings.get(x.parent, []))]
    assert len(fit) == 258


def test_sounds():
    assert hentaigana.sounds("ハ") == ("は",)
    assert all(kana.is_hiragana(s) for x in hentaigana.letters() for s in x.sounds)
