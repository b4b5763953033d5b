"""Which years fit the era, number and cycle name of a date, and what a slip of one sign would change.

Conventions: a ``YearFit`` is one year (Western number of the old-calendar year; Gregorian where ``western``) or,
where only an era stands, the era's whole span. Costs are -700 ln p plus the leaps named below.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TypeAlias

from readaid.script import cycle, numerals
from readaid.script.datetext import Token, Wording
from readaid.script.eras import Era, eras, in_year, year_of

#: Cycle indices (0..59) that the name may be -> (cost, unread signs).
Named: TypeAlias = dict[int, tuple[float, int]]
#: Years this table of eras and the sexagenary test cover; nothing outside is given.
FIRST, LAST = 645, 2100
#: Our own choice, in cost units: an era year and cycle name that disagree; a year past its era's end; a slip supposed.
DISAGREES, PAST_END, SLIP = 2000.0, 700.0, 300.0


@dataclass(frozen=True, slots=True)
class YearFit:
    """One year or span that fits, why, and at what cost. ``guess``: rests on an unread sign."""

    year: int | None
    era: Era | None
    number: int | None
    agrees: bool | None
    cost: float
    guess: bool = False
    western: bool = False
    notes: tuple[str, ...] = ()


def year_name(era: Era, number: int) -> str:
    """``文化元年``, ``文化九年``."""
    return f"{era.name}{'元' if number == 1 else numerals.write(number)}年"


def fits(wording: Wording, cycle_token: Token | None, within: tuple[int, int]) -> list[YearFit]:
    """All years that fit a wording; ``cycle_token`` is the year's cycle name, if one stands."""
    era_token, branch = wording.get("era"), wording.get("branch") or wording.get("branch-bare")
    western = wording.get("western")
    number = _number(wording, era_token)
    named: Named | None = dict(cycle_token.values) if cycle_token else None
    if branch and named is None:
        cost = branch.cost
        named = {i: (cost, 0) for i in range(60) if i % 12 in branch.values}
    if western:
        note = "the year is counted from 660 BC" if western.word else "a Western year"
        found = [_judged(YearFit(y, *_modern(y), None, c, western=True,
                                 notes=(f"{note}: days by the Gregorian calendar",)), named, not branch)
                 for y, (c, _) in western.values.items()]
    elif era_token and number:
        found = [f for e, (ec, eu) in era_token.values.items() for n, (nc, nu) in number.items()
                 if (f := _era_year(eras()[e], n, ec + nc, bool(eu or nu), named, not branch)) is not None]
        if named and all(f.guess and f.agrees is False for f in found):
            # 文化□年戌: only 文化十一年 was a year of the dog, and its number takes two signs
            note = "the year's number takes more signs than stand unread there"
            more = [replace(f, cost=f.cost + SLIP, notes=(*f.notes, note)) for e, (ec, eu) in era_token.values.items()
                    for f in _era_only(eras()[e], ec, True, named, not branch)]
            found = more or found
    elif era_token:
        found = [f for e, (ec, eu) in era_token.values.items()
                 for f in _era_only(eras()[e], ec, bool(eu), named, not branch)]
    elif number:
        found = [f for era in eras() for n, (nc, nu) in number.items()
                 if n <= era.years and within[0] <= era.year + n - 1 <= within[1]
                 and (f := _era_year(era, n, nc, True, named, not branch)) is not None]
    elif named:
        found = list(_cycle_only(named, within))
    else:
        return [YearFit(None, None, None, None, 0.0)]
    if wording.get("branch-bare"):  # 文化三年子英作: a branch alone that does not fit is a sign of the name
        found = [f for f in found if f.agrees is not False]
    found = [f for f in found if f.year is None or FIRST <= f.year <= LAST]
    # What was read stands, however odd; what rests on an unread sign is kept within the years looked through.
    found = [f for f in found if not f.guess or f.year is None or within[0] <= f.year <= within[1]]
    return [g for f in _kept(found) for g in (f, *_slips(f, named, not branch))]


