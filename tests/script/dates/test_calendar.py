"""The old calendar against worked samples, general formulas and its own round trips."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readaid.core.errors import OptionError, TableError
from readaid.script import calendar
from readaid.script.calendar import OldDay
from readaid.script.rows import load

DAYS = st.integers(calendar.FIRST_DAY, calendar.GREGORIAN_DAY - 1)


@given(DAYS)
def test_a_day_comes_back(jd):
    assert calendar.to_jd(calendar.from_jd(jd)) == jd


@given(DAYS)
def test_the_next_day_is_one_later_and_never_earlier_in_the_old_year(jd):
    a = calendar.from_jd(jd)
    if jd + 1 < calendar.GREGORIAN_DAY:
        b = calendar.from_jd(jd + 1)
        assert a < b
        assert b.day in (a.day + 1, 1)


@given(st.dates(date(1, 1, 1), date(9999, 12, 31)))
def test_iso_days_follow_the_standard_library(day):
    assert calendar.iso(calendar.jd(day.isoformat())) == day.isoformat()
    # Unix day 0 is Julian day number 2440588 (published equivalence).
    assert calendar.jd(day.isoformat()) == 2440588 + (day - date(1970, 1, 1)) // timedelta(days=1)


@pytest.mark.parametrize(("old", "iso"), [
    # Worked samples: the documentation of the calendar's source gives these conversions.
    (OldDay(1818, 4, False, 22), "1818-05-26"),
    (OldDay(1689, 3, False, 27), "1689-05-16"),  # a year with a leap first month
    (OldDay(1848, 10, False, 1), "1848-10-27"),
    # The reform, Dajokan proclamation 337 of 1872: the third day of the twelfth month became 1873-01-01.
    (OldDay(1872, 12, False, 2), "1872-12-31"),
    # Well-known days (common knowledge): the raid of the forty-seven retainers; the battle of Sekigahara.
    (OldDay(1702, 12, False, 14), "1703-01-30"),
    (OldDay(1600, 9, False, 15), "1600-10-21"),
])
def test_worked_samples(old, iso):
    assert calendar.iso(calendar.to_jd(old)) == iso
    assert calendar.from_jd(calendar.jd(iso)) == old


def test_every_year_joins_the_next():
    for year in range(calendar.FIRST_YEAR, calendar.LAST_YEAR):
        assert calendar.year_range(year)[1] + 1 == calendar.year_range(year + 1)[0]
    assert calendar.year_range(1872)[1] + 1 == calendar.year_range(1873)[0]


def test_old_years_begin_in_winter_or_early_spring():
    """The first month holds the solar term "rain water" (about 19 February Gregorian): general rule of the calendar."""
    for year in range(700, 1873):
        assert "01-19" <= calendar.iso(calendar.year_range(year)[0])[5:] <= "02-24"


def test_new_moons_recur():
    """The mean month is 29.530589 days (general astronomy): over the whole table the count of months must fit it."""
    months = [m for y in range(calendar.FIRST_YEAR, 1872) for m in calendar.months(y)]
    span = months[-1].first - months[0].first
    assert span / (len(months) - 1) == pytest.approx(29.530589, abs=1e-4)


def test_seven_leap_months_in_nineteen_years_on_average():
    leaps = sum(m.leap for y in range(445, 1872) for m in calendar.months(y))
    assert leaps == pytest.approx(1427 * 7 / 19, abs=2)


def test_what_is_not_there_is_refused_in_words():
    with pytest.raises(OptionError, match=r"1848 has no leap month 3.*no leap month"):
        calendar.month(1848, 3, True)
    with pytest.raises(OptionError, match=r"has no day 30: it has 29 days"):
        calendar.to_jd(OldDay(1848, 1, False, 30))
    with pytest.raises(OptionError, match="1873"):
        calendar.months(1873)
    with pytest.raises(OptionError, match="outside"):
        calendar.from_jd(calendar.GREGORIAN_DAY)


def test_julian_calendar_days():
    # Published: 4 October 1582 (Julian) was followed by 15 October 1582 (Gregorian).
    assert calendar.julian(calendar.jd("1582-10-14")) == "1582-10-04"
    # Published: the Julian day count begins on 1 January 4713 BC (Julian), astronomical year -4712.
    assert calendar.julian(0) == "-4712-01-01"


def test_table_faults_are_told_together(tmp_path):
    (tmp_path / "bad.tsv").write_text("# note\na\tb\n1\tx\n2\ty\n3\t1\t4\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"row 3.*row 4.*row 5: 3 fields"):
        load("bad.tsv", ("a", "b"), lambda r: int(r["b"]), tmp_path)
    with pytest.raises(TableError, match="expected a, c"):
        load("bad.tsv", ("a", "c"), lambda r: r, tmp_path)
