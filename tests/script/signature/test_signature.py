"""Signatures taken apart. The formulas are common practice of the trade, no source; the names are invented."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readaid.core.character import Candidate, Character
from readaid.core.errors import OptionError, TableError, TextError
from readaid.script import address, grammar, part_classes, rows, signature
from readaid.script.signs import signs


def parts(text):
    return [(p.kind, p.text) for p in signature.parse(text)[0].parts]


@pytest.mark.parametrize(("text", "expected"), [
    ("江戸住 一峯齋 正光作 花押",
     [("residence", "江戸住"), ("art name", "一峯齋"), ("name", "正光"), ("verb", "作"), ("kao", "花押")]),
    ("行年七十三歳秀民鐫之", [("age", "行年七十三歳"), ("name", "秀民"), ("verb", "鐫之")]),
    ("水戸住人一柳軒友善行年六十有五作之",
     [("residence", "水戸住人"), ("art name", "一柳軒"), ("name", "友善"), ("age", "行年六十有五"), ("verb", "作之")]),
    ("七十三翁楽山", [("age", "七十三翁"), ("name", "楽山")]),
    ("正光門人光重作", [("pupil", "正光門人"), ("name", "光重"), ("verb", "作")]),
    ("山城大掾藤原国広", [("office", "山城大掾"), ("clan", "藤原"), ("name", "国広")]),
    ("應需一峯齋嘉永元年戊申十月",
     [("request", "應需"), ("art name", "一峯齋"), ("date", "嘉永元年戊申十月")]),
    ("依田中氏望春水堂政光謹彫",
     [("request", "依田中氏望"), ("art name", "春水堂"), ("name", "政光"), ("verb", "謹彫")]),
    ("為山本君之嘱光政刻之印", [("request", "為山本君之嘱"), ("name", "光政"), ("verb", "刻之"), ("seal", "印")]),
    ("備前國住光定", [("residence", "備前國住"), ("name", "光定")]),
    ("天下一佐渡守", [("rank", "天下一"), ("office", "佐渡守")]),
    ("二代正光", [("generation", "二代"), ("name", "正光")]),
    ("法眼正光畫", [("rank", "法眼"), ("name", "正光"), ("verb", "畫")]),
    ("正光摸之", [("name", "正光"), ("model", "摸之")]),
    ("文政八年二月日城州住正光造",
     [("date", "文政八年二月日"), ("residence", "城州住"), ("name", "正光"), ("verb", "造")]),
    ("正光作\n(花押)", [("name", "正光"), ("verb", "作"), ("kao", "(花押)")]),
    ("古稀翁楽山書", [("age", "古稀翁"), ("name", "楽山"), ("verb", "書")]),
])
def test_formulas(text, expected):
    assert parts(text) == expected


@pytest.mark.parametrize(("old", "new"), [("應需正光鑄", "応需正光鋳"), ("大坂住正光圖之", "大坂住正光図之"),
                                          ("武藏守正光寫", "武蔵守正光写"), ("行年七十歲正光刻", "行年七十歳正光刻")])
def test_old_and_new_forms_alike(old, new):
    assert [(p.kind, p.start, p.end) for p in signature.parse(old)[0].parts] == \
        [(p.kind, p.start, p.end) for p in signature.parse(new)[0].parts]
    assert signature.parse(old)[0].text == old


SIGNS = st.text(alphabet="江戸住一峯斎正光作花押行年七十三門人應需為之嘱嘉永元印?□…", min_size=1, max_size=14)


@given(SIGNS)
@settings(max_examples=60, deadline=None)
def test_every_sign_belongs_to_one_part_and_the_best_comes_first(text):
    found = signature.parse(text)
    assert found
    costs = [s.cost for s in found]
    assert costs == sorted(costs)
    for s in found:
        assert [p.start for p in s.parts] == [0, *(p.end for p in s.parts[:-1])]
        assert s.parts[-1].end == len(s.text)
        assert all(s.text[p.start:p.end] == p.text for p in s.parts)
        assert s.text == signs(text).text
        assert {p.kind for p in s.parts} <= set(grammar.kinds())


def test_alternatives_differ_and_are_bounded():
    found = signature.parse("江戸住一峯斎正光作花押", k=4)
    assert len(found) == 4
    assert len({tuple((p.kind, p.text) for p in s.parts) for s in found}) == 4


def test_cost_is_nothing_where_the_formula_fits_and_something_where_not():
    assert signature.parse("江戸住正光作之")[0].cost == 0
    assert signature.parse("作之正光江戸住作")[0].cost > 0


def test_age_and_date_have_values():
    s = signature.parse("嘉永元年戊申 行年七拾三歳 正光作")[0]
    values = {p.kind: p.value for p in s.parts}
    assert values["age"] == "73"
    assert values["date"] == "1848-02-05/1849-01-23"
    assert signature.parse("行年古稀正光")[0].parts[0].value == "70"


def test_unread_signs_stay_unread():
    s = signature.parse("文化?年壬申?光作")[0]
    assert [(p.kind, p.text) for p in s.parts] == [("date", "文化?年壬申"), ("name", "?光"), ("verb", "作")]
    assert s.parts[0].value.startswith("1812")
    assert s.parts[1].readings == ()


def test_candidate_lists_give_alternative_names():
    lists = [[("正", 0.6), ("政", 0.4)], [("光", 0.9)], [("竹", 0.5), ("作", 0.45)]]
    found = signature.parse(lists)
    texts = [s.text for s in found]
    assert "正光作" in texts
    assert "政光作" in texts
    assert found[0].parts[-1].kind == "verb"  # 作 makes a formula of what 竹 would leave a bare name


def test_characters_are_read_too():
    row = (Character(candidates=(Candidate("正", 0.9),)), Character(candidates=(Candidate("光", 0.8),)),
           Character(candidates=(), fixed="作"))
    assert [(p.kind, p.text) for p in signature.parse(row)[0].parts] == [("name", "正光"), ("verb", "作")]


def test_names_are_alternatives_never_one():
    name = signature.parse("正光作")[0].parts[0]
    assert len(name.readings) > 1
    assert "まさみつ" in name.readings


def test_seal_is_said_to_be_unread():
    assert "not read" in signature.parse("正光作印")[0].parts[-1].meaning


def test_several_persons_with_roles():
    found = signature.persons(signature.parse("楽山詠 梅渓画 春水堂正光鐫之 花押")[0])
    assert [(p.name, p.role) for p in found] == [("楽山", "author"), ("梅渓", "designer"), ("正光", "carver")]
    assert found[2].aliases == ("春水堂",)
    assert [p.owns_monogram for p in found] == [False, False, True]
    assert "鐫之" in found[2].why


def test_pupil_recipient_and_residence():
    s = signature.parse("應松平君需 東都住 正光門人 光重作")[0]
    recipient, maker = signature.persons(s)
    assert (recipient.name, recipient.role) == ("松平", "recipient")
    assert (maker.name, maker.teacher, maker.residence, maker.role) == ("光重", "正光", "東都", "maker")


def test_the_monogram_may_be_the_appraisers():
    maker, appraiser = signature.persons(signature.parse("正光作極之 花押")[0])
    assert (maker.name, maker.role, maker.owns_monogram) == ("正光", "maker", False)
    assert (appraiser.name, appraiser.role, appraiser.owns_monogram) == ("", "appraiser", True)
    named = signature.persons(signature.parse("正光作極 秀民 花押")[0])
    assert [(p.name, p.role) for p in named] == [("正光", "maker"), ("秀民", "appraiser")]


def test_signed_for_the_master_and_signed_later():
    s = signature.parse("二代正光 代銘")[0]
    assert "need not be the hand's" in s.note
    assert [(p.name, p.role, p.generation) for p in signature.persons(s)] == [("正光", "maker", 2), ("", "pupil", None)]
    assert "added later" in signature.parse("正光 追銘")[0].note


def test_age_and_date_give_the_year_of_birth():
    p, = signature.persons(signature.parse("嘉永元年 行年七十三歳 正光作")[0])
    assert (p.age, p.born) == (73, 1776)  # old count: 1848 - 73 + 1
    p, = signature.persons(signature.parse("甲午春 行年七十三歳 正光作")[0])
    assert p.born is None  # a cycle name alone fits many years


def test_no_name_is_said():
    assert "no name" in signature.parse("作之")[0].note


def test_bad_input_is_told():
    with pytest.raises(TextError, match="no sign"):
        signature.parse(" \n")
    with pytest.raises(TextError, match="too many"):
        signature.parse("正" * 100)
    with pytest.raises(OptionError, match="asks for no ways"):
        signature.parse("正光", k=0)


def test_grammar_faults_are_told_together(tmp_path, monkeypatch):
    (tmp_path / "signature_grammar.tsv").write_text(
        "kind\tpattern\tcost\trole\tmeaning\nverb\t{nom}作\t0\t<maker\tx\nverb\t作\tmuch\t<maker\tx\nverb\t作\t0\t<king\tx\n",
        encoding="utf-8")
    monkeypatch.setattr(rows, "TABLES", tmp_path)
    grammar.rules.cache_clear()
    with pytest.raises(TableError, match=r"row 2.*row 3.*row 4"):
        grammar.rules()
    monkeypatch.undo()
    grammar.rules.cache_clear()


def test_tables_are_whole():
    """The 68 provinces of the Engishiki (with Iki and Tsushima): the number is published."""
    kinds = [place.kind for place in address.places().values()]
    assert kinds.count("province") == 68
    # Seventeen provinces were new in January and August 1869: six in the north-east, eleven on Hokkaidō (from memory).
    assert kinds.count("new province") == 17
    assert set(part_classes.endings()) >= {"".join(s for _, s in r.elements if s) for r in grammar.rules()
                                           if r.kind == "art name" and r.elements[0][0] == "art"}