def _modern(year: int) -> tuple[Era | None, int | None]:
    """The era of a whole Western year; None before 1873, where old years began later, and in a year of two eras."""
    running = in_year(year) if 1873 <= year <= LAST else ()
    return (running[0], year - running[0].year + 1) if len(running) == 1 else (None, None)


def _number(wording: Wording, era_token: Token | None) -> dict[int, tuple[float, int]]:
    """Values of the year number; by-place figures (昭和二〇年) too."""
    tokens = [t for t in wording.tokens if t.kind in ("year", "year年", "by-place", "by-place年")]
    return {n: v for t in tokens for n, v in t.values.items()}


def _judged(fit: YearFit, named: Named | None, whole: bool) -> YearFit:
    """The fit with its cycle name weighed; ``whole``: stem and branch stand, not the branch alone."""
    if not named or fit.year is None:
        return fit
    own = named.get((fit.year - 4) % 60)
    if own:
        return replace(fit, agrees=True if whole else fit.agrees, cost=fit.cost + own[0],
                       guess=fit.guess or bool(own[1]))
    cheapest = min(named.items(), key=lambda item: item[1])
    written = cycle.names()[cheapest[0]] if whole else cycle.signs("branch")[cheapest[0] % 12]
    name = year_name(fit.era, fit.number) if fit.era and fit.number else str(fit.year)
    own_name = cycle.of_year(fit.year)
    note = f"{name} was {own_name}, not {written}: one of them is misread, or the date is a slip or false"
    if whole and (slip := cycle_slip(fit.year, written)):
        note += f" ({slip} would make them agree)"
    return replace(fit, agrees=False, cost=fit.cost + cheapest[1][0] + DISAGREES,
                   guess=fit.guess or bool(cheapest[1][1]), notes=(*fit.notes, note))


def _era_year(era: Era, number: int, cost: float, guess: bool, named: Named | None,
              whole: bool) -> YearFit | None:
    notes: tuple[str, ...] = ()
    if number > era.years:
        if guess:
            return None
        year = era.year + number - 1
        others = " or ".join(year_name(e, year - e.year + 1) for e in in_year(year))
        notes = (f"{era.name} ended in its year {era.years}; a year {number} would be {year}, {others}",)
        cost += PAST_END
    return _judged(YearFit(era.year + number - 1, era, number, None, cost, guess, notes=notes), named, whole)


def _era_only(era: Era, cost: float, guess: bool, named: Named | None,
              whole: bool) -> Iterator[YearFit]:
    if not named:
        yield YearFit(None, era, None, None, cost, guess)
        return
    fitting = [y for y in range(era.year, era.year + era.years) if (y - 4) % 60 in named]
    for year in fitting:
        own = named[(year - 4) % 60]
        yield YearFit(year, era, year - era.year + 1, None, cost + own[0], guess or bool(own[1]))
    if not fitting and not guess:
        best = min(named.items(), key=lambda item: item[1])
        name = cycle.names()[best[0]] if whole else cycle.signs("branch")[best[0] % 12]
        note = f"no year of {era.name} ({era.year} to {era.year + era.years - 1}) was {name}"
        yield YearFit(None, era, None, False, cost + best[1][0] + DISAGREES, bool(best[1][1]),
                      notes=(note, *(f"{_swap(era.name, e.name)} would give {year_name(e, y - e.year + 1)}, {y}"
                                     for e in _near_eras(era)
                                     for y in range(e.year, e.year + e.years) if (y - 4) % 60 == best[0])))


def _cycle_only(named: Named, within: tuple[int, int]) -> Iterator[YearFit]:
    for year in range(within[0], within[1] + 1):
        own = named.get((year - 4) % 60)
        if own:
            running = in_year(year) if year <= 2100 else ()
            for era in running:
                yield YearFit(year, era, year - era.year + 1, None, own[0], bool(own[1]))
            if not running:
                yield YearFit(year, None, None, None, own[0], bool(own[1]), notes=("no era was in use in that year",))


