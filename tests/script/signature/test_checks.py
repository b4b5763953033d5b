"""A signature's parts against its date and its people. Years of offices and places: from memory."""

import pytest

from readaid.core.person import Person
from readaid.script import signature_checks, signature_reading
from readaid.script.signature import parse


def told(text, people=()):
    return [(c.part, c.verdict) for c in signature_checks.checks(parse(text)[0], people)]


@pytest.mark.parametrize(("text", "expected"), [
    ("江戸住 蘆香作 文政三年", [("江戸", "fits")]),
    ("江戸住 蘆香作 明治十年", [("江戸", "does not fit")]),
    ("江戸住 蘆香作", [("江戸", "cannot be told")]),
    ("江戸住 蘆香作 庚辰春", [("江戸", "cannot be told")]),  # a cycle name fits many years
    ("羽前国米沢住 蘆香作 嘉永二年", [("羽前", "does not fit")]),
    ("帝室技藝員 蘆香作 明治三十年", [("帝室技芸員", "fits")]),
    ("天下一 蘆香作 享保三年", [("天下一", "does not fit")]),
    ("白寿翁蘆香作 文政三年", [("白寿", "does not fit")]),
    ("古稀翁蘆香作 文政三年", []),
])
def test_words_against_the_date(text, expected):
    assert told(text) == expected


def test_nothing_is_called_genuine_or_false():
    for text in ("江戸住 蘆香作 明治十年", "白寿翁蘆香作 文政三年"):
        for c in signature_checks.checks(parse(text)[0]):
            assert c.verdict in ("fits", "does not fit", "cannot be told")
            assert not {"genuine", "false", "fake", "authentic"} & set(c.words.split())


def test_a_known_persons_dates_and_age():
    maker = Person("蘆香", born=1760, died=1830)
    # the old count: 1820 - 1760 + 1 = 61
    assert told("行年六十一歳 蘆香作 文政三年", [maker]) == [("蘆香", "fits"), ("行年六十一歳", "fits")]
    assert told("行年七十歳 蘆香作 文政三年", [maker]) == [("蘆香", "fits"), ("行年七十歳", "does not fit")]
    assert told("蘆香作 明治十年", [maker]) == [("蘆香", "does not fit")]
    assert told("蘆香作", [maker]) == [("蘆香", "cannot be told")]
    assert told("霞汀作 明治十年", [maker]) == []


def test_known_years_rank_a_cycle_name():
    maker = Person("蘆香", active_from=1800, active_to=1830)
    best = signature_reading.read("庚辰春 蘆香作", people=[maker])[0]
    assert best.datings[0].first[:4] == "1820"
    assert "does not fit" in " ".join(best.datings[1].notes)


def test_a_late_word_ranks_a_cycle_name():
    best = signature_reading.read("於東京 蘆香作 庚辰春")[0]
    assert best.datings[0].first[:4] == "1880"  # the only 庚辰 from 1868 in the working period
