"""The small cut of the text face stands in for the whole one until that has come: nothing may move then."""

import pytest
from fontTools.ttLib import TTFont

from readaid.core.places import latin_font, text_font
from readaid.widgets.modules import STATIC, latin_face, tagged
from readaid.widgets.panel import style_text


@pytest.fixture(scope="module")
def faces():
    return TTFont(latin_font()), TTFont(text_font())


def test_letters_of_the_small_cut_are_as_wide_and_lines_as_high_as_in_the_whole_face(faces):
    small, whole = faces
    signs, signs_whole = small.getBestCmap(), whole.getBestCmap()
    widths = {chr(c): (small["hmtx"][name][0], whole["hmtx"][signs_whole[c]][0]) for c, name in signs.items()}
    assert {c for c, (a, b) in widths.items() if a != b} == set()
    assert widths["i"][0] < widths["W"][0]
    for table, lines in {"hhea": ("ascent", "descent", "lineGap"), "head": ("unitsPerEm",),
                         "OS/2": ("sTypoAscender", "sTypoDescender", "usWinAscent", "usWinDescent")}.items():
        assert [getattr(small[table], n) for n in lines] == [getattr(whole[table], n) for n in lines]


def test_every_sign_of_the_english_screen_that_the_face_has_is_in_the_small_cut(faces):
    small, whole = (set(face.getBestCmap()) for face in faces)
    said = {ord(c) for path in STATIC.glob("*.js") for words in tagged(path.read_text(encoding="utf-8")) for c in words}
    narrow = {c for c in said if c < 0x2E80}  # kana and kanji are as wide in any face
    assert len(narrow) > 70
    assert {chr(c) for c in narrow & whole - small} == set()


def test_the_small_cut_travels_with_the_head_and_is_asked_for_before_any_other_family():
    from readaid.widgets.head_panel import HeadPanel

    assert latin_face() in HeadPanel._css
    families = style_text().split("--book:")[1].split(";")[0]
    assert families.index('"Readaid Text"') < families.index('"Readaid Latin"') < families.index('"Noto Serif CJK JP"')