def _kept(found: list[YearFit]) -> list[YearFit]:
    """Where unread signs leave a choice, only what agrees, if anything does: 文化〇年壬申 is the ninth year alone."""
    agreeing = [f for f in found if f.agrees is not False]
    return [f for f in found if f.agrees is not False or not f.guess] if agreeing else found


def _differ_in_one(a: str, b: str) -> tuple[str, str] | None:
    pairs = [(x, y) for x, y in zip(a, b, strict=False) if x != y]
    return pairs[0] if len(a) == len(b) and len(pairs) == 1 else None


def _near_eras(era: Era) -> list[Era]:
    return [e for e in eras() if _differ_in_one(era.name, e.name)]


def _swap(written: str, meant: str) -> str:
    pair = _differ_in_one(written, meant)
    return f"{pair[1]} misread as {pair[0]}" if pair else f"{meant} misread as {written}"


def number_slip(written: int, meant: int) -> str | None:
    """How one sign would turn one year number into another, in words; None if it takes more.

    >>> number_slip(5, 9), number_slip(13, 3), number_slip(12, 30)
    ('九 misread as 五', 'a superfluous 十', None)
    """
    ways_a = (*numerals.forms(written)[:-1], *("元",) * (written == 1))
    ways_b = (*numerals.forms(meant)[:-1], *("元",) * (meant == 1))
    for a in ways_a:
        for b in ways_b:
            if pair := _differ_in_one(a, b):
                return f"{pair[1]} misread as {pair[0]}"
            for longer, shorter, word in ((a, b, "a superfluous"), (b, a, "a lost")):
                for i in range(len(longer)):
                    if longer[:i] + longer[i + 1:] == shorter and shorter:
                        return f"{word} {longer[i]}"
    return None


def _slips(fit: YearFit, named: Named | None, whole: bool) -> list[YearFit]:
    """What agrees after one sign is changed: another number, another era, another cycle name."""
    # One slip is supposed only where all was read: with an unread sign nearly every year is one slip away.
    if fit.agrees is not False or fit.guess or not named or not whole or not fit.era or not fit.number:
        return []
    index = min(named.items(), key=lambda item: item[1])[0]
    made, era = [], fit.era
    name, base = cycle.names()[index], fit.cost + SLIP
    for year in range(era.year, era.year + era.years):
        if (year - 4) % 60 == index:
            slip = number_slip(fit.number, year - era.year + 1)
            why = slip or "more than one sign misread in the number"
            note = f"the cycle name {name} gives {year_name(era, year - era.year + 1)}: {why}"
            made.append(replace(fit, year=year, number=year - era.year + 1, cost=base + (0 if slip else SLIP),
                                notes=(note,)))
    for other in _near_eras(era):
        year = other.year + fit.number - 1
        if fit.number <= other.years and (year - 4) % 60 == index:
            note = f"{year_name(other, fit.number)} was {name}: {_swap(era.name, other.name)}"
            made.append(replace(fit, year=year, era=other, cost=base, notes=(note,)))
    return made


def cycle_slip(year: int, written: str) -> str | None:
    """How one sign of the written cycle name would make it that year's; None if both signs differ.

    >>> cycle_slip(1808, "戊申")
    '辰 misread as 申'
    """
    pair = _differ_in_one(written, cycle.of_year(year))
    return f"{pair[1]} misread as {pair[0]}" if pair else None


def eras_of_day(jd: int) -> str:
    """Names and years in use on a day: ``享和四年``; both courts' joined by " or "."""
    from readaid.script.eras import on_day

    year = year_of(jd)
    return " or ".join(year_name(e, year - e.year + 1) for e in on_day(jd)) or "no era"
