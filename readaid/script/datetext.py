"""A date's words: which era, year, cycle name, month and day may stand where in a row of signs.

Conventions: a ``Token`` covers ``start`` to ``end`` and holds every value it may have, each with its cost
(-700 ln p) and the number of unread signs it took. A ``Wording`` is tokens that cover a stretch of signs,
each kind once. Months are (number, leap); days are (first, last) with ``END`` for a month's last day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from readaid.core.errors import TextError
from readaid.script import cycle, numerals
from readaid.script.eras import eras
from readaid.script.rows import load
from readaid.script.signs import UNREAD_COST, Signs, fold

END = -1
#: The longest year number looked for after an era name: 昭和 ran to 64; the rest is room for a year past an era's end.
MOST_YEARS = 100
_KINDS = ("month", "season", "festival", "term", "day", "noday", "filler", "yearword", "leap")
_MISTAKEN = {"巳": "己已巳", "己": "己已巳", "戌": "戌戊戍", "戊": "戊戌戍", "申": "申甲", "甲": "甲申", "未": "未末",
             "壬": "壬王", "午": "午牛"}
_PLAIN = tuple(k for k in _KINDS if k not in ("yearword", "leap"))
#: Wordings kept at one place for the same set of words.
_KEPT = 3
#: Year words that stand after a name or an era's year only: 寅天, 酉季.
_NEVER_COUNTED = frozenset(("天", "季", "龍集", "竜集", "太歳"))
_SEASONS = frozenset("春夏秋冬")
#: A branch without a word for "year" (寛政六寅); dearer, since 子 and 寅 stand in names too.
_BARE_BRANCH = 200.0
_NUMBERS = ("year", "year年", "by-place", "by-place年", "western")
#: Words that may stand once each; a second cycle name is the day's.
_SLOT = {"era": "era", **dict.fromkeys(_NUMBERS, "number"), "cycle": "cycle", "branch": "cycle",
         "branch-bare": "cycle", "month": "month", "season": "season", "festival": "festival", "term": "festival",
         "day": "day", "day-bare": "day", "noday": "noday",
         "yearword": "yearword", "filler": "filler"}


@dataclass(frozen=True, slots=True)
class Token:
    """One word of a date with all its values: value -> (cost, unread signs)."""

    kind: str
    start: int
    end: int
    values: dict[Any, tuple[float, int]]
    word: str = ""

    @property
    def cost(self) -> float:
        """Cost of its cheapest value."""
        return min(c for c, _ in self.values.values())

    @property
    def read(self) -> bool:
        """Whether at least one of its signs was read."""
        return any(unread < self.end - self.start for _, unread in self.values.values())


@dataclass(frozen=True, slots=True)
class Wording:
    """Tokens that together cover ``start`` to ``end``, in order."""

    tokens: tuple[Token, ...]
    start: int
    end: int
    cost: float

    def get(self, kind: str) -> Token | None:
        """The token of that kind, if one stands."""
        return next((t for t in self.tokens if t.kind == kind), None)


@dataclass(frozen=True, slots=True)
class _Word:
    kind: str
    word: str
    value: Any


@cache
def words() -> tuple[_Word, ...]:
    """The table of date words."""

    def make(row: dict[str, str]) -> _Word:
        kind, word, value = row["kind"], fold(row["word"]), row["value"]
        if kind not in _KINDS:
            raise ValueError(f"kind {kind!r}; known: {', '.join(_KINDS)}")
        made: Any = value
        if kind in ("month", "season", "term"):
            made = (int(value), False) if kind == "month" else int(value)
        elif kind in ("day", "festival"):
            first, last = (END if v == "end" else int(v) for v in value.split("-"))
            made = (first, last)
        return _Word(kind, word, made)

    return tuple(load("date_words.tsv", ("kind", "word", "value", "note"), make))


@cache
def _by_first_sign(kinds: tuple[str, ...]) -> dict[str, tuple[_Word, ...]]:
    made: dict[str, list[_Word]] = {}
    for word in words():
        if word.kind in kinds:
            made.setdefault(word.word[0], []).append(word)
    return {sign: tuple(group) for sign, group in made.items()}


def _words_from(signs: Signs, start: int, *kinds: str) -> list[_Word]:
    """Words of some kinds that may begin at a place: trying all of them everywhere took most of a signature's time."""
    firsts = signs.firsts(start)
    table = _by_first_sign(kinds)
    if firsts is None:
        return [w for w in words() if w.kind in kinds]
    return [w for sign in firsts for w in table.get(sign, ())]


