"""Kana: classes of signs, one spelling, bad input; Unicode's own data and one general library as oracles."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readaid.core.errors import TextError
from readaid.script import kana, voicing
from readaid.script.kana import Kind

KANA = st.text(st.characters(min_codepoint=0x3041, max_codepoint=0x30FF, exclude_categories=["Cn", "Mn", "Sk"]))


def test_every_letter_of_the_two_blocks_is_kana():
    """The Unicode names say which code points are letters."""
    for code in (*range(0x3040, 0x3100), *range(0x31F0, 0x3200)):
        name = unicodedata.name(chr(code), "")
        if name.startswith(("HIRAGANA LETTER", "KATAKANA LETTER")):
            assert kana.kind(chr(code)) is Kind.KANA, name
        if "ITERATION MARK" in name:
            assert kana.kind(chr(code)) is Kind.REPETITION, name


def test_kana_supplement_by_unicode_names():
    for code in range(0x1B000, 0x1B170):
        name = unicodedata.name(chr(code), "")
        if name.startswith("HENTAIGANA LETTER") or code == 0x1B001:
            assert kana.kind(chr(code)) is Kind.HENTAIGANA
        elif name:
            assert kana.kind(chr(code)) is Kind.KANA, name


def test_repetition_marks_by_unicode_names():
    marks = {
        c
        for c in map(chr, range(0x3000, 0x3100))
        if any(w in unicodedata.name(c, "") for w in ("ITERATION MARK", "KANA REPEAT"))
    }
    assert marks == kana.REPETITION


def test_small_kana_by_unicode_names():
    small = {c for c in map(chr, range(0x3041, 0x3097)) if "SMALL" in unicodedata.name(c)}
    assert set(kana.SMALL) == small
    assert all(unicodedata.name(s).replace(" SMALL", "") == unicodedata.name(f) for s, f in kana.SMALL.items())


def test_voicing_by_unicode_decomposition():
    """Unicode decomposes が into か and U+3099, ぱ into は and U+309A."""
    voiced, half = {}, {}
    for char in map(chr, range(0x3041, 0x3097)):
        parts = unicodedata.normalize("NFD", char)
        if len(parts) == 2:
            (voiced if parts[1] == "\u3099" else half)[parts[0]] = char
    assert voiced == voicing.VOICED
    assert half == voicing.HALF


@pytest.mark.parametrize(
    ("given_", "wanted"),
    [
        ("か\u3099", "が"),
        ("は\u309a", "ぱ"),
        ("ｶﾞｷﾞ", "ガギ"),
        ("ﾊﾟ", "パ"),
        ("は゛", "ば"),
        ("う\u3099", "ゔ"),
        ("□？", "??"),
        ("〱\u3099", "〲"),
        ("ゝ\u3099", "ゞ"),
        ("\ufa19社", "\ufa19社"),
        ("葛\U000e0100", "葛"),
        ("", ""),
    ],
)
def test_clean(given_, wanted):
    assert kana.clean(given_) == wanted


def test_old_kanji_form_survives():
    """NFC turns the old form U+FA19 into the new one; as it stands it must stay."""
    assert unicodedata.normalize("NFC", "\ufa19") == "神"
    assert kana.clean("\ufa19") == "\ufa19"


@pytest.mark.parametrize("text", ["🌸", "Haru", "3", "は\u0301", "\u0378", "\u3099", "あ\u3099", "<b>", "\x00", "한"])
def test_other_signs_are_refused_with_a_cure(text):
    with pytest.raises(TextError, match=r"cannot stand in an inscription .*: write \? for an unread sign"):
        kana.checked(text)


def test_all_faults_are_told_at_once():
    with pytest.raises(TextError, match="3 signs") as caught:
        kana.checked("は🌸るxのy")
    assert caught.value.values["signs"] == ("🌸", "x", "y")


@pytest.mark.parametrize("text", ["", "はる", " ", "\n", "、"])
def test_sign_wants_exactly_one(text):
    with pytest.raises(TextError, match="is not one sign"):
        kana.sign(text)


def test_hentaigana_with_voicing_mark_is_one_sign():
    assert kana.signs("\U0001b019\u3099の") == ("\U0001b019\u3099", "の")
    assert kana.kind("\U0001b019\u3099") is Kind.HENTAIGANA


@given(KANA)
def test_jaconv_agrees(text):
    jaconv = pytest.importorskip("jaconv", reason="oracle not installed: pip install jaconv")
    shared = "".join(c for c in text if c not in "ヷヸヹヺ・ヿゟヵヶゕゖヽヾゝゞ゠")  # jaconv leaves these aside
    assert kana.to_hiragana(shared) == jaconv.kata2hira(shared)
    assert kana.to_katakana(shared) == jaconv.hira2kata(shared)


@given(KANA)
def test_cleaning_twice_changes_nothing(text):
    assert kana.clean(kana.clean(text)) == kana.clean(text)
    assert "".join(kana.signs(text)) == kana.clean(text)


@given(st.text(max_size=40))
def test_any_text_is_classed_or_refused(text):
    """Signs rejoin to the cleaned text for any input, and kind never raises."""
    found = kana.signs(text)
    assert "".join(found) == kana.clean(text.replace("\r\n", "\n").replace("\r", "\n"))
    assert all(isinstance(kana.kind(s), Kind) for s in found)


@given(st.text(st.sampled_from("あいうかがさざはばぱやゃつっわゎんー")))
def test_back_and_forth(text):
    assert kana.to_hiragana(kana.to_katakana(text)) == text
    assert len(kana.full(text)) == len(text)


def test_values_of_a_letter():
    assert [v.kana for v in voicing.values("う")] == ["う"]  # ゔ is no guess for an old letter
    assert [v.kana for v in voicing.values("や")] == ["や", "ゃ"]
    assert [v.kana for v in voicing.values("ハ")] == ["は", "ば", "ぱ"]
    assert voicing.plain("ガパ") == "カハ"
    assert voicing.plain("ながながし") == "なかなかし"
