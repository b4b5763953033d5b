"""Dates read from their words.

Expected days come from the worked samples of the calendar's source and, for eras, from the tables checked in
test_eras; wording (吉日, 小春 ...) is common practice, no source.
"""

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readaid.core.errors import OptionError, TextError
from readaid.script import calendar, cycle, dates, eras, numerals


def only(text, **options):
    found = dates.read(text, **options)
    assert len(found) == 1, found
    return found[0]


def test_colophon_of_1848():
    """A printed colophon of that month; its days as in the calendar source's worked sample."""
    d = only("嘉永紀元小春吉旦")
    assert (d.first, d.last, d.era, d.year, d.month, d.day) == ("1848-10-27", "1848-11-25", "嘉永", 1, 10, None)
    assert d.agrees is None
    assert any("names no day" in n for n in d.notes)


@pytest.mark.parametrize(("text", "first", "last"), [
    ("文政元年四月廿二日", "1818-05-26", "1818-05-26"),
    ("文政紀元戊寅四月念二日", "1818-05-26", "1818-05-26"),
    ("元禄2年3月27日", "1689-05-16", "1689-05-16"),
    ("元祿二己巳年季春廿七日", "1689-05-16", "1689-05-16"),
    ("元禄二年弥生廿七日", "1689-05-16", "1689-05-16"),
    ("嘉永元年十月朔日", "1848-10-27", "1848-10-27"),
    ("嘉永元戊申歳初冬晦日", "1848-11-25", "1848-11-25"),
    ("嘉永元年孟冬望", "1848-11-10", "1848-11-10"),
    ("嘉永元年十月上浣", "1848-10-27", "1848-11-05"),
    ("嘉永元年十月中澣", "1848-11-06", "1848-11-15"),
    ("嘉永元年十月下浣", "1848-11-16", "1848-11-25"),
    ("嘉永元年十月既望", "1848-11-11", "1848-11-11"),
    ("嘉永戊申小春", "1848-10-27", "1848-11-25"),
    ("嘉永元年", "1848-02-05", "1849-01-23"),
    ("明治三十七年二月", "1904-02-01", "1904-02-29"),
    ("昭和二〇年", "1945-01-01", "1945-12-31"),
    ("令和四年六月十四日", "2022-06-14", "2022-06-14"),
    ("西暦1848年10月27日", "1848-10-27", "1848-10-27"),
    ("紀元二千五百四十八年", "1888-01-01", "1888-12-31"),
    ("嘉永元年\n十月 朔日", "1848-10-27", "1848-10-27"),
])
def test_days(text, first, last):
    d = only(text)
    assert (d.first, d.last) == (first, last)


def test_unread_year_with_its_cycle_name_has_one_answer():
    for text in ("文化〇年壬申", "文化?年壬申", "文化□年壬申", "文化[...]年壬申", "文化?壬申"):
        d = only(text)
        assert (d.era, d.year, d.cycle, d.agrees) == ("文化", 9, "壬申", True), text


def test_unread_signs_list_every_date_that_fits():
    assert [d.year for d in dates.read("天保十〇年")] == [11, 12, 13, 14, 15]
    assert [d.era for d in dates.read("?政三年")] == ["寛政", "文政", "安政"]
    assert {d.year for d in dates.read("文化?年")} == set(range(1, 11))
    assert [(d.era, d.year) for d in dates.read("??九年壬申", within=(1600, 1868))] == [("寛永", 9), ("文化", 9)]
    assert {d.month for d in dates.read("文化九年?月")} == set(range(1, 13))  # also 霜月, 極月
    assert [d.cycle for d in dates.read("文化?申")] == ["壬申"]


def test_candidate_lists_are_read_like_text():
    lists = [[("文", 0.9), ("天", 0.1)], [("化", 0.5), ("政", 0.5)], [("九", 0.4), ("五", 0.6)], [("年", 1.0)],
             [("壬", 0.7), ("?", 0.3)], [("申", 0.9)]]
    best = dates.read(lists)[0]
    assert (best.era, best.year, best.agrees) == ("文化", 9, True)


