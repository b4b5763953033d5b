"""The working period, foreign eras, bounds: what is folded, what is refused. Era years from memory unless named."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readaid.core.errors import OptionError, TextError
from readaid.script import cycle, dates, foreign_eras, period
from readaid.script.signs import signs


@given(st.integers(0, 59), st.integers(1500, 1900), st.integers(60, 300))
@settings(max_examples=40, deadline=None)
def test_a_cycle_name_lists_the_period_first_and_loses_nothing(index, first, length):
    name = cycle.names()[index]
    found = dates.read(name, period=(first, first + length))
    near = [d for d in found if not d.folded]
    assert found[:len(near)] == near
    assert {cycle.years(name, first, first + length)[0]} <= {int(d.first[:4]) for d in near}
    assert {int(d.first[:4]) for d in found} == set(cycle.years(name, 645, 2100))
    assert near == sorted(near, key=lambda d: d.first)


def test_an_era_that_stands_there_is_never_folded():
    assert not dates.read("天文廿三年")[0].folded
    assert not dates.read("庚辰", within=(1000, 1100))[0].folded  # nothing fits inside: nothing to fold behind


def test_a_signers_years_rank_and_say_so():
    found = dates.read("庚辰", evidence=(period.Evidence(1800, 1850, "the signer's working years"),))
    assert found[0].first[:4] == "1820"
    assert any("does not fit the signer's working years (1800 to 1850)" in n for n in found[1].notes)
    assert not any("does not fit" in n for n in found[0].notes)


def test_periods_are_typed_as_two_years():
    for text in ("1868-1700", "18", "from 1700"):
        with pytest.raises(OptionError, match="is no period"):
            period.written(text)


@pytest.mark.parametrize("text", ["清乾隆五十年", "光緒三年", "大明正徳年製", "康煕十二年壬子", "万暦四年"])
def test_a_foreign_era_is_refused_by_name(text):
    with pytest.raises(TextError, match=r"is no Japanese date: .* is an era of"):
        dates.read(text)
    assert dates.find(text + "作") == []


def test_a_foreign_era_beside_a_japanese_one_leaves_that():
    assert dates.read("寛政七年乾隆六十年")[0].first[:4] == "1795"


@pytest.mark.parametrize("text", ["正徳三年", "元和四年", "弘治二年", "永楽作", "嘉慶二年"])
def test_japanese_eras_and_families_are_no_foreign_dates(text):
    assert foreign_eras.dates(signs(text)) == []


def test_nothing_outside_the_years_of_the_table():
    for text in ("西暦9999年", "西暦2101年", "皇紀九千年"):
        with pytest.raises(TextError, match="No year fits"):
            dates.read(text)
    assert all(645 <= int(d.first[:4]) <= 2101 for d in dates.read("甲子", within=(1, 9000)))


def test_days_before_the_reform_name_both_calendars():
    # 1582-10-04 was the last Julian day: the bull Inter gravissimas
    early, late = dates.read("天正十年六月二日")[0], dates.read("天正十一年")[0]
    assert early.first == "1582-07-01"
    assert any("Julian calendar of that time 1582-06-21" in n for n in early.notes)  # the day of Honnō-ji, from memory
    assert not any("Julian" in n for n in late.notes)


def test_long_texts_are_refused_at_once():
    for call in (dates.read, dates.find):
        with pytest.raises(TextError, match="10000 signs are too many for a date"):
            call("文" * 10000)


def test_and_numbers_branches_and_year_words():
    assert dates.read("明治二十有三年")[0].first[:4] == "1890"
    assert [d.year for d in dates.read("寛政?年寅")] == [6]
    assert [d.year for d in dates.read("文化□年戌")] == [11]
    assert any("more signs" in n for n in dates.read("文化□年戌")[0].notes)
    assert [(d.year, d.month) for d in dates.read("天保八丁酉季春")] == [(8, 3)]  # not the year word 季 and spring


def test_a_wrong_leap_month_names_the_years_that_had_it():
    # leap third months stood in 1814? by the table of tests/script/dates: asked of the table itself
    from readaid.script import calendar

    note = next(n for n in dates.read("文政四年閏三月")[0].notes if "a leap month 3 stood in" in n)
    named = [int(w.split(" ")[0]) for w in note.split("stood in ")[1].split("; ")[0].split(", ")]
    assert named
    assert all(any(m.leap and m.number == 3 for m in calendar.months(y)) for y in named)
    assert min(abs(y - 1821) for y in named) <= 20
