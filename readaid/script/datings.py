"""Datings put together from the years and days that fit a date's words, and a dating in plain words.

Conventions: see ``script.dates``. Cheapest first, equal ones in order of time; a dating that occurs by two
wordings is given once, at its lower cost.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from readaid.core.dating import Dating
from readaid.core.errors import unknown_option
from readaid.script import calendar, cycle, dayfit, numerals, yearfit
from readaid.script.datetext import Token, Wording
from readaid.script.eras import Era, eras, on_day, year_of
from readaid.script.period import PERIOD, Evidence, ranked
from readaid.script.signs import Signs
from readaid.script.yearfit import YearFit

#: Our own choice, in cost units: a day before its era began or after it ended.
OUTSIDE_ERA = 300.0
#: Datings dearer than the best by more than this are not given (as if a thousand times less likely), slips apart.
MARGIN = 4900.0
_ORDINALS = ("", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
             "eleventh", "twelfth")
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
           "December")
_JULIAN_UNTIL = 2299160


def fitting(signs: Signs, wordings: list[Wording], within: tuple[int, int], notes: tuple[str, ...] = (),
            period: tuple[int, int] = PERIOD, evidence: tuple[Evidence, ...] = ()) -> list[Dating]:
    """Datings of several wordings of the same stretch, best first; those outside the working period folded."""
    best: dict[tuple[object, ...], tuple[float, Dating]] = {}
    cheapest = min(w.cost for w in wordings)
    for wording in wordings:
        if wording.cost > cheapest + MARGIN:
            continue
        for cost, dating in _of(wording, within, notes):
            # Two wordings of one date (文化九年 as number and year word, or as one) are one dating.
            key = (dating.first, dating.last, dating.era, dating.year, dating.month, dating.leap, dating.day)
            if key not in best or cost < best[key][0]:
                best[key] = (cost, dating)
    made = sorted(best.values(), key=lambda item: (round(item[0], 3), item[1].first, item[1].court, item[1].era))
    made = [item for item in made if item[0] <= made[0][0] + MARGIN]
    return ranked([(cost, _with_calendar(dating)) for cost, dating in _plain_zero(made)], period, evidence)


def _with_calendar(dating: Dating) -> Dating:
    """Days before the reform of 1582 say that they are reckoned back, and what Europe's calendar then said."""
    if calendar.jd(dating.first) > _JULIAN_UNTIL or not dating.cycle:
        return dating
    first, last = (calendar.julian(calendar.jd(d)) for d in (dating.first, dating.last))
    note = f"days by the Gregorian calendar reckoned back; in the Julian calendar of that time {first} to {last}"
    return replace(dating, notes=(*dating.notes, note))


def _plain_zero(made: list[tuple[float, Dating]]) -> list[tuple[float, Dating]]:
    """昭和二〇年: where the ring read as a zero fits a modern era, it is not also an unread sign."""
    if made and made[0][0] < 1.0 and made[0][1].first >= "1868":
        return [item for item in made if item[0] < 1.0]
    return made


def _of(wording: Wording, within: tuple[int, int], notes: tuple[str, ...]) -> list[tuple[float, Dating]]:
    year_cycle, day_cycle = _cycles(wording)
    made = []
    for fit in yearfit.fits(wording, year_cycle, within):
        late = day_cycle
        if year_cycle is not None and year_cycle is day_cycle:  # one name, late: the year's if it fits, else the day's
            # 天保三年三月庚子: that year was 壬辰, so 庚子 is the day's name.
            late = None if fit.agrees is not False else day_cycle
        made += _dated(wording, fit, late, within, notes)
    base = sum(t.cost for t in wording.tokens if t.kind in ("filler", "noday", "yearword"))
    return [(cost + base, dating) for cost, dating in made]


def _cycles(wording: Wording) -> tuple[Token | None, Token | None]:
    """The year's cycle name and the day's (after the month or day). Both the same token where one stands late."""
    early, late, dated = None, None, False
    for token in wording.tokens:
        dated = dated or token.kind in ("month", "festival", "day", "day-bare")
        if token.kind == "cycle":
            if dated:
                late = token
            else:
                early = token
    if early is None and late is not None:
        return late, late
    return early, late


def _dated(wording: Wording, fit: YearFit, late: Token | None, within: tuple[int, int],
           notes: tuple[str, ...]) -> list[tuple[float, Dating]]:
    if fit.year is not None:
        return [_dating(fit, d, notes) for d in dayfit.fits(wording, fit.year, fit.western, late)]
    placed = any(wording.get(k) for k in ("month", "season", "festival"))
    if fit.era and placed:  # 文化三月: that month of each of the era's years
        years = range(fit.era.year, fit.era.year + fit.era.years)
        each = [YearFit(y, fit.era, y - fit.era.year + 1, fit.agrees, fit.cost, True, notes=fit.notes) for y in years]
        return [_dating(f, d, (*notes, "no year of the era stands there: one dating for each")) for f in each
                for d in dayfit.fits(wording, f.year or 0, False, late) if not d.lacking]
    if fit.era:
        word = wording.get("noday")
        extra = (f"{next(iter(word.values))} names no year",) if word else ()
        return [(fit.cost, Dating(calendar.iso(fit.era.first), calendar.iso(fit.era.last), fit.era.name, None, "",
                                  fit.agrees, court=fit.era.court, notes=(*fit.notes, *extra, *notes)))]
    first, last = calendar.year_range(within[0])[0], calendar.year_range(within[1])[1]
    day = next(iter(dayfit.fits(wording, 1848, False)), None)
    note = f"no year stands there: any from {within[0]} to {within[1]}"
    return [(0.0, Dating(calendar.iso(first), calendar.iso(last), "", None, "", None, day.month if day else None,
                         day.leap if day else False, day.day if day else None, notes=(note, *notes)))]


