"""Column breaks, open places, usual names, attributions, what is not analysed. Formulas: common practice, no source."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readaid.script import address, names, signature, usual_names
from readaid.script.signs import signs


def best(text):
    return signature.parse(text)[0]


def parts(text):
    return [(p.kind, p.text) for p in best(text).parts]


def who(text):
    return [(p.name, p.role) for p in signature.persons(best(text))]


COLUMNS = ("蘆香", "霞汀", "於江都", "作之", "花押", "楽萍", "鐫", "清左衛門")


@given(st.lists(st.sampled_from(COLUMNS), min_size=2, max_size=5))
@settings(max_examples=60, deadline=None)
def test_no_name_runs_over_the_end_of_a_column(columns):
    text = "\n".join(columns)
    row = signs(text)
    for found in signature.parse(text, k=3):
        for part in found.parts:
            if part.kind in ("name", "not analysed"):
                assert not any(part.start < b < part.end for b in row.breaks), part


def test_a_column_break_parts_what_no_word_parts():
    assert who("楽萍\n兼逸\n合作") == [("楽萍", "maker"), ("兼逸", "maker")]
    assert ("name", "楽萍兼逸") not in parts("楽萍\n兼逸")


@pytest.mark.parametrize("pair", ["()", "（）", "〔〕", "【】", "〈〉", "《》", "[]", "{}", "「」"])
def test_any_bracket_may_stand_round_a_monogram(pair):
    kinds = [kind for kind, _ in parts(f"蘆香鐫{pair[0]}花押{pair[1]}")]
    assert kinds == ["name", "verb", "kao"]


def test_a_place_of_no_table_after_its_word():
    assert parts("於東武柳塢亭\n谷春鐫") == [("place", "於東武柳塢亭"), ("name", "谷春"), ("verb", "鐫")]
    assert parts("於松緑窓下霞汀刻")[0] == ("place", "於松緑窓下")
    assert parts("尾刕名護屋住方豊造")[0] == ("residence", "尾刕名護屋住")


def test_usual_names_make_no_pupil_and_places_no_generation():
    assert parts("武左衛門作") == [("usual name", "武左衛門"), ("verb", "作")]
    assert parts("作右衛門彫之") == [("usual name", "作右衛門"), ("verb", "彫之")]
    assert parts("千代田住友朧作")[0] == ("residence", "千代田住")
    assert parts("八代住友朧作")[0] == ("residence", "八代住")


def test_what_is_not_understood_is_not_analysed_and_names_nobody():
    text = "此の品はいつの頃よりか家に伝はり"
    assert {kind for kind, _ in parts(text)} == {"not analysed"}
    assert who(text) == []
    assert "not analysed" in best(text).note


def test_a_reign_mark_is_no_date_and_no_person():
    s = best("大明宣徳年製")
    assert [(p.kind, p.text) for p in s.parts] == [("reign mark", "大明宣徳年"), ("verb", "製")]
    assert "copied long after" in s.parts[0].meaning
    assert who("大明宣徳年製") == []


@pytest.mark.parametrize(("text", "expected"), [
    ("紋兼逸 重樟(花押)", [("兼逸", "maker"), ("重樟", "appraiser")]),
    ("兼逸作 重樟(花押)", [("兼逸", "maker"), ("重樟", "appraiser")]),
    ("鑑定 晴霞", [("晴霞", "appraiser")]),
    ("露石真作也 門人鶴汀 花押", [("露石", "maker"), ("鶴汀", "appraiser")]),
    ("梅渓画 兼逸(花押)", [("梅渓", "designer"), ("兼逸", "maker")]),
    ("友朧代 友逸作", [("友朧", "maker"), ("友逸", "maker")]),
    ("為村上竹翁先生 春潯造", [("村上竹翁", "recipient"), ("春潯", "maker")]),
    ("奉命兼逸謹作", [("兼逸", "maker")]),
])
def test_who_may_stand_there(text, expected):
    assert who(text) == expected


def test_addresses_run_on_and_places_are_read():
    ends = address.found("東京府日本橋区本石町三丁目住", 0)
    assert max(ends) == len("東京府日本橋区本石町三丁目")
    assert address.found("友朧作", 0) == {}
    assert address.reading("羽前") == "うぜん"


def test_usual_names_are_cut_whole():
    assert [n.end for n in usual_names.found("三右衛門作", 0)] == [4]
    assert [n.end for n in usual_names.found("源次郎秀樟", 0)] == [3]  # not 源次 and a name 郎秀
    assert usual_names.found("源次郎秀樟", 0)[-1].reading == "げんじろう"


def test_a_name_never_repeats_one_reading():
    for name in ("利寿", "正昌", "義吉", "光満"):
        for reading in names.readings(name, most=60):
            half = len(reading) // 2
            assert reading[:half] != reading[half:], (name, reading)


def test_art_names_are_read_sino_japanese_first_and_say_their_source():
    assert names.possible("蘆汀")[0].text == "ろてい"
    assert names.possible("正光")[0].text == "まさみつ"
    part = best("蘆汀作").parts[0]
    assert part.readings[0] == "ろてい"
    assert "readings possible, from UniDic" in part.meaning or "readings possible, from own table" in part.meaning
