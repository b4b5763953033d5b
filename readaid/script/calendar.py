"""The old Japanese calendar, 445-1872: lunisolar day <-> Julian day number <-> Gregorian ISO day.

Conventions: years carry the number of the Western year that holds most of them (old year 1848 began on
1848-02-05 and ended on 1849-01-23). Months count from 1; a leap month has the number of the month it follows
and ``leap=True``. A Julian day number (``jd``) is an int, counted at noon; ISO days are proleptic Gregorian.
From 1873 on the Gregorian calendar alone holds and the old one is not defined here.
Source: see the header of ``tables/calendar_years.tsv``.
"""

from __future__ import annotations

from bisect import bisect_right
from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from functools import cache

from readaid.core.errors import OptionError, TableError
from readaid.script.rows import load

FIRST_YEAR, LAST_YEAR = 445, 1872
#: Julian day numbers of the first day of 445 and of 1873-01-01, which close the table at both ends.
FIRST_DAY, GREGORIAN_DAY = 1883618, 2405160
#: Julian day number minus ``date.toordinal()``.
_ORDINAL = 1721425
_DAYS = {"L": 30, "S": 29}


@dataclass(frozen=True, slots=True, order=True)
class OldDay:
    """A day of the old calendar. Ordered as they ran: the leap month after its plain one."""

    year: int
    month: int
    leap: bool
    day: int


@dataclass(frozen=True, slots=True)
class OldMonth:
    """A month of the old calendar: number, whether leap, Julian day number of its first day, length in days."""

    year: int
    number: int
    leap: bool
    first: int
    days: int

    @property
    def last(self) -> int:
        """Julian day number of its last day."""
        return self.first + self.days - 1


def iso(jd: int) -> str:
    """ISO day (proleptic Gregorian) of a Julian day number.

    >>> iso(2405160)
    '1873-01-01'
    """
    return date.fromordinal(jd - _ORDINAL).isoformat()


def jd(day: str) -> int:
    """Julian day number of an ISO day (proleptic Gregorian, years 1 to 9999).

    >>> jd("2000-01-01")
    2451545
    """
    return date.fromisoformat(day).toordinal() + _ORDINAL


def julian(number: int) -> str:
    """The day in the Julian calendar that was used in Europe until 1582, as ``year-month-day``.

    Richards' integer formula (Explanatory Supplement to the Astronomical Almanac, 3rd ed., section 15.11).

    >>> julian(2299160)  # the last day before the reform
    '1582-10-04'
    """
    f = number + 1401
    e = 4 * f + 3
    h = 5 * ((e % 1461) // 4) + 2
    day, month = (h % 153) // 5 + 1, (h // 153 + 2) % 12 + 1
    return f"{e // 1461 - 4716 + (14 - month) // 12:04d}-{month:02d}-{day:02d}"


def year_length(lengths: str) -> list[int]:
    """Days of each month of a table row such as ``LSLS...``; raises ValueError for other letters."""
    days = [_DAYS[c] if c in _DAYS else int(c) for c in lengths]
    if len(days) not in (12, 13):
        raise ValueError(f"{len(days)} months")
    return days


@cache
def _years() -> dict[int, tuple[OldMonth, ...]]:
    rows = load("calendar_years.tsv", ("year", "leap", "months"),
                lambda r: (int(r["year"]), int(r["leap"]), year_length(r["months"])))
    first, years = FIRST_DAY, {}
    for expected, (year, leap, lengths) in enumerate(rows, FIRST_YEAR):
        if year != expected or len(lengths) != 12 + bool(leap):
            raise TableError(f"Year {year} stands in the place of {expected} or its leap month does not fit",
                             "calendar_years.tsv", "make the table again")
        months, number, is_leap = [], 0, False
        for days in lengths:
            # The leap month follows the plain one of its number: in 1689 the first month stands twice.
            is_leap = bool(leap) and number == leap and not is_leap
            number += not is_leap
            months.append(OldMonth(year, number, is_leap, first, days))
            first += days
        years[year] = tuple(months)
    # One day too many in one month of 445 would shift every date after it by a day, unseen.
    if first != GREGORIAN_DAY or max(years) != LAST_YEAR:
        raise TableError("The days do not add up to 1873-01-01", "calendar_years.tsv", "make the table again")
    return years


@cache
def _starts() -> tuple[int, ...]:
    return tuple(m.first for months in _years().values() for m in months)


@cache
def _months() -> tuple[OldMonth, ...]:
    return tuple(m for months in _years().values() for m in months)


def months(year: int) -> tuple[OldMonth, ...]:
    """The 12 or 13 months of an old year in order. Raises OptionError outside 445-1872.

    >>> [(m.number, m.leap) for m in months(1689)][:3]
    [(1, False), (1, True), (2, False)]
    """
    if year not in _years():
        raise OptionError(f"The old calendar's months of {year} are not known", "",
                          f"give a year from {FIRST_YEAR} to {LAST_YEAR}", year=year)
    return _years()[year]


def month(year: int, number: int, leap: bool = False) -> OldMonth:
    """One month. Raises OptionError if that year has none such.

    >>> iso(month(1848, 10).first), iso(month(1848, 10).last)
    ('1848-10-27', '1848-11-25')
    """
    for m in months(year):
        if (m.number, m.leap) == (number, leap):
            return m
    leaps = [m.number for m in months(year) if m.leap]
    # What that year had is told, so that a misread number (閏二 for 閏三) is seen at once.
    cure = f"its leap month followed month {leaps[0]}" if leaps else "that year has no leap month"
    raise OptionError(f"{year} has no {'leap ' if leap else ''}month {number}", "", cure, year=year, month=number)


def to_jd(day: OldDay) -> int:
    """Julian day number of an old-calendar day. Raises OptionError if there is no such day.

    >>> iso(to_jd(OldDay(1818, 4, False, 22)))
    '1818-05-26'
    """
    m = month(day.year, day.month, day.leap)
    if not 1 <= day.day <= m.days:
        raise OptionError(f"Month {day.month} of {day.year} has no day {day.day}", "", f"it has {m.days} days",
                          day=day.day)
    return m.first + day.day - 1


def from_jd(number: int) -> OldDay:
    """Old-calendar day of a Julian day number. Raises OptionError outside 445-1872.

    >>> from_jd(jd("1689-05-16"))
    OldDay(year=1689, month=3, leap=False, day=27)
    """
    if not FIRST_DAY <= number < GREGORIAN_DAY:
        raise OptionError(f"Julian day {number} lies outside the old calendar's table", "",
                          f"give a day from {FIRST_DAY} to {GREGORIAN_DAY - 1}", jd=number)
    m = _months()[bisect_right(_starts(), number) - 1]
    return OldDay(m.year, m.number, m.leap, number - m.first + 1)


def year_range(year: int) -> tuple[int, int]:
    """First and last Julian day numbers of an old year; of a Gregorian year from 1873 on.

    >>> [iso(n) for n in year_range(1848)], [iso(n) for n in year_range(1900)]
    (['1848-02-05', '1849-01-23'], ['1900-01-01', '1900-12-31'])
    """
    if year > LAST_YEAR:
        return jd(f"{year:04d}-01-01"), jd(f"{year:04d}-12-31")
    whole = months(year)
    return whole[0].first, whole[-1].last


def gregorian_month(year: int, number: int) -> tuple[int, int]:
    """First and last Julian day numbers of a Gregorian month.

    >>> [iso(n) for n in gregorian_month(1904, 2)]
    ['1904-02-01', '1904-02-29']
    """
    first = jd(f"{year:04d}-{number:02d}-01")
    return first, first + monthrange(year, number)[1] - 1