class _Gatherer:
    """Collects values of tokens by (kind, end)."""

    def __init__(self, start: int) -> None:
        self.start = start
        self.found: dict[tuple[str, int, str], dict[Any, tuple[float, int]]] = {}

    def add(self, kind: str, end: int, value: Any, cost: float, unread: int, word: str = "") -> None:
        if unread >= end - self.start and kind not in ("era", "year"):
            return  # two unread signs are no month: nothing would be said by listing all twelve
        values = self.found.setdefault((kind, end, word), {})
        if value not in values or values[value] > (cost, unread):
            values[value] = (cost, unread)

    def tokens(self) -> list[Token]:
        return [Token(kind, self.start, end, values, word) for (kind, end, word), values in self.found.items()]


def tokens(signs: Signs, start: int) -> list[Token]:
    """Every word of a date that may begin at ``start``."""
    got = _Gatherer(start)
    _era(signs, start, got)
    _cycle(signs, start, got)
    _year(signs, start, got)
    _words(signs, start, got)
    _month_and_day_numbers(signs, start, got)
    return got.tokens()


def _era(signs: Signs, start: int, got: _Gatherer) -> None:
    firsts = signs.firsts(start)
    for number, era in enumerate(eras()):
        if firsts is not None and fold(era.name[0]) not in firsts:
            continue
        for m in signs.match_any(start, fold(era.name)):
            # 宝暦 with both signs unread says nothing by itself; a number must follow: ??九年
            if m.unread < len(era.name) or _all_unread_then_number(signs, start, m.end):
                got.add("era", m.end, number, m.cost, m.unread)


def _all_unread_then_number(signs: Signs, start: int, end: int) -> bool:
    nearby = signs.places[end:end + 4]
    return end - start <= 2 and any(p.cost("年") == (0.0, 0) or p.cost("歳") == (0.0, 0) for p in nearby) \
        and not any(p.gap for p in signs.places[start:end])


@cache
def _year_forms() -> tuple[tuple[int, str, bool], ...]:
    usual = [(n, form, False) for n in range(1, MOST_YEARS) for form in numerals.forms(n)]
    joined = [(n, form, False) for n in range(11, MOST_YEARS) for form in numerals.with_and(n)]  # 十有三年
    return (*usual, *joined, (1, "元", False), (1, "紀元", False), (1, "初", False), (1, "改元", False),
            *((n, numerals.by_place(n), True) for n in range(10, MOST_YEARS)))


@cache
def _year_forms_by_sign() -> dict[str, tuple[tuple[int, str, bool], ...]]:
    made: dict[str, list[tuple[int, str, bool]]] = {}
    for entry in _year_forms():
        for sign in numerals.signs_of(entry[1][0]):
            made.setdefault(sign, []).append(entry)
    return {sign: tuple(group) for sign, group in made.items()}


def _year(signs: Signs, start: int, got: _Gatherer) -> None:
    firsts = signs.firsts(start)
    forms = _year_forms() if firsts is None else [e for s in firsts for e in _year_forms_by_sign().get(s, ())]
    for number, form, by_place in forms:
        for end, cost, unread in numerals.match(signs, start, form):
            if unread and set(form) & set(numerals.AND):
                continue  # ??九年 is an era's ninth year, not 十有九年
            got.add("by-place" if by_place else "year", end, number, cost, unread)
            for after in _year_word(signs, end, after_number=True):
                got.add("by-place年" if by_place else "year年", after.end, number, cost + after.cost,
                        unread + _unread(after))
    if signs.places[start].gap:  # 文化…年: any number may have stood there
        for after in _year_word(signs, start + 1, after_number=True):
            for number in range(1, MOST_YEARS):
                got.add("year年", after.end, number, UNREAD_COST, 1)
    for ahead in ("西暦", "皇紀", "紀元", ""):
        for lead in signs.match(start, ahead) if ahead else [None]:
            begin = lead.end if lead else start
            for number, end, cost, unread in _western(signs, begin):
                if not ahead and end - begin < 3:
                    continue  # 千年 of 松樹千年翠 is a thousand years, no year 1000
                value = number - 660 if ahead in ("皇紀", "紀元") else number  # 紀元二千五百年 counts from 660 BC
                for after in _year_word(signs, end, after_number=True):
                    got.add("western", after.end, value, cost + after.cost,
                            unread, "imperial" if value != number else "")


def _western(signs: Signs, start: int) -> Iterator[tuple[int, int, float, int]]:
    """Numbers of a thousand and more; only where no sign before 年 is unread, for else all of them fit."""
    firsts = signs.firsts(start) if start < len(signs) else ()
    if firsts is not None and not _number_signs() & set(firsts):
        return
    for end in range(start + 1, min(start + 10, len(signs) + 1)):
        options = signs.places[start:end]
        if not all(p.options for p in options) or any(p.gap for p in options):
            return
        text = "".join(min(p.options, key=lambda o: o[1])[0] for p in options)
        try:
            number = numerals.read(text)
        except TextError:
            continue
        if number >= 1000:
            yield number, end, sum(min(c for _, c in p.options) for p in options), 0


