"""The classes that the grammar's patterns name: an address, a usual name, a person's names in one, free signs.

Conventions: a ``Stretch`` is (after its last sign, cost in -700 ln p, value). Tables are matched on the best text in
today's forms, numbers and free signs also on candidates. A free stretch never runs over a place where a column ends or
white space stands: 楽萍 and 兼逸 in two columns are no name 楽萍兼逸.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import pairwise
from typing import TypeAlias

from readaid.core.errors import TableError
from readaid.script import address, cycle, names, numerals, usual_names
from readaid.script.rows import load
from readaid.script.signs import Signs, fold

Stretch: TypeAlias = tuple[int, float, str]

#: Costs of free signs by their number: a name of two signs is the usual one. Our own choice.
FREE: dict[str, dict[int, float]] = {
    "name": {1: 350.0, 2: 0.0, 3: 150.0, 4: 250.0, 5: 500.0},
    "art": {1: 150.0, 2: 0.0, 3: 120.0},
    "word": {1: 100.0, 2: 0.0, 3: 100.0},
    "title": {2: 40.0, 3: 20.0, 4: 20.0, 5: 60.0, 6: 80.0, 7: 110.0, 8: 140.0},
    "slot": {1: 250.0, 2: 150.0, 3: 160.0, 4: 180.0, 5: 210.0, 6: 240.0, 7: 300.0, 8: 360.0},
    "rest": {n: 300.0 + 60.0 * min(n, 8) + 30.0 * max(0, n - 8) for n in range(1, 61)},
}
#: UniDic's word cost of a family name that its texts did not hold, and what such a name costs here.
_UNSEEN, _SELDOM = 9770, 50.0
#: A family of one sign (林, 堀) may be the beginning of another name.
_ONE_SIGN = 60.0
#: How much of a sign's oddness in names (``names.oddness``) counts in each class.
_ODD = {"name": 1.0, "art": 0.6, "word": 0.3, "title": 0.0, "slot": 0.0, "rest": 0.0}
#: A sign that is itself a word of the formula inside a name (正作 may be a name, but seldom); kana, a number there.
_WORD_IN_NAME, _KANA_IN_NAME, _NUMBER_IN_NAME = 400.0, 300.0, 200.0
#: The words that part titles and places from what stands about them.
_WORD_IN_SLOT = 250.0
_UNREAD_IN_NAME = 60.0
#: A name made of number and time signs alone (十月, 有五), one that is a place's or a family's, with a cycle name.
_ONLY_TIME, _A_PLACE, _A_FAMILY, _CYCLE = 600.0, 300.0, 120.0, 400.0
_NUMBERS = frozenset("二四五六七八九十百廿卅卌")
_TIME = _NUMBERS | frozenset("一三〇元年月日歳春夏秋冬有又正閏朔甲乙丙丁戊己庚辛壬癸子丑寅卯辰巳午未申酉戌亥")
#: Words of the formula of one sign; 之 is left out, as names end in it.
_WORDS = frozenset("作造製鐫彫刻鋳画書写図印住門需歳年押応為於以依嘱氏代謹極奉銘判鍛詠題賛倣摸并")
_NEVER_IN_SLOT = frozenset("作造製鐫彫刻鋳画書写図住謹応依以年")
OLDEST = 110
#: An open place costs less if it ends in a word for a house, a street, a shore (tables/signature_words.tsv).
_NO_LODGING, _A_LODGING, _TO_THE_END = 150.0, 10.0, 50.0


@dataclass
class Row:
    """A row of signs as the classes see it, with what was found so far."""

    signs: Signs
    parted: frozenset[int] = frozenset()
    known: dict[tuple[str, int], list[Stretch]] = field(default_factory=dict)

    @cached_property
    def text(self) -> str:
        """Best text in today's forms, one character a place."""
        return "".join(f if len(f := fold(c)) == 1 else c for c in self.signs.text)

    def stretches(self, name: str, start: int) -> list[Stretch]:
        """What of a class begins at a place."""
        if (name, start) not in self.known:
            self.known[name, start] = list(_MAKERS[name](self, start)) if start < len(self.signs) else []
        return self.known[name, start]


