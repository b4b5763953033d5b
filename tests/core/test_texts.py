"""Texts in each language: the loader's rules, and a choice that lasts."""

import pytest

from readaid.core import preference, texts
from readaid.core.errors import OptionError, ReadaidError, TableError


@pytest.fixture(autouse=True)
def _english(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv(preference.VARIABLE, raising=False)
    yield
    texts.speak("en")


@pytest.fixture
def rows(monkeypatch, tmp_path):
    """A table of the test's own instead of the shipped one."""
    def lay(*lines):
        (tmp_path / "ja.tsv").write_text("\n".join(["en\tja", *lines]), encoding="utf-8")
        monkeypatch.setattr(texts, "FOLDER", tmp_path)
        for cached in (texts.table, texts._patterns, texts._told):
            cached.cache_clear()
    yield lay
    for cached in (texts.table, texts._patterns, texts._told):
        cached.cache_clear()


def test_faulty_rows_are_all_named(rows):
    rows("Close\t閉じる", "Close\tとじる", "{0} of {1}\t{0}分の{2}", "Open\t")
    with pytest.raises(TableError, match=r"stands there twice.*differ in what is put in.*has no wording"):
        texts.table("ja")


def test_values_are_put_in_where_the_language_wants_them_and_are_never_translated(rows):
    rows("Close\t閉じる", "{0} of {1}\t{1}のうち{0}")
    assert texts.wording("{0} of {1}", "Close", "{1}", into="ja") == "{1}のうちClose"


def test_what_stands_after_the_bar_tells_uses_apart_and_is_not_shown(rows):
    rows("open|attempt\t検討中", "open|command\t開く")
    assert texts.wording("open|attempt", into="ja") == "検討中"
    assert texts.wording("open|attempt") == "open"


def test_a_finished_sentence_finds_its_wording(rows):
    rows("lamp {0}\t光源 {0}", "{0} zones on {1} are empty\t{1}の領域{0}つが空です", "top left\t左上",
         "{0} to {1}\t{0}〜{1}")
    assert texts.told("3 zones on kiku.jpg are empty", "ja") == "kiku.jpgの領域3つが空です"
    assert texts.told("lamp top left", "ja") == "光源 左上"
    assert texts.told("no such sentence", "ja") == "no such sentence"
    assert texts.told("what is to be left alone", "ja") == "what is to be left alone"
    assert texts.told("lamp top left") == "lamp top left"
    texts.speak("ja")
    assert texts.told("lamp top left") == "光源 左上"


def test_a_refusal_keeps_its_three_parts(rows):
    rows("The photo is cut off\t写真が途中で切れています", "copy {0} again\t{0}をもう一度写してください")
    fault = ReadaidError("The photo is cut off", "kiku.jpg", "copy kiku.jpg again")
    assert texts.refusal(fault, "ja") == "写真が途中で切れています（kiku.jpg）。kiku.jpgをもう一度写してください。"
    assert texts.refusal(fault) == str(fault)


def test_an_unknown_language_is_refused_with_the_nearest_name():
    with pytest.raises(OptionError, match="did you mean 'ja'"):
        texts.speak("jap")


def test_a_choice_lasts_for_its_reader_alone():
    preference.prefer("Mori", "language", "ja")
    preference.prefer("Mori", "mat", "light")
    assert preference.preferred("Mori", "language") == "ja"
    assert preference.preferred("Tani", "language") == "en"
    preference.place().write_text('{"Mori": {"language": "xx", "mat": "light"}}', encoding="utf-8")
    assert preference.preferred("Mori", "language") == "en"
    assert preference.preferred("Mori", "mat") == "light"


def test_a_spoilt_file_counts_as_empty(monkeypatch):
    preference.place().parent.mkdir(parents=True)
    preference.place().write_bytes(b"\xff{")
    assert preference.preferred("Mori", "mat") == "dark"
    monkeypatch.setenv(preference.VARIABLE, "ja")
    assert preference.preferred("Mori", "language") == "ja"
