"""Dates on objects: what days fit the words that stand there.

Conventions: every ``Dating`` gives inclusive ISO days (proleptic Gregorian). An era year stands for its whole
old-calendar year. Datings come best first: what agrees before what does not, then in order of time. Nothing is
called impossible: a year past its era's end, a first year before the era began, a leap month that year lacks are
given with a note. With unread signs every date that fits is listed. Datings outside the working period stand last and
are ``folded``. Era names of other countries are never taken for Japanese ones; nothing outside 645-2100 is given.
"""

from __future__ import annotations

from readaid.core.dating import Dating
from readaid.core.errors import OptionError, TextError
from readaid.script import calendar, datetext, datings, foreign_eras
from readaid.script.period import PERIOD, Evidence
from readaid.script.signs import Characters, Signs, signs

#: Years looked through where no era stands: the first era to the end of the running one's table.
WITHIN = (645, 2100)
#: The longest dates on objects have about forty signs; the rest is room for what stands around one.
LONGEST = 300


def read(characters: Characters, within: tuple[int, int] = WITHIN, period: tuple[int, int] = PERIOD,
         evidence: tuple[Evidence, ...] = ()) -> list[Dating]:
    """Every dating that fits the date's words, best first.

    ``characters`` is text (``?``, □ or 〇 for an unread sign, ``[...]`` for a gap) or candidate lists.
    ``within`` (first and last Western year) bounds the search where no era stands or signs are unread.
    ``period`` is the working period (Western years): what lies outside stands last, folded; ``evidence`` (a signer's
    years, see ``script.period``) ranks what is left. Signs that belong to no date are left out and named in the notes.
    Raises TextError if nothing of a date stands there, if the text is too long for one or if the era is another
    country's; OptionError for an empty range.

    >>> [(d.first, d.last) for d in read("嘉永紀元小春吉旦")]
    [('1848-10-27', '1848-11-25')]
    >>> [(d.era, d.year, d.agrees) for d in read("文化〇年壬申")]
    [('文化', 9, True)]
    """
    for first, last in (within, period):
        if first > last or first < 1 or last > 9998:
            raise OptionError(f"The years {first} to {last} are no range", cure="give the earlier year first")
    within = (max(within[0], WITHIN[0]), min(within[1], WITHIN[1]))
    row = _short(characters)
    abroad = foreign_eras.dates(row)
    # A date that takes all signs is tried first. Where another country's era stands (乾隆 ...), parts of it could be
    # read as a Japanese one.
    whole = [w for w in datetext.wordings(row, 0) if w.end == len(row) and _says_something(w)] if not abroad else []
    if whole:
        return _told(datings.fitting(row, whole, within, (), period, evidence), row)
    found = _stretches(row, abroad, strict=False)
    if not found and abroad:
        raise TextError(f"'{row.text[abroad[0].start:abroad[0].end]}' is no Japanese date: {abroad[0].words}",
                        cure="give the Japanese date that stands beside it, if one does")
    if not found:
        raise TextError(f"No part of a date stands in '{row.text}'",
                        cure="give an era name, a year, a cycle name (甲子 ...), a month or a day; ? for an unread one")
    best = max(found, key=lambda group: group[0].end - group[0].start)
    left = row.text[:best[0].start] + " " + row.text[best[0].end:]
    return _told(datings.fitting(row, best, within, (f"not part of the date: {left.strip()}",), period, evidence), row)


def _short(characters: Characters) -> Signs:
    row = signs(characters)
    if len(row) > LONGEST:
        raise TextError(f"{len(row)} signs are too many for a date",
                        cure=f"give the date alone, at most {LONGEST} signs")
    return row


def _told(found: list[Dating], row: Signs) -> list[Dating]:
    if not found:
        raise TextError(f"No year fits all that stands in '{row.text}'",
                        cure="mark doubtful signs with ?, or widen the years looked through")
    return found


def find(characters: Characters, within: tuple[int, int] = WITHIN) -> list[tuple[int, int, list[Dating]]]:
    """Dates inside a longer inscription: (first sign, after the last sign, datings), in order. Empty if none.

    Signs are counted from 0 without white space. Only what surely is a date is taken: an era with a number or
    cycle name, a number of years with a cycle name, a cycle name with 年, a month or season, a month with a day.

    >>> [(a, b, d[0].first) for a, b, d in find("應需 嘉永元年戊申十月 一峯齋")]
    [(2, 11, '1848-10-27')]
    """
    row = _short(characters)
    return [(g[0].start, g[0].end, datings.fitting(row, g, within))
            for g in _stretches(row, foreign_eras.dates(row), strict=True)]


def _says_something(wording: datetext.Wording) -> bool:
    return any(t.kind not in ("filler", "noday", "yearword") and t.read for t in wording.tokens)


def is_surely_a_date(wording: datetext.Wording) -> bool:
    """Whether a wording is a date beyond doubt, also amid other words (see ``find``)."""
    kinds = {t.kind for t in wording.tokens}
    number = kinds & {"year", "year年", "by-place年", "western"}
    year = bool(kinds & {"cycle", "branch"}) or bool(number)
    month = bool(kinds & {"month", "season", "festival", "term"})
    return ("era" in kinds and year) or "western" in kinds or "branch" in kinds \
        or ("cycle" in kinds and bool(number or month or "yearword" in kinds)) or (bool(number) and month) \
        or ("month" in kinds and bool(kinds & {"day", "noday"}))


def _stretches(row: Signs, abroad: list[foreign_eras.ForeignDate], strict: bool) -> list[list[datetext.Wording]]:
    """Stretches of signs that read as dates, left to right, each the longest from its start; none in a foreign date."""
    found, place = [], 0
    while place < len(row):
        if beyond := next((d.end for d in abroad if d.start <= place < d.end), None):
            place = beyond
            continue
        fit = [w for w in datetext.wordings(row, place) if (is_surely_a_date(w) if strict else _says_something(w))]
        fit = [w for w in fit if w.end == fit[0].end]
        if fit and fit[0].tokens[0].kind == "filler" and row.text[place] in "之のノ乃次":
            fit = []  # の belongs to the words before
        if fit:
            found.append(fit)
        place = fit[0].end if fit else place + 1
    return found


def describe(dating: Dating, language: str = "en") -> str:
    """The dating in plain words, English ("en") or Japanese ("ja"). Raises OptionError for another language.

    >>> describe(read("嘉永紀元小春吉旦")[0])
    '嘉永元年十月 (Kaei 1, tenth month): 27 October to 25 November 1848'
    >>> describe(read("嘉永元年十月")[0], "ja")
    '嘉永元年十月（西暦1848年10月27日から11月25日まで）'
    """
    return datings.words(dating, language)


def written(day: str) -> str:
    """The old-calendar (from 1873 modern) name of an ISO day, both courts' where two ruled.

    >>> written("1848-10-27")
    '嘉永元年戊申十月一日'
    """
    return datings.name_of_day(calendar.jd(day))
