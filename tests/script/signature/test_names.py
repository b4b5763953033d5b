"""Readings of names against KANJIDIC2 and ENAMDICT (EDRDG), where Debian's packages are installed."""

import re
from pathlib import Path

import pytest

from readaid.core.errors import OptionError
from readaid.script import names

ENAMDICT = Path("/usr/share/edict/enamdict")


def test_own_table_against_kanjidic():
    path = names.dictionary()
    if path is None:
        pytest.skip("KANJIDIC2 is not installed (Debian: kanjidic-xml)")
    published = names._published(path)
    assert len(published) > 13000
    unknown = [(kanji, r) for kanji, (native, on) in names._own().items() for r in (*native, *on)
               if r not in {x for some in published[kanji].values() for x in some}]
    # Known from signatures and in voiced form only: not in the dictionary, kept.
    assert set(unknown) == {("茂", "もち"), ("継", "つぐ"), ("勲", "いさ"), ("珍", "よし"), ("山", "ざん")}


def test_given_names_of_enamdict_are_among_the_alternatives():
    """Of masculine two-kanji names written with signs of our table, most stated readings are among our eight."""
    if not ENAMDICT.exists():
        pytest.skip("ENAMDICT is not installed (Debian: enamdict)")
    stated = [(m[1], m[2]) for line in ENAMDICT.read_text(encoding="euc-jp", errors="replace").splitlines()
              if (m := re.match(r"([一-龥]{2}) \[([ぁ-ん]+)\] /.*\(m\)", line))]
    ours = [(n, r) for n, r in stated if all(c in names._own() for c in n)]
    assert len(ours) > 1000
    assert sum(r in names.readings(n) for n, r in ours) / len(ours) > 0.7


def test_without_a_dictionary_the_own_table_serves(monkeypatch):
    monkeypatch.setattr(names, "_PATHS", ())
    monkeypatch.delenv(names.VARIABLE, raising=False)
    names.readings.cache_clear()
    assert names.dictionary() is None
    assert names.readings("正光")[:2] == ("まさみつ", "まさてる")
    assert names.readings("鑢光")[0] == "鑢みつ"  # a sign without a reading silences nobody: it stands as it is
    names.readings.cache_clear()


def test_a_dictionary_named_by_the_user(tmp_path, monkeypatch):
    file = tmp_path / "own.xml"
    file.write_text("<literal>鑢</literal>\n<reading r_type=\"ja_kun\">やすり</reading>\n<nanori>とぎ</nanori>\n",
                    encoding="utf-8")
    monkeypatch.setenv(names.VARIABLE, str(file))
    names.readings.cache_clear()
    assert names.of_kanji("鑢") == ("やすり", "とぎ")
    names.readings.cache_clear()


def test_art_names_join_their_sounds():
    assert names.readings("一峯", "art")[0] == "いっぽう"
    assert "いちほう" in names.readings("一峯", "art")


def test_unknown_style():
    with pytest.raises(OptionError, match="did you mean 'art'"):
        names.of_kanji("光", "arts")