def _year_word(signs: Signs, start: int, after_number: bool = False) -> list[Token]:
    """Year words at a place; right after a number only those that count years: 三天 and 二季 are no years."""
    found: list[Token] = []
    if start >= len(signs):
        return found
    for w in _words_from(signs, start, "yearword"):
        season = w.word == "季" and start + 1 < len(signs) and signs.text[start + 1] in _SEASONS  # 季春 is a month
        if not season and not (after_number and w.word in _NEVER_COUNTED):
            found += [Token("yearword", start, m.end, {w.word: (m.cost, m.unread)})
                      for m in signs.match_any(start, w.word) if m.end > start and (len(w.word) == 1 or not m.unread)]
    return found


def _unread(word: Token) -> int:
    return min(u for _, u in word.values.values())


@cache
def _cycle_signs() -> frozenset[str]:
    """Signs that a cycle name may begin with, look-alikes among them."""
    plain = [s for kind in ("stem", "branch", "stem-name") for s in cycle.signs(kind)]
    return frozenset(s[0] for s in plain) | frozenset("".join(_MISTAKEN.get(s, "") for s in plain))


def _cycle(signs: Signs, start: int, got: _Gatherer) -> None:
    firsts = signs.firsts(start)
    if firsts is not None and not _cycle_signs() & set(firsts):
        return
    stems, branches = cycle.signs("stem"), cycle.signs("branch")
    first = [(i, _cost(signs, start, s)) for i, s in enumerate(stems)]
    second = [(i, _cost(signs, start + 1, s)) for i, s in enumerate(branches)]
    for stem, a in first:
        for branch, b in second:
            # Odd goes with odd: of 120 pairs 60 exist, and one sign read leaves five or six of them.
            if a and b and stem % 2 == branch % 2 and a[1] + b[1] < 2:
                index = (6 * stem - 5 * branch) % 60
                got.add("cycle", start + 2, index, a[0] + b[0], a[1] + b[1])
    for branch, sign in enumerate(branches):  # 辰年, 未の歳: one branch, every twelfth year
        # No look-alikes here: a branch alone has no stem beside it that would tell 巳 from 己.
        own = signs.places[start].cost(sign)
        if own and not own[1]:
            for after in _year_word(signs, start + 1) + _year_word(signs, start + 2):
                between = signs.text[start + 1:after.start]
                if between in ("", "の", "ノ", "之", "乃") and not after.values.get("暦"):
                    got.add("branch", after.end, branch, own[0] + after.cost, own[1])
            got.add("branch-bare", start + 1, branch, own[0] + _BARE_BRANCH, own[1])
    for i, name in enumerate(cycle.signs("stem-name")):
        for m in signs.match(start, name):
            for j, other in enumerate(cycle.signs("branch-name")):
                if i % 2 == j % 2:
                    for n in signs.match(m.end, other):
                        got.add("cycle", n.end, (6 * i - 5 * j) % 60, m.cost + n.cost, m.unread + n.unread)


def _cost(signs: Signs, place: int, sign: str) -> tuple[float, int] | None:
    """A cycle sign, also where its look-alike was typed: 巳 己 and 戌 戊 are told apart by their place in the pair."""
    if place >= len(signs):
        return None
    hits = [h for s in _MISTAKEN.get(sign, sign) if (h := signs.places[place].cost(s)) is not None]
    return min(hits, key=lambda h: (h[1], h[0]), default=None)


def _words(signs: Signs, start: int, got: _Gatherer) -> None:
    for w in _words_from(signs, start, *_PLAIN):
        for m in signs.match(start, w.word):
            if m.end == start or (m.unread and w.kind in ("season", "term")):
                continue  # ?月 is a month, not 春月 (spring); 大? is no term
            if w.kind == "festival":
                month, day = w.value
                got.add("festival", m.end, (month, day), m.cost, m.unread)
            elif w.kind == "noday":
                if m.unread and not w.word.startswith("吉"):
                    continue  # 年? is no 年中
                got.add("noday", m.end, w.value, m.cost, m.unread, w.word)
            else:
                got.add(w.kind, m.end, w.value, m.cost, m.unread)


@cache
def _number_signs() -> frozenset[str]:
    """Signs that a month's or a day's number may begin with."""
    digits = "〇一二三四五六七八九十廿卅百千0123456789"
    return frozenset(s for d in digits for s in numerals.signs_of(d)) | set("正初念閏後")


