"""The kind of a line and its reading; sheets under tests/script/examine (common practice, no source)."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import readaid
from readaid.core.character import Candidate, Character
from readaid.core.errors import OptionError, TextError
from readaid.core.line import LINE_KINDS
from readaid.reading import line_kind
from tests.script.examine import sheets

SHEET_KINDS = {"title": "title or place", "Chinese": "Chinese line", "seal": "seal text"}


def wrong(sheet):
    made = []
    for row in sheets.rows(sheet):
        wanted = [SHEET_KINDS.get(k, k) for k in row["kind"].split("|")]
        if (best := line_kind.kinds(row["text"])[0].kind) not in wanted:
            made.append(f"{row['text']!r} is {row['kind']}, not {best}")
    return made


@pytest.mark.parametrize("sheet", ["kinds.tsv", "kinds_added.tsv", "kinds_fresh.tsv"])
def test_kinds_keep_their_floor(sheet):
    faults = wrong(sheet)
    assert len(sheets.rows(sheet)) >= 50
    assert len(faults) <= 3, faults


ALPHABET = "蘆香作江戸住嘉永二年己酉八月花押かなのゝや山水之図印?候\n"


@given(st.text(alphabet=ALPHABET, min_size=1, max_size=24).filter(str.strip))
@settings(max_examples=80, deadline=None)
def test_probabilities_of_all_kinds_sum_to_one(text):
    found = line_kind.kinds(text)
    assert {m.kind for m in found} == set(LINE_KINDS)
    assert abs(sum(m.probability for m in found) - 1) < 1e-9
    assert [m.probability for m in found] == sorted((m.probability for m in found), reverse=True)


def test_each_kind_is_read_as_its_own():
    signed = readaid.line("於江都蘆香鐫之")
    assert (signed.kind, signed.readings) == ("signature", ())
    assert [(p.name, p.role) for p in signed.signatures[0].persons] == [("蘆香", "carver")]
    dated = readaid.line("嘉永二年己酉八月吉日")
    assert (dated.kind, dated.datings[0].first) == ("date", "1849-09-17")  # by the old calendar's table
    chinese = readaid.line("月落烏啼霜滿天")
    assert (chinese.kind, chinese.form, chinese.readings) == ("Chinese line", "chinese-7", ())
    assert chinese.sounds == ("げつ", "らく", "う", "てい", "そう", "まん", "てん")  # Sino-Japanese sounds, from memory
    verse = readaid.line("ふるいけやかはづとびこむみづのおと")
    assert (verse.kind, verse.form) == ("verse", "hokku")
    assert verse.readings[0].morae == (5, 7, 5)
    assert readaid.line("福禄寿").kind == "title or place"


def test_both_in_one_line():
    found = readaid.line("嘉永二己酉年八月\n於東京蘆香作")
    assert found.kind == "signature with date"
    assert found.signatures[0].datings[0].era == "嘉永"
    assert [(c.part, c.verdict) for c in found.signatures[0].checks] == [("東京", "does not fit")]


def test_signs_of_chinese_verse_count_beside_the_length():
    def chinese(text):
        return next(m.probability for m in line_kind.kinds(text) if m.kind == "Chinese line")

    assert chinese("孤舟蓑笠翁") > 0.9
    assert chinese("孤舟蓑笠翁") > chinese("義蕃重樟光") + 0.5  # five signs as well, of names


def test_a_kind_may_be_asked_for():
    assert readaid.line("蘆香", kind="seal text").kind == "seal text"
    assert readaid.line("はるのやま", kind="signature").signatures
    assert "No part of a date" in readaid.line("蘆香作", kind="date").note
    with pytest.raises(OptionError, match="did you mean 'verse'"):
        readaid.line("はる", kind="verses")
    with pytest.raises(TextError, match="no sign"):
        readaid.line(" \n")


def test_columns_of_characters_keep_their_ends():
    columns = [[Character(candidates=(Candidate(c, 0.9),)) for c in column] for column in ("楽萍", "兼逸", "合作")]
    found = readaid.line(columns)
    assert [(p.name, p.role) for p in found.signatures[0].persons] == [("楽萍", "maker"), ("兼逸", "maker")]
    apart = [[Character(candidates=(Candidate(c, 0.9),)) for c in column] for column in ("楽萍", "兼逸")]
    assert [p.text for p in readaid.line(apart).signatures[0].parts] == ["楽萍", "兼逸"]
    kana = ("はるさめや", "ものかたりゆく")
    verse = [[Character(candidates=(Candidate(c, 0.9),)) for c in column] for column in kana]
    assert readaid.line(verse).kind == "verse"


def test_candidate_lists_are_lines_too():
    lists = [[("蘆", 0.9)], [("香", 0.6), ("杏", 0.4)], [("竹", 0.5), ("作", 0.45)]]
    assert readaid.line(lists).signatures[0].parts[-1].kind == "verb"


def test_signature_of_the_face_tells_shares_and_what_was_not_analysed():
    ways = readaid.signature("江戸住 蘆香作", k=3)
    assert sum(w.probability for w in ways) == pytest.approx(1)
    assert ways[0].probability == max(w.probability for w in ways)
    rest = readaid.signature("此の品はいつの頃よりか家に伝はり")[0]
    assert rest.not_analysed == ("此の品はいつの頃よりか家に伝はり",)
    assert rest.persons == ()
