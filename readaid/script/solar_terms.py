"""The 24 solar terms (二十四節気): on which day one fell, and how sure that is.

Conventions: a term is the sun's longitude in whole degrees (立春 315, 冬至 270). Days are Julian day numbers in Kyoto's
mean time. The sun's place is computed (Meeus, Astronomical Algorithms, 2nd ed., ch. 25, low accuracy: 0.01 degree).
The calendars of the time put the terms elsewhere: up to 1843 they divided the year evenly from the winter solstice
(平気), and the one in use until 1684 had fallen two days behind. ``TermDay`` holds that span.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from readaid.script import calendar

#: First old year of the calendar with true terms (Tenpō), and the first of the reform that mended the lag (Jōkyō).
TRUE_FROM, MENDED_FROM = calendar.jd("1844-02-18"), calendar.jd("1685-02-04")
#: Kyoto's mean time, 135.77 degrees east, in days; a Julian day number counts from noon.
_KYOTO = 135.77 / 360
_TROPICAL = 365.2422
_TERMS = ("春分", "清明", "穀雨", "立夏", "小満", "芒種", "夏至", "小暑", "大暑", "立秋", "処暑", "白露",
          "秋分", "寒露", "霜降", "立冬", "小雪", "大雪", "冬至", "小寒", "大寒", "立春", "雨水", "啓蟄")
_NAMES = dict(zip(range(0, 360, 15), _TERMS, strict=True))


@dataclass(frozen=True, slots=True)
class TermDay:
    """The days on which a term may have stood in the calendar of its time; ``likeliest`` by that calendar's rule."""

    first: int
    last: int
    likeliest: int
    note: str


def name(degrees: int) -> str:
    """The term's name.

    >>> name(270)
    '冬至'
    """
    return _NAMES[degrees % 360]


def longitude(day: float) -> float:
    """The sun's apparent longitude in degrees at a Julian date (universal time).

    >>> round(longitude(2448908.5), 2)  # 1992-10-13, Meeus' example 25.a: 199.91
    199.91
    """
    t = (day - 2451545.0) / 36525
    mean = 280.46646 + t * (36000.76983 + 0.0003032 * t)
    anomaly = math.radians(357.52911 + t * (35999.05029 - 0.0001537 * t))
    centre = ((1.914602 - t * (0.004817 + 0.000014 * t)) * math.sin(anomaly)
              + (0.019993 - 0.000101 * t) * math.sin(2 * anomaly) + 0.000289 * math.sin(3 * anomaly))
    return (mean + centre - 0.00569 - 0.00478 * math.sin(math.radians(125.04 - 1934.136 * t))) % 360


@lru_cache(maxsize=2000)
def moment(degrees: int, year: int) -> float:
    """Julian date (Kyoto's mean time) at which the sun reached a longitude in a Gregorian year."""
    begin = calendar.jd(f"{year:04d}-01-01") - 0.5
    guess = begin + ((degrees - longitude(begin)) % 360) / 360 * _TROPICAL
    for _ in range(5):
        # The shorter way round: from 359 degrees to 1 it is two on, not 358 back.
        guess += ((degrees - longitude(guess) + 180) % 360 - 180) / 360 * _TROPICAL
    return guess + _KYOTO


def _civil(moment_: float) -> int:
    return math.floor(moment_ + 0.5)


def day(degrees: int, year: int) -> TermDay:
    """The term's days in a Gregorian year (proleptic).

    >>> calendar.iso(day(270, 1859).likeliest), calendar.iso(day(135, 1812).likeliest)
    ('1859-12-22', '1812-08-07')
    """
    true = _civil(moment(degrees, year))
    if true >= TRUE_FROM:
        return TermDay(true, true, true, f"{name(degrees)}: the day the sun reached {degrees} degrees")
    # The even division counts from the winter solstice before: 立春 of a year hangs on the December of the last.
    solstice = moment(270, year if degrees == 270 else year - 1)
    even = _civil(solstice + ((degrees - 270) % 360) / 360 * _TROPICAL)
    lag = 2 if true < MENDED_FROM else 0
    first, last = min(true, even), max(true, even) + lag
    late = ", which ran up to two days late" if lag else ""
    note = f"{name(degrees)}: by the even division of the year that calendars used until 1843{late}"
    return TermDay(first, last, even, f"{note}; the sun itself was there on {calendar.iso(true)}")


def within(degrees: int, first: int, last: int) -> list[TermDay]:
    """Every occurrence of a term whose likeliest day lies from ``first`` to ``last``, in order."""
    years = range(int(calendar.iso(first)[:4]), int(calendar.iso(last)[:4]) + 1)
    found = [day(degrees, year) for year in years]
    return [d for d in found if first <= d.likeliest <= last]
