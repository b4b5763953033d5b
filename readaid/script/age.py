"""Ages on objects, counted the old way (kazoe-doshi): one in the year of birth, one more each new year.

Conventions: years are Western numbers of old-calendar years (Gregorian from 1873); ``age`` is as written. From 1902
(law on the reckoning of age) and in daily use from 1950 ages may be counted in full years: both are then offered.
"""

from __future__ import annotations

from dataclasses import dataclass

from readaid.core.dating import Dating
from readaid.core.errors import OptionError
from readaid.script import calendar, eras

#: Full years became lawful in 1902; written ages of artists kept to the old count well beyond.
FULL_YEARS_FROM = 1902
MOST = 120


@dataclass(frozen=True, slots=True)
class AgeFit:
    """Whether an age, a year of birth and a year of the piece go together, in words."""

    agrees: bool
    expected: int  # the age the old count gives
    words: str


def born(age: int, year: int) -> int:
    """Year of birth of someone of that age (old count) in that year. Raises OptionError for an age outside 1..120.

    >>> born(73, 1848)
    1776
    """
    if not 1 <= age <= MOST:
        raise OptionError(f"An age of {age} cannot be reckoned with", cure=f"give an age from 1 to {MOST}", age=age)
    return year - age + 1


def born_from(age: int, dating: Dating) -> tuple[int, int]:
    """First and last year of birth for an age on a dated piece. Full years are allowed for from 1902.

    >>> from readaid.script import dates
    >>> born_from(73, dates.read("嘉永元年")[0])
    (1776, 1776)
    """
    # The old year counts: a piece of January 1849 belongs to Kaei 1, and its maker had not yet grown a year older.
    first = eras.year_of(calendar.jd(dating.first))
    last = eras.year_of(calendar.jd(dating.last))
    # In full years someone of 73 in 1910 was born in 1836 or 1837; by the old count in 1838.
    return born(age, first) - (2 if last >= FULL_YEARS_FROM else 0), born(age, last)


def check(age: int, birth: int, year: int) -> AgeFit:
    """Whether someone born in ``birth`` was ``age`` in ``year`` by the old count; the difference is told.

    >>> check(73, 1776, 1848).agrees, check(72, 1776, 1848).words
    (True, 'born in 1776, the age in 1848 was 73 by the old count, not 72: 1 year short (full years make 71 or 72)')
    """
    born(age, year)
    expected = year - birth + 1
    if expected < 1:
        return AgeFit(False, expected, f"{year} lies before the birth in {birth}")
    if age == expected:
        return AgeFit(True, expected, f"born in {birth}, the age in {year} was {age} by the old count")
    off = abs(age - expected)
    # Two ages in full years, before and after the birthday, which an inscription never tells.
    full = f" (full years make {expected - 2} or {expected - 1})" if age in (expected - 1, expected - 2) else ""
    return AgeFit(False, expected, f"born in {birth}, the age in {year} was {expected} by the old count, not {age}: "
                                   f"{off} year{'s' if off > 1 else ''} {'short' if age < expected else 'over'}{full}")