@given(st.integers(1600, 1867), st.sampled_from(["full", "cycle", "formal"]))
@settings(max_examples=60, deadline=None)
def test_written_years_read_back(year, way):
    for era in eras.in_year(year):
        n = year - era.year + 1
        number = "元" if n == 1 else numerals.forms(n)[-2 if n > 1 and len(numerals.forms(n)) > 2 else 0]
        text = f"{era.name}{number}年" + (cycle.of_year(year) if way == "cycle" else "")
        if way == "formal":
            text = text.replace("十", "拾").replace("二", "弐").replace("三", "参")
        d = dates.read(text)[0]
        assert (d.era, d.year, d.cycle) == (era.name, n, cycle.of_year(year))
        assert d.agrees is (True if way == "cycle" else None)


@given(st.integers(calendar.jd("0701-06-01"), calendar.jd("2030-12-31")))
@settings(max_examples=80, deadline=None)
def test_every_day_reads_back_from_its_name(jd):
    for heads in dates.written(calendar.iso(jd)).split("・")[:1]:
        text = dates.written(calendar.iso(jd))
        if "・" in text:  # both courts: read the last, which carries the month and day
            text = text.split("・")[1]
        d = dates.read(text)[0]
        assert (d.first, d.last, d.agrees) == (calendar.iso(jd), calendar.iso(jd), True), heads


def test_disagreement_is_told_with_the_slip_that_would_mend_it():
    first, second = dates.read("文化五年壬申")
    assert (first.year, first.cycle, first.agrees) == (5, "戊辰", False)
    assert "was 戊辰, not 壬申" in first.notes[0]
    assert (second.year, second.agrees) == (9, False)
    assert "九 misread as 五" in second.notes[0]


def test_disagreement_by_one_cycle_sign_and_by_the_era():
    found = dates.read("文化五年戊申")
    assert "辰 misread as 申" in found[0].notes[0]
    assert [(d.era, d.year, d.agrees) for d in found] == [("文化", 5, False), ("弘化", 5, False)]
    assert "弘 misread as 文" in found[1].notes[0]


def test_look_alike_cycle_signs_are_told_apart_by_their_place():
    assert only("安永二年癸己").agrees is True  # 己 typed for 巳
    assert only("文政十二年巳丑").cycle == "己丑"
    assert only("天保九年戌戊").cycle == "戊戌"


def test_a_year_past_its_eras_end_is_not_called_impossible():
    d = only("天保十六年")
    assert (d.first, d.year) == ("1845-02-07", 16)
    assert "弘化二年" in d.notes[0]
    assert "impossible" not in " ".join(d.notes)


def test_retroactive_first_year():
    d = only("明治元年正月")
    assert (d.first, d.last) == ("1868-01-25", "1868-02-22")
    assert "慶応四年" in d.notes[0]
    assert "counted back" in d.notes[0]


def test_the_rest_of_a_year_after_the_change():
    d = only("天保十五年")
    assert "弘化元年" in d.notes[0]


def test_conventional_months():
    for text in ("文政八年二月日", "文政八年八月日"):
        assert any("conventional" in n for n in only(text).notes)
    assert not any("conventional" in n for n in only("文政八年三月日").notes)


def test_both_courts_are_offered():
    found = dates.read("壬申", within=(1390, 1395))
    assert [(d.era, d.year, d.court) for d in found] == [("明徳", 3, "northern"), ("元中", 9, "southern")]
    assert only("康永二年").court == "northern"
    assert only("観應元年庚寅").first == "1350-02-16"


def test_cycle_alone_lists_each_time_round():
    found = dates.read("壬申", within=(1700, 1900))
    assert [(d.era, d.year) for d in found] == [("宝暦", 2), ("文化", 9), ("明治", 5)]
    assert len({d.first for d in dates.read("壬申")}) == len(cycle.years("壬申", 645, 2100))


def test_branch_alone():
    assert only("弘化二巳年").agrees is None
    assert [d.year for d in dates.read("文化辰年")] == [5]


def test_leap_months():
    d = only("文久二年壬戌閏八月望日")
    assert (d.month, d.leap, d.day, d.first) == (8, True, 15, "1862-10-08")
    assert only("文久二年後八月望日") == dataclasses.replace(d, agrees=None), "後 is 閏; no cycle's name to agree with"
    d = only("嘉永元年閏三月")
    assert not d.leap
    assert "no leap month" in d.notes[0]