def classes() -> frozenset[str]:
    """Names of all classes."""
    return frozenset(_MAKERS)


@cache
def families() -> dict[str, str]:
    """Family and school names of crafts with their reading (our own table)."""
    return dict(load("signature_families.tsv", ("name", "reading"), lambda r: (fold(r["name"]), r["reading"])))


@cache
def surnames() -> dict[str, str]:
    """Family names of UniDic's list, of two signs and more, with their reading; those of our own table too."""
    return {name: reading for name, (reading, _) in _surnames().items()}


@cache
def _surnames() -> dict[str, tuple[str, float]]:
    """Reading and cost: nothing where the dictionary's texts held the name, a little where it only lists it."""
    rows = load("family_names.tsv", ("name", "reading", "cost"),
                lambda r: (fold(r["name"]), r["reading"], int(r["cost"])))
    made = {name: (reading, 0.0 if cost < _UNSEEN else _SELDOM) for name, reading, cost in rows if len(name) > 1}
    return made | {name: (reading, 0.0) for name, reading in families().items()}


@cache
def _surname_costs() -> dict[str, float]:
    return {name: cost for name, (_, cost) in _surnames().items()}


@cache
def _ages() -> dict[str, dict[str, tuple[str, str]]]:
    def make(row: dict[str, str]) -> tuple[str, str, str, str]:
        if row["kind"] not in ("name", "head", "tail"):
            raise ValueError(f"kind {row['kind']!r}: name, head or tail")
        int(row["value"])
        return row["kind"], fold(row["word"]), row["value"], row["since"]

    rows = load("signature_ages.tsv", ("kind", "word", "value", "since"), make)
    made: dict[str, dict[str, tuple[str, str]]] = {"name": {}, "head": {}, "tail": {}}
    for kind, word, value, since in rows:
        made[kind][word] = (value, since)
    return made


@cache
def age_names() -> dict[str, int]:
    """Ages by name.

    >>> age_names()["古稀"], age_names()["艾"]
    (70, 50)
    """
    ages = {word: int(value) for word, (value, _) in _ages()["name"].items()}
    if not all(0 < a <= OLDEST for a in ages.values()):
        raise TableError("An age is out of range", "signature_ages.tsv", "correct the row")
    return ages


def age_word_since(word: str) -> int | None:
    """The year from which an age's name was roughly in use, if it is a late one.

    >>> age_word_since("白寿"), age_word_since("古稀")
    (1900, None)
    """
    since = _ages()["name"].get(fold(word), ("", ""))[1]
    return int(since) if since else None


@cache
def endings() -> dict[str, str]:
    """Endings of art names with their reading (斎 さい)."""
    return dict(load("signature_endings.tsv", ("ending", "reading"), lambda r: (fold(r["ending"]), r["reading"])))


@cache
def _words() -> dict[str, dict[str, float]]:
    rows = load("signature_words.tsv", ("class", "word", "cost"),
                lambda r: (r["class"], fold(r["word"]), float(r["cost"])))
    made: dict[str, dict[str, float]] = {}
    for name, word, cost in rows:
        made.setdefault(name, {})[word] = min(cost, made.get(name, {}).get(word, cost))
    return made


def _table(words: Callable[[], dict[str, float]]) -> Callable[[Row, int], Iterator[Stretch]]:
    """A class whose words stand in a table: word -> cost."""
    @cache
    def by_first() -> dict[str, tuple[tuple[str, float], ...]]:
        made: dict[str, list[tuple[str, float]]] = {}
        for word, cost in words().items():
            made.setdefault(word[0], []).append((word, cost))
        return {sign: tuple(group) for sign, group in made.items()}

    def find(row: Row, start: int) -> Iterator[Stretch]:
        firsts = row.signs.firsts(start)
        table = by_first()
        for first in table if firsts is None else firsts:
            for word, cost in table.get(first, ()):
                for m in row.signs.match(start, word):
                    yield m.end, cost + m.cost, word

    return find


