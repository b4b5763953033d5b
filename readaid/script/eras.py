"""Eras (nengo) from 645, with the northern court's, as a table of first and last days.

Conventions: ``year`` is the Western number of the old-calendar year that is the era's year 1, so year n of an
era is ``year + n - 1``. Days are Julian day numbers, both ends inclusive. ``court`` is "", "northern" or
"southern". Names are in today's character forms. Source: see the header of ``tables/eras.tsv``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from readaid.core.errors import OptionError
from readaid.script import calendar
from readaid.script.rows import load

#: Last day given to the era that is still running: the end of the years the sexagenary test covers.
RUNNING_UNTIL = calendar.jd("2100-12-31")
COURTS = ("", "northern", "southern")


@dataclass(frozen=True, slots=True)
class Era:
    """One era: name, sound (modified Hepburn), first Western year, first and last Julian day, court, note."""

    name: str
    sound: str
    year: int
    first: int
    last: int
    court: str = ""
    note: str = ""

    @property
    def years(self) -> int:
        """How many numbered years it has (the last one usually incomplete)."""
        return year_of(self.last) - self.year + 1


def year_of(jd: int) -> int:
    """Western number of the old-calendar year (from 1873: the Gregorian year) a Julian day lies in.

    >>> year_of(calendar.jd("1849-01-10"))
    1848
    """
    return calendar.from_jd(jd).year if jd < calendar.GREGORIAN_DAY else int(calendar.iso(jd)[:4])


def day_number(text: str) -> int:
    """Julian day number of a table day: ``1848-2-28``, ``1392-10i-5`` (old calendar) or ISO from 1873."""
    year, month, day = text.split("-")
    if int(year) > calendar.LAST_YEAR:
        return calendar.jd(text)
    return calendar.to_jd(calendar.OldDay(int(year), int(month.rstrip("i")), month.endswith("i"), int(day)))


def _era(row: dict[str, str]) -> Era:
    if row["court"] not in COURTS:
        raise ValueError(f"court {row['court']!r}")
    last = day_number(row["last"]) if row["last"] else RUNNING_UNTIL
    made = Era(row["name"], row["sound"], int(row["year"]), day_number(row["first"]), last, row["court"], row["note"])
    if made.last < made.first or year_of(made.first) != made.year:
        raise ValueError(f"{made.name}: days and first year do not fit together")
    return made


@cache
def eras() -> tuple[Era, ...]:
    """All eras in order of their first day.

    >>> len(eras()), eras()[0].name, eras()[-1].name
    (248, '大化', '令和')
    """
    return tuple(load("eras.tsv", ("name", "sound", "year", "court", "first", "last", "note"), _era))


@cache
def _by_name() -> dict[str, Era]:
    return {e.name: e for e in eras()}


def era(name: str) -> Era:
    """The era of that name (today's character forms). Raises OptionError with the nearest name.

    >>> era("嘉永").year, era("嘉永").years, era("嘉永").sound
    (1848, 7, 'Kaei')
    """
    if name not in _by_name():
        # 嘉水 is one sign from 嘉永; nearly all names have two signs, so that two wrong ones would fit every era.
        near = [e for e in _by_name() if len(e) == len(name) and sum(map(str.__ne__, e, name)) == 1]
        hint = f"did you mean {', '.join(near)}?" if near else "write it in today's forms; eras() lists them all"
        raise OptionError(f"Unknown era '{name}'", cure=hint, given=name, near=near)
    return _by_name()[name]


def on_day(jd: int) -> tuple[Era, ...]:
    """Eras in use on a day: one, none (before 701 in part) or both courts'.

    >>> [e.name for e in on_day(calendar.jd("1375-08-01"))]
    ['永和', '天授']
    """
    return tuple(e for e in eras() if e.first <= jd <= e.last)


def in_year(year: int) -> tuple[Era, ...]:
    """Eras that were in use on some day of an old-calendar year (from 1873: Gregorian year), in order.

    >>> [e.name for e in in_year(1868)]
    ['慶応', '明治']
    """
    first, last = calendar.year_range(year)
    return tuple(e for e in eras() if e.first <= last and e.last >= first)
