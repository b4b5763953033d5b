"""Which days a month and day name within a year: the old calendar to 1872, the Gregorian one from 1873.

Conventions: a ``DayFit`` is an inclusive range of Julian day numbers, with month, leap and day as they count in
that year. What a year lacks (a leap month, a 30th day) is answered with the nearest range and a note.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from readaid.script import calendar, cycle, eras, solar_terms
from readaid.script.datetext import END, Token, Wording

#: Our own choice, in cost units: a month or day that the year does not have.
LACKING = 1500.0


@dataclass(frozen=True, slots=True)
class DayFit:
    """A range of days within a year and what it cost to get there."""

    first: int
    last: int
    month: int | None = None
    leap: bool = False
    day: int | None = None
    cost: float = 0.0
    notes: tuple[str, ...] = ()
    lacking: bool = False


def fits(wording: Wording, year: int, western: bool, day_cycle: Token | None = None) -> list[DayFit]:
    """All day ranges a wording may mean in a year, cheapest first."""
    made = [f for month in _months(wording, year, western) for f in _days(wording, month, year, western)]
    # Where a sign is unread (閏?月), the leap month which that year had leaves out those that it had not.
    if any(not f.lacking for f in made):
        made = [f for f in made if not f.lacking]
    if day_cycle:
        made = [g for f in made for g in _by_day_cycle(f, day_cycle)]
    return sorted(made, key=lambda f: (f.cost, f.first))


def _months(wording: Wording, year: int, western: bool) -> list[DayFit]:
    month, season, festival = wording.get("month"), wording.get("season"), wording.get("festival")
    if term := wording.get("term"):
        return _by_term(year, term, month, season, western)
    if month:
        choices = [(m, leap, cost) for (m, leap), (cost, _) in month.values.items()]
    elif festival:
        choices = [(m, False, cost) for (m, _), (cost, _) in festival.values.items()]
    elif season:
        return [_season(q, year, western, cost) for q, (cost, _) in season.values.items()]
    else:
        first, last = _gregorian_year(year) if western else calendar.year_range(year)
        return [DayFit(first, last)]
    return [_month(year, m, leap, western, cost) for m, leap, cost in choices]


def _by_term(year: int, term: Token, month: Token | None, season: Token | None, western: bool) -> list[DayFit]:
    """Days of a solar term within a year; 立春 may fall twice in an old year, or not at all."""
    degrees, (cost, _) = next(iter(term.values.items()))
    first, last = _gregorian_year(year) if western else calendar.year_range(year)
    made = []
    for day in solar_terms.within(degrees, first, last):
        early, late = day.first, day.last
        old = calendar.from_jd(day.likeliest) if day.likeliest < calendar.GREGORIAN_DAY and not western else None
        number = old.month if old else int(calendar.iso(day.likeliest)[5:7])
        # A term in another month than the one written is kept, dearer: the sign of the month may be the one misread.
        if month and (number, bool(old and old.leap)) not in month.values:
            cost += LACKING
        made.append(DayFit(early, late, number, bool(old and old.leap), cost=cost, notes=(day.note,)))
    if made:
        return made
    named = solar_terms.name(degrees)
    note = f"{named} does not fall in that year: the whole year is given"
    return [DayFit(first, last, cost=cost + LACKING, notes=(note,), lacking=True)]


def _gregorian_year(year: int) -> tuple[int, int]:
    return calendar.jd(f"{year:04d}-01-01"), calendar.jd(f"{year:04d}-12-31")


def _season(quarter: int, year: int, western: bool, cost: float) -> DayFit:
    if western or year > calendar.LAST_YEAR:
        first = calendar.gregorian_month(year, 3 * quarter - 2)[0]
        last = calendar.gregorian_month(year, 3 * quarter)[1]
        return DayFit(first, last, cost=cost, notes=(
            "seasons are taken by the calendar's months; after 1872 spring was also counted from February or March",))
    # A leap month belongs to the season of its number: spring of 1689 had four months.
    held = [m for m in calendar.months(year) if (m.number - 1) // 3 == quarter - 1]
    return DayFit(held[0].first, held[-1].last, cost=cost)


def _month(year: int, number: int, leap: bool, western: bool, cost: float) -> DayFit:
    if western or year > calendar.LAST_YEAR:
        first, last = calendar.gregorian_month(year, number)
        notes = ("there is no leap month in the Gregorian calendar of that year",) if leap else ()
        return DayFit(first, last, number, False, cost=cost + LACKING * leap, notes=notes, lacking=leap)
    own = [m for m in calendar.months(year) if m.number == number]
    exact = [m for m in own if m.leap == leap]
    if exact:
        return DayFit(exact[0].first, exact[0].last, number, leap, cost=cost)
    leaps = [m.number for m in calendar.months(year) if m.leap]
    had = f"its leap month followed month {leaps[0]}" if leaps else "it had no leap month"
    held = _years_with_leap(year, number)
    where = f"; a leap month {number} stood in {held}" if held else ""
    note = f"{year} had no leap month {number}: {had}{where}; the days of the plain month are given"
    return DayFit(own[0].first, own[-1].last, number, False, cost=cost + LACKING, notes=(note,), lacking=True)


def _years_with_leap(year: int, number: int) -> str:
    """The nearest old years that had that leap month, with their eras: two before and two after."""
    held = [y for y in range(max(calendar.FIRST_YEAR, year - 80), min(calendar.LAST_YEAR, year + 80) + 1)
            if any(m.leap and m.number == number for m in calendar.months(y))]
    near = [y for y in held if y < year][-2:] + [y for y in held if y > year][:2]
    named = [f"{y} ({'・'.join(f'{e.name}{y - e.year + 1}' for e in eras.in_year(y))})" for y in near]
    return ", ".join(named)


def _days(wording: Wording, month: DayFit, year: int, western: bool) -> list[DayFit]:
    token = wording.get("day") or wording.get("day-bare")
    festival, noday = wording.get("festival"), wording.get("noday")
    if token:
        spans = [(a, b, cost) for (a, b), (cost, _) in token.values.items()]
    elif festival:
        spans = [(d, d, 0.0) for (_, d) in festival.values]
    else:
        return [_without_day(month, noday)]
    if month.month is None:
        note = "no month stands there, so the day cannot be placed"
        return [DayFit(month.first, month.last, day=a if a == b and a != END else None, cost=month.cost + cost,
                       notes=(*month.notes, note)) for a, b, cost in spans]
    length = month.last - month.first + 1
    made = []
    for a, b, cost in spans:
        start, stop = length if a == END else a, length if b == END else b
        if start > length:
            note = f"that month has {length} days, no day {start}; the month is given"
            if (year, month.month, western) == (1872, 12, False):
                note = "the old calendar stopped after the second day of that month: day 3 was 1873-01-01"
            made.append(DayFit(month.first, month.last, month.month, month.leap, a, month.cost + cost + LACKING,
                               (*month.notes, note), True))
        else:
            stop = min(stop, length)
            named = () if start == stop else (f"days {start} to {stop} of the month",)
            made.append(DayFit(month.first + start - 1, month.first + stop - 1, month.month, month.leap,
                               start if start == stop else None, month.cost + cost, (*month.notes, *named),
                               month.lacking))
    return made


def _without_day(month: DayFit, noday: Token | None) -> DayFit:
    if not noday:
        return month
    word = next(iter(noday.values))
    if word != "日":
        note = f"{word} names no day" if word not in ("年中", "年間", "年代", "頃", "比") else f"{word} names no year"
    elif month.month in (2, 8):
        # 二月日 and 八月日 stand on many blades, whatever the month of making: common practice, no source
        note = f"{'二' if month.month == 2 else '八'}月日 is often conventional: it need not be the month of making"
    else:
        note = "no day is named"
    return replace(month, notes=(*month.notes, note))


def _by_day_cycle(fit: DayFit, token: Token) -> list[DayFit]:
    """Narrow a range by the day's own cycle name (三月庚子), or say that the day had another."""
    named = set(token.values)
    days = [j for j in range(fit.first, fit.last + 1) if (j + 49) % 60 in named]
    if fit.first == fit.last:
        own = cycle.of_day(fit.first)
        if days:
            return [DayFit(fit.first, fit.last, fit.month, fit.leap, fit.day, fit.cost,
                           (*fit.notes, f"the day's cycle name {own} agrees"), fit.lacking)]
        written = cycle.names()[min(named)]
        return [DayFit(fit.first, fit.last, fit.month, fit.leap, fit.day, fit.cost + LACKING,
                       (*fit.notes, f"that day was {own}, not {written}"), fit.lacking)]
    # Within sixty days a cycle name falls once; in a longer range it would be placed by chance.
    if not days or fit.last - fit.first > 60:
        note = "the second cycle name, if it is the day's, does not fall in these days" if not days else \
            "the second cycle name is taken for the day's and cannot be placed without a month"
        return [DayFit(fit.first, fit.last, fit.month, fit.leap, fit.day, fit.cost + LACKING * (not days),
                       (*fit.notes, note), fit.lacking)]
    return [DayFit(j, j, fit.month, fit.leap, j - fit.first + 1 if fit.month else None, fit.cost,
                   (*fit.notes, f"the day is placed by its cycle name {cycle.of_day(j)}"), fit.lacking) for j in days]