def _dating(fit: YearFit, day: dayfit.DayFit, notes: tuple[str, ...]) -> tuple[float, Dating]:
    assert fit.year is not None
    era_notes, cost = _against_era(fit, day)
    return fit.cost + day.cost + cost, Dating(
        calendar.iso(day.first), calendar.iso(day.last), fit.era.name if fit.era else "", fit.number,
        cycle.of_year(fit.year), fit.agrees, day.month, day.leap, day.day, fit.era.court if fit.era else "",
        (*fit.notes, *era_notes, *day.notes, *notes))


def _against_era(fit: YearFit, day: dayfit.DayFit) -> tuple[tuple[str, ...], float]:
    """Notes on a range that lies before its era began, after it ended, or across either."""
    era = fit.era
    if era is None or fit.number is None or fit.number > era.years:
        return (), 0.0
    # 嘉永元年正月 lies before 嘉永 was proclaimed: such dates stand on pieces, so it is told and not refused.
    if day.last < era.first:
        return ((f"before {era.name} began on {calendar.iso(era.first)}: "
                 f"by then still {yearfit.eras_of_day(day.first)}; a first year was often counted back",), OUTSIDE_ERA)
    if day.first > era.last:
        return ((f"after {era.name} ended on {calendar.iso(era.last)}: by then {yearfit.eras_of_day(day.first)}",),
                OUTSIDE_ERA)
    found: tuple[str, ...] = ()
    if day.first < era.first:
        found += (f"{era.name} began on {calendar.iso(era.first)}; "
                  f"days before belonged to {yearfit.eras_of_day(era.first - 1)}",)
    if day.last > era.last:
        found += (f"{era.name} ended on {calendar.iso(era.last)}; "
                  f"days after belonged to {yearfit.eras_of_day(era.last + 1)}",)
    return found, 0.0


def words(dating: Dating, language: str = "en") -> str:
    """See ``dates.describe``."""
    if language not in ("en", "ja"):
        raise unknown_option("language", language, ("en", "ja"))
    head = _written(dating)
    if not dating.cycle and not dating.era:
        span = dating.first[:4].lstrip("0"), dating.last[:4]
        if language == "ja":
            return f"{head}（年なし、西暦{span[0]}年から{span[1]}年のいずれか）"
        return f"{head} ({_english_head(dating)}): no year stands there, any from {span[0]} to {span[1]}"
    if language == "ja":
        both = (dating.first, dating.last)
        first, last = (f"{int(d[:4])}年{int(d[5:7])}月{int(d[8:])}日" for d in both)
        same_year = first.split("年")[0] + "年"
        days = f"西暦{first}" if first == last else f"西暦{first}から{last.removeprefix(same_year)}まで"
        return f"{head}（{days}）" if head else days
    days = _english_days(dating.first, dating.last)
    if calendar.jd(dating.first) <= _JULIAN_UNTIL:
        first, last = (calendar.julian(calendar.jd(d)) for d in (dating.first, dating.last))
        days += f" (Julian calendar: {_english_days(first, last)})"
    return f"{head} ({_english_head(dating)}): {days}" if head else days


def _written(dating: Dating) -> str:
    text = dating.era
    if dating.year is not None:
        text += "元年" if dating.year == 1 else f"{numerals.write(dating.year)}年"
    if dating.month:
        # 正月 by the old calendar; since 1873 the month is 一月.
        old_first = dating.month == 1 and dating.first < "1873"
        text += f"{'閏' if dating.leap else ''}{'正' if old_first else numerals.write(dating.month)}月"
    return text + (f"{numerals.write(dating.day)}日" if dating.day and dating.day > 0 else "")


def _english_head(dating: Dating) -> str:
    era = next((e for e in eras() if e.name == dating.era), None)
    parts = [f"{era.sound} {dating.year}" if dating.year else f"the {era.sound} era"] if era else []
    if dating.court:
        parts.append(f"{dating.court} court")
    if dating.month:
        parts.append(f"{'leap ' if dating.leap else ''}{_ORDINALS[dating.month]} month")
    if dating.day and dating.day > 0:
        parts.append(f"day {dating.day}")
    return ", ".join(parts)


def _english_days(first: str, last: str) -> str:
    a, b = ((int(d[:4]), _MONTHS[int(d[5:7]) - 1], int(d[8:])) for d in (first, last))
    if a == b:
        return f"{a[2]} {a[1]} {a[0]}"
    if a[0] != b[0]:
        return f"{a[2]} {a[1]} {a[0]} to {b[2]} {b[1]} {b[0]}"
    if a[1] != b[1]:
        return f"{a[2]} {a[1]} to {b[2]} {b[1]} {b[0]}"
    return f"{a[2]} to {b[2]} {b[1]} {b[0]}"


def name_of_day(jd: int) -> str:
    """See ``dates.written``."""
    year = year_of(jd)
    named: list[Era] = list(on_day(jd))
    heads = "・".join(yearfit.year_name(e, year - e.year + 1) for e in named)
    if jd < calendar.GREGORIAN_DAY:
        day = calendar.from_jd(jd)
        month, leap, number = day.month, day.leap, day.day
    else:
        modern = date.fromisoformat(calendar.iso(jd))
        month, leap, number = modern.month, False, modern.day
    name = "正" if month == 1 and jd < calendar.GREGORIAN_DAY else numerals.write(month)
    return f"{heads}{cycle.of_year(year)}{'閏' if leap else ''}{name}月{numerals.write(number)}日"