def _month_and_day_numbers(signs: Signs, start: int, got: _Gatherer) -> None:
    firsts = signs.firsts(start)
    if firsts is not None and not _number_signs() & set(firsts):
        return
    leaps = [(m.end, m.cost, m.unread) for w in _words_from(signs, start, "leap")
             for m in signs.match(start, w.word)]
    for begin, leap_cost, leap_unread, leap in [(start, 0.0, 0, False), *((e, c, u, True) for e, c, u in leaps)]:
        for number in range(1, 13):
            for form in (*numerals.forms(number), numerals.by_place(number), *("正",) * (number == 1)):
                for end, cost, unread in numerals.match(signs, begin, form):
                    month = signs.places[end].cost("月") if end < len(signs) else None
                    if month:
                        got.add("month", end + 1, (number, leap), leap_cost + cost + month[0],
                                leap_unread + unread + month[1])
        if leap:  # 閏皐月
            for w in _words_from(signs, begin, "month") if begin < len(signs) else ():
                for m in signs.match(begin, w.word):
                    got.add("month", m.end, (w.value[0], True), leap_cost + m.cost, leap_unread + m.unread)
    for number in range(1, 31 + 1):
        special = ["初" + numerals.write(number)] if number <= 10 else []
        special += ["念" + numerals.write(number - 20)] if 20 < number < 30 else []  # 念三日 is the 23rd
        for form in (*numerals.forms(number), numerals.by_place(number), *special):
            for end, cost, unread in numerals.match(signs, start, form):
                day = signs.places[end].cost("日") if end < len(signs) else None
                if day:
                    got.add("day", end + 1, (number, number), cost + day[0], unread + day[1])
                if form in special or unread == 0:
                    got.add("day-bare", end, (number, number), cost, unread)


def wordings(signs: Signs, start: int) -> list[Wording]:
    """Every way (the cheapest few of each kind) to read a date from ``start``, of any length, longest first.

    >>> from readaid.script.signs import signs
    >>> [t.kind for t in wordings(signs("文化九年壬申春"), 0)[0].tokens]
    ['era', 'year年', 'cycle', 'season']
    >>> [(t.kind, t.end, *t.values) for t in wordings(signs("三月十五日"), 0)[0].tokens]
    [('month', 2, (3, False)), ('day', 5, (15, 15))]
    """
    reached: dict[int, list[tuple[float, tuple[Token, ...]]]] = {start: [(0.0, ())]}
    for place in range(start, len(signs)):
        if place not in reached:
            continue
        following = tokens(signs, place) + [t for t in _year_word(signs, place) if t.end <= len(signs)]
        for cost, before in _cheapest(reached.pop(place) if place == start else reached[place]):
            for token in following:
                if _may_follow(before, token):
                    reached.setdefault(token.end, []).append((cost + token.cost, (*before, token)))
    made = [Wording(row, start, end, cost) for end, rows in reached.items() if end > start
            for cost, row in _cheapest(rows)]
    return sorted(made, key=lambda w: (-w.end, w.cost, len(w.tokens)))


def _cheapest(rows: list[tuple[float, tuple[Token, ...]]]) -> list[tuple[float, tuple[Token, ...]]]:
    groups: dict[tuple[str, ...], list[tuple[float, tuple[Token, ...]]]] = {}
    for row in sorted(rows, key=lambda r: (r[0], len(r[1]))):
        groups.setdefault(tuple(t.kind for t in row[1] if t.kind != "filler"), []).append(row)
    return [row for group in groups.values() for row in group[:_KEPT]]


def _may_follow(before: tuple[Token, ...], token: Token) -> bool:
    slots = [_SLOT[t.kind] for t in before]
    last = before[-1].kind if before else ""
    if token.kind in ("year", "by-place"):  # a number without 年 counts years only right after the era's name
        return last == "era"
    if token.kind in ("year年", "by-place年", "western"):
        return "number" not in slots and not {"month", "season", "festival", "day"} & set(slots)
    if token.kind == "day-bare":
        return last == "month" and "day" not in slots
    if token.kind == "cycle":
        return slots.count("cycle") < (2 if {"day", "festival", "month"} & set(slots) else 1)
    if token.kind == "branch-bare":  # only beside an era: 文化□年戌, 寛政六寅
        return "era" in slots and "cycle" not in slots and last in ("year", "year年", "by-place", "by-place年")
    if token.kind == "noday":
        return token.word != "日" or (slots[-1:] != ["noday"] and bool({"month", "season"} & set(slots)))
    if token.kind == "yearword":
        after_name = last in ("cycle", "year", "by-place", "filler") or (last == "era" and token.read)
        return after_name and "yearword" not in slots
    if token.kind == "filler":
        return last != "filler"
    if token.kind in ("month", "season", "festival", "term", "branch", "era"):
        # 春三月 names season and month; a date word never stands twice
        # the era comes first: 望 before 天保五年 is 望 of 依田中氏望, not a day
        return _SLOT[token.kind] not in slots and (token.kind != "era" or set(slots) <= {"filler", "cycle", "yearword"})
    return _SLOT[token.kind] not in slots