def _free(name: str) -> Callable[[Row, int], Iterator[Stretch]]:
    def find(row: Row, start: int) -> Iterator[Stretch]:
        cost = 0.0
        for length, base in sorted(FREE[name].items()):
            for place in range(start if length == min(FREE[name]) else start + length - 1, start + length):
                if place >= len(row.signs) or (place > start and place in row.parted):
                    return
                added = _sign(row, place, name)
                if added is None:
                    return
                cost += added
            end = start + length
            if name == "slot":
                house = min((c for w, c in _words()["lodging"].items() if row.text.endswith(w, start, end)),
                            default=None)
                if house is not None and length > 1:
                    whole = house + _A_LODGING * length
                else:  # 於洛西嵯峨野, and the end of the column: the place ends with it
                    whole = _TO_THE_END + _A_LODGING * length if end in row.parted else base + _NO_LODGING
            else:
                whole = base + (_unlikely(row.text[start:end]) if name == "name" else 0.0)
            yield end, whole + cost, row.signs.text[start:end]

    return find


def _sign(row: Row, place: int, name: str) -> float | None:
    """Cost of a sign inside a free stretch; None where it can be none: a bracket, a gap, a mark."""
    sign = row.signs.places[place]
    if sign.gap or not sign.options:
        return 0.0 if name == "rest" else _UNREAD_IN_NAME
    if name in ("slot", "title"):
        usable = [c + _WORD_IN_SLOT * (o in _NEVER_IN_SLOT) for o, c in sign.options if o not in "()"]
    elif name == "rest":
        usable = [c for o, c in sign.options if o not in "()"]
    else:
        usable = [c + _ODD[name] * names.oddness(o) + _out_of_place(o) for o, c in sign.options if o not in "()"]
    return min(usable, default=None)


def _out_of_place(sign: str) -> float:
    if sign in _WORDS:
        return _WORD_IN_NAME
    return _NUMBER_IN_NAME if sign in _NUMBERS else _KANA_IN_NAME if "ぁ" <= sign <= "ヿ" else 0.0


def _unlikely(text: str) -> float:
    """What speaks against a stretch being a true name."""
    cost = _CYCLE * sum(a + b in cycle.names() for a, b in pairwise(text))
    if len(text) > 1 and all(c in _TIME for c in text):
        cost += _ONLY_TIME
    if text in address.places():
        cost += _A_PLACE
    if text in families():
        cost += _A_FAMILY
    return cost


@cache
def _number_forms() -> dict[str, int]:
    made: dict[str, int] = {}
    for number in range(OLDEST - 1, 0, -1):
        for form in (*numerals.forms(number), numerals.by_place(number), *numerals.with_and(number)):
            made[form] = number
    return made


def _number(row: Row, start: int) -> Iterator[Stretch]:
    near = row.signs.places[start:start + 5]
    if all(len(p.options) == 1 and p.wild is None and not p.gap for p in near):
        plain = "".join(numerals.plain_of().get(c, c) for c in row.text[start:start + 5])
        for length in range(1, len(plain) + 1):
            if plain[:length] in _number_forms():
                yield start + length, 0.0, str(_number_forms()[plain[:length]])
        return
    best: dict[int, tuple[float, str]] = {}
    for form, number in _number_forms().items():
        for end, cost, unread in numerals.match(row.signs, start, form):
            if unread < end - start and (end not in best or cost < best[end][0]):
                best[end] = (cost, str(number))
    for end, (cost, value) in best.items():
        yield end, cost, value


def _address(row: Row, start: int) -> Iterator[Stretch]:
    for end, cost in address.found(row.text, start, row.parted).items():
        yield end, cost, row.signs.text[start:end]


