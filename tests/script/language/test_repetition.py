"""Repetition marks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readaid.core.errors import OptionError
from readaid.script import kana, repetition, voicing


@pytest.mark.parametrize(
    ("mark", "before", "texts"),
    [
        ("ゝ", "こ", ["こ", "ご"]),
        ("ゝ", "ま", ["ま"]),
        ("ゞ", "す", ["ず"]),
        ("ゞ", "ま", []),
        ("ゝ", "ば", ["ば", "は"]),
        ("ヽ", "ハ", ["ハ", "バ"]),
        ("ヾ", "タ", ["ダ"]),
        ("ゝ", "", []),
        ("ゝ", "山", []),
        ("々", "人", ["人"]),
        ("々", "ひと", []),
        ("〻", "一人", ["人", "一人"]),
        ("〱", "いろ", ["いろ"]),
        ("〱", "かへす", ["へす", "べす", "かへす", "がへす"]),
        ("〱", "なにぬねのま", ["のま", "ねのま", "ぬねのま", "にぬねのま"]),  # two to five signs, never six
        ("〱", "人", ["人"]),
        ("〱", "春夏秋冬花", ["花", "冬花", "秋冬花", "夏秋冬花"]),  # kanji: one to four
        ("〱", "", []),
        ("〱", "?", []),
        ("〲", "しみ", ["じみ"]),
        ("〳〵", "つく", ["つく", "づく"]),
        ("〴〵", "つく", ["づく"]),
    ],
)
def test_expansions(mark, before, texts):
    """Rules of the marks (common practice, no source); the code charts name the voiced ones."""
    assert [e.text for e in repetition.expansions(mark, before)] == texts


def test_every_mark_has_its_row():
    assert set(repetition.MARKS) == (kana.REPETITION - {"〳", "〴", "〵"}) | {"〳〵", "〴〵"}


def test_unknown_mark():
    with pytest.raises(OptionError, match="Unknown repetition mark"):
        repetition.expansions("・", "か")


@given(st.sampled_from(sorted(repetition.MARKS)), st.text(st.sampled_from("いろかがはばぱまん山川?ゝ\n"), max_size=8))
def test_expansions_copy_what_stands_before(mark, before):
    signs = kana.signs(before)
    found = repetition.expansions(mark, before)
    assert len({e.text for e in found}) == len(found)
    for e in found:
        assert 1 <= e.copied <= len(signs)
        assert voicing.plain(e.text) == voicing.plain("".join(signs[-e.copied :]))
        assert e.voiced or e.text[1:] == "".join(signs[-e.copied :])[1:]


def test_written_out():
    assert repetition.written_out("たゞ") == "ただ"
    assert repetition.written_out("いろ〱の") == "いろいろの"
    assert repetition.written_out("ゝか") == "ゝか"
    assert repetition.written_out("こゝろ") == "こころ"