def test_a_day_the_month_lacks():
    d = only("文政八年二月卅日")
    assert "no day 30" in d.notes[0]
    d = only("明治五年十二月三日")
    assert any("1873-01-01" in n for n in d.notes)


def test_day_cycle_names():
    # 1783-04-04 is day 甲午: (2372377 + 49) % 60 = 30, standard formula
    d = only("天明三年癸卯三月三日甲午")
    assert any("agrees" in n for n in d.notes)
    assert any("was 甲午, not 庚子" in n for n in only("天明三年癸卯三月三日庚子").notes)
    d = only("天明三年癸卯三月甲午")
    assert d.first == d.last == "1783-04-04"


def test_classical_cycle_names():
    # Erya, Shi tian: 閼逢困敦 is 甲子
    assert only("文化閼逢困敦").year == 1


def test_seasons_and_festivals():
    d = only("天保五稔龍集甲午夏")
    assert d.first == calendar.iso(calendar.month(1834, 4).first)
    assert d.last == calendar.iso(calendar.month(1834, 6).last)
    assert only("文化九年重陽").day == 9
    assert only("文化九年除夜").first == calendar.iso(calendar.month(1812, 12).last)


def test_without_a_year_the_years_looked_through_are_told():
    d = only("十月吉日", within=(1700, 1800))
    assert (d.month, d.day, d.era) == (10, None, "")
    assert "any from 1700 to 1800" in d.notes[0]


def test_what_is_no_date_is_said():
    for text in ("一峯齋", "abc", "???", "吉日"):
        with pytest.raises(TextError, match="No part of a date"):
            dates.read(text)
    with pytest.raises(TextError, match="no sign"):
        dates.read("  \n")
    with pytest.raises(OptionError, match="no range"):
        dates.read("壬申", within=(1800, 1700))
    with pytest.raises(TextError, match="not a place of signs"):
        dates.read([[("文", 7.0)]])


def test_signs_beside_the_date_are_named():
    d = only("于時文化九年壬申春作之")
    assert any("not part of the date" in n for n in d.notes)


def test_find_in_a_longer_inscription():
    text = "應需 一峯齋 嘉永元年戊申\n十月 日 花押 文明開化"
    (start, end, found), = dates.find(text)
    signs = "".join(text.split())
    assert signs[start:end] == "嘉永元年戊申十月日"
    assert found[0].first == "1848-10-27"
    assert dates.find("文明開化") == []
    two = dates.find("文化九年壬申春造之 天保五年甲午再刻")
    assert [d[0].first[:4] for _, _, d in two] == ["1812", "1834"]


def test_plain_words():
    d = only("文久二年閏八月望日")
    assert dates.describe(d) == "文久二年閏八月十五日 (Bunkyū 2, leap eighth month, day 15): 8 October 1862"
    assert dates.describe(d, "ja") == "文久二年閏八月十五日（西暦1862年10月8日）"
    early = only("永正九年正月")
    assert "Julian calendar" in dates.describe(early)
    with pytest.raises(OptionError, match="did you mean"):
        dates.describe(d, "jaa")


DATE_SIGNS = "文化政天保嘉永元年歳月日閏正二三十廿〇?□…一九壬申甲子春冬朔晦吉旦上浣西暦紀元千18[]の作花押"


@given(st.text(alphabet=DATE_SIGNS, max_size=12))
@settings(max_examples=80, deadline=None)
def test_any_text_is_read_or_refused_in_words(text):
    try:
        found = dates.read(text)
    except TextError:
        return
    assert found
    for d in found:
        assert d.first <= d.last
        assert dates.describe(d)
        assert dates.describe(d, "ja")


def test_a_days_cycle_name_without_a_month_places_nothing():
    """己丑 is the year's name; 庚子 after "the tenth day" is the day's and falls six times in a year."""
    d = only("文政十二年己丑十日庚子")
    assert (d.first, d.last, d.cycle) == ("1829-02-04", "1830-01-24", "己丑")
    assert any("cannot be placed without a month" in n for n in d.notes)
    placed = only("文政十二己丑年三月庚子")
    assert (placed.first, placed.last) == ("1829-04-09", "1829-04-09")
    assert cycle.of_day(calendar.jd("1829-04-09")) == "庚子"