def _usual(row: Row, start: int) -> Iterator[Stretch]:
    for name in usual_names.found(row.text, start):
        over = [p for p in range(start + 1, name.end) if p in row.parted]
        if not over or (over == [name.end - 1] and row.text[name.end - 1] == "尉"):  # 右衛門, and 尉 in the next column
            yield name.end, name.cost + 60.0 * len(over), name.reading


def _prefixes(words: Callable[[], dict[str, float]]) -> Callable[[Row, int], Iterator[Stretch]]:
    """A class of a long table, looked up by what stands there; candidates other than the best are not tried."""
    def find(row: Row, start: int) -> Iterator[Stretch]:
        for end in range(start + 1, min(start + 5, len(row.text)) + 1):
            if (cost := words().get(row.text[start:end])) is not None:
                yield end, cost, row.text[start:end]

    return find


def _someone(row: Row, start: int) -> Iterator[Stretch]:
    """A person's names in one: family, usual name, true name or art name, with or without an honorific."""
    best: dict[int, float] = {}

    def add(end: int, cost: float) -> None:
        best[end] = min(cost, best.get(end, cost))

    heads = [(start, 0.0)]
    for end, cost, _ in row.stretches("surname", start):
        heads.append((end, cost + 10.0))
        add(end, cost + 100.0)
    for begin, lead in heads:
        if begin > start and begin in row.parted:
            continue
        for end, cost, _ in row.stretches("usual", begin):
            add(end, lead + cost)
            for after, more, _ in row.stretches("name", end) if end not in row.parted else ():
                add(after, lead + cost + more)
        for end, cost, _ in row.stretches("name", begin):
            add(end, lead + cost)
        for end, cost, _ in row.stretches("art", begin):
            for ending in endings():
                if row.text.startswith(ending, end) and end not in row.parted:
                    add(end + len(ending), lead + cost + 20.0)
    honours = _words()["honour"]
    for end, cost in list(best.items()):
        value = row.signs.text[start:end]
        yield end, cost, value
        for word, more in honours.items():
            if row.text.startswith(word, end) and end not in row.parted:
                yield end + len(word), cost + more, value


def _places(kinds: tuple[str, ...]) -> Callable[[], dict[str, float]]:
    return lambda: {name: 0.0 for name, place in address.places().items() if place.kind in kinds}


def _age(kind: str, priced: bool) -> Callable[[], dict[str, float]]:
    return lambda: {word: float(value) if priced else 0.0 for word, (value, _) in _ages()[kind].items()}


def _age_name(row: Row, start: int) -> Iterator[Stretch]:
    for end, cost, word in _table(lambda: dict.fromkeys(age_names(), 0.0))(row, start):
        yield end, cost + (250.0 if len(word) == 1 else 0.0), str(age_names()[word])  # 艾 alone is a name's sign too


@cache
def _subjects() -> dict[str, float]:
    """Subjects of pictures: the words of titles that are whole ones."""
    rows = load("line_words.tsv", ("class", "word"), lambda r: (r["class"], fold(r["word"])))
    return {word: 0.0 for name, word in rows if name == "title" and len(word) > 1 and word[0] not in "之ノの"}


_PROVINCES = ("province", "new province")
_MAKERS: dict[str, Callable[[Row, int], Iterator[Stretch]]] = {
    **{name: _free(name) for name in FREE},
    "number": _number, "address": _address, "usual": _usual, "someone": _someone, "agename": _age_name,
    "place": _table(_places((*_PROVINCES, "short", "place"))), "province": _table(_places((*_PROVINCES, "short"))),
    "family": _table(lambda: {name: _ONE_SIGN * (len(name) == 1) for name in families()}),
    "surname": _prefixes(_surname_costs), "subject": _table(_subjects),
    "agehead": _table(_age("head", True)), "agetail": _table(_age("tail", True)),
    **{name: _table(lambda name=name: _words()[name])  # type: ignore[misc]
       for name in ("material", "technique", "object", "genuine", "how", "link", "want", "after", "manner", "old",
                    "honour", "lodging", "house")},
}
