"""The grammar of signatures: patterns of parts, their order, places, families, ages; all in tables.

Conventions: a ``Rule`` is a pattern over signs in today's forms; ``{name}``-like classes stand for one of a table
or for free signs. Costs are -700 ln p; 0 is the usual formula. A ``Found`` is a rule that fits a stretch of signs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from typing import TypeAlias

from readaid.core.errors import TableError
from readaid.core.person import ROLES
from readaid.script import cycle, numerals
from readaid.script.rows import load
from readaid.script.signs import Signs, fold

#: Costs of free signs by their number: a name of two signs is the usual one. Our own choice.
_FREE = {
    "name": {1: 350.0, 2: 0.0, 3: 150.0, 4: 120.0, 5: 450.0},
    "art": {1: 150.0, 2: 0.0, 3: 200.0},
    "word": {1: 100.0, 2: 0.0, 3: 100.0},
}
#: A sign that is itself a word of the formula inside a name (正作 may be a name, but seldom).
_WORD_IN_NAME = 400.0
#: An unread sign inside a name.
_UNREAD_IN_NAME = 60.0
#: A number sign inside a name, and a name made of number and time signs alone (十月, 有五), or that is a family's.
_NUMBER_IN_NAME, _ONLY_TIME, _A_FAMILY = 200.0, 600.0, 200.0
_CYCLE_IN_NAME = 400.0
_NUMBERS = frozenset("二四五六七八九十百廿卅卌")
_TIME = _NUMBERS | frozenset("一三〇元年月日歳春夏秋冬有又正閏朔甲乙丙丁戊己庚辛壬癸子丑寅卯辰巳午未申酉戌亥")
#: 翁 and the like name an old person: 三翁 is no age.
_OLD_FROM, _OLD_WORDS, _NO_AGE = 40, ("翁", "叟", "人", "媼"), 800.0
_OLDEST = 110
_ELEMENT = re.compile(r"\{(\w+)\}|(.)")
_SIDES = ("", "<", ">", "=")


#: (class, first sign) -> (after the last sign, cost, value) of every stretch of that class.
Known: TypeAlias = dict[tuple[str, int], list[tuple[int, float, str]]]


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the grammar: kind of part, elements (class, literal), cost, role and what it means."""

    kind: str
    elements: tuple[tuple[str, str], ...]
    cost: float
    side: str
    role: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Found:
    """A rule that fits from ``start`` to ``end``; ``inside`` are the class stretches (class, start, end, value)."""

    rule: Rule
    start: int
    end: int
    cost: float
    inside: tuple[tuple[str, int, int, str], ...] = ()

    @property
    def free(self) -> int:
        """How many signs are free (a name, no word of a table)."""
        return sum(b - a for c, a, b, _ in self.inside if c in _FREE)


#: The rule of a bare name.
NAME = Rule("name", (("name", ""),), 0.0, "", "", "name")


def _rule(row: dict[str, str]) -> Rule:
    elements = tuple((m[1] or "", fold(m[2] or "")) for m in _ELEMENT.finditer(row["pattern"]))
    known = {*_FREE, "place", "province", "family", "number", "agename", ""}
    if not elements or not {c for c, _ in elements} <= known:
        raise ValueError(f"pattern {row['pattern']!r}: known classes are {', '.join(sorted(known - {''}))}")
    side, role = row["role"][:1], row["role"][1:]
    if side not in _SIDES or (role and role not in (*ROLES, "teacher")):
        raise ValueError(f"role {row['role']!r}")
    return Rule(row["kind"], elements, float(row["cost"]), side, role, row["meaning"])


@cache
def rules() -> tuple[Rule, ...]:
    """All rows of the grammar table. Raises TableError with every faulty row."""
    return tuple(load("signature_grammar.tsv", ("kind", "pattern", "cost", "role", "meaning"), _rule))


def kinds() -> tuple[str, ...]:
    """The kinds of parts, in the order of the table, with name and date.

    >>> "residence" in kinds(), "kao" in kinds(), "date" in kinds()
    (True, True, True)
    """
    return (*dict.fromkeys(r.kind for r in rules()), "name", "date")


@cache
def _order() -> dict[tuple[str, str], float]:
    known = {*kinds(), "*", "start", "end"}

    def make(row: dict[str, str]) -> tuple[tuple[str, str], float]:
        if not {row["before"], row["after"]} <= known:
            raise ValueError(f"{row['before']} -> {row['after']}: no such part")
        return (row["before"], row["after"]), float(row["cost"])

    return dict(load("signature_order.tsv", ("before", "after", "cost"), make))


def order_cost(before: str, after: str) -> float:
    """Cost of one part after another; "start" and "end" are the edges.

    >>> order_cost("name", "verb"), order_cost("humbly", "kao")
    (0.0, 500.0)
    """
    table = _order()
    return table.get((before, after), table.get((before, "*"), 0.0))


@cache
def places() -> dict[str, tuple[str, str, str]]:
    """Place names: name -> (kind, reading, meaning); kinds are province, short (城州 ...) and place."""
    def make(row: dict[str, str]) -> tuple[str, tuple[str, str, str]]:
        if row["kind"] not in ("province", "short", "place") or not row["reading"]:
            raise ValueError(f"{row['name']}: kind {row['kind']!r}")
        return row["name"], (row["kind"], row["reading"], row["meaning"])

    rows = load("signature_places.tsv", ("kind", "name", "reading", "meaning"), make)
    return {fold(name): value for name, value in rows}


@cache
def families() -> dict[str, str]:
    """Family and school names with their reading."""
    rows = load("signature_families.tsv", ("name", "reading"), lambda r: (fold(r["name"]), r["reading"]))
    return dict(rows)


@cache
def endings() -> dict[str, str]:
    """Endings of art names with their reading (斎 さい)."""
    rows = load("signature_endings.tsv", ("ending", "reading"), lambda r: (fold(r["ending"]), r["reading"]))
    return dict(rows)


@cache
def age_names() -> dict[str, int]:
    """Ages by name.

    >>> age_names()["古稀"]
    70
    """
    ages = dict(load("signature_ages.tsv", ("name", "age"), lambda r: (fold(r["name"]), int(r["age"]))))
    if not all(0 < a <= _OLDEST for a in ages.values()):
        raise TableError("An age is out of range", "signature_ages.tsv", "correct the row")
    return ages


@cache
def _words() -> frozenset[str]:
    """Single signs that are parts by themselves (作, 鐫, 印 ...), 住 and 門; 之 is left out, as names end in it."""
    single = {r.elements[0][1] for r in rules() if len(r.elements) == 1 and not r.elements[0][0] and r.cost < 120}
    return frozenset(single | set("住門需歳年押応為於依嘱君氏代"))


def found(signs: Signs, start: int, known: Known | None = None) -> list[Found]:
    """Every rule that fits from ``start``; ``known`` keeps what was found of each class between calls."""
    known = {} if known is None else known
    made = [f for rule in rules() for f in _fit(signs, rule, start, known)]
    for f in _fit(signs, NAME, start, known):
        family = fold(signs.text[f.start:f.end]) in families()
        made.append(replace(f, cost=f.cost + _A_FAMILY) if family else f)
    best: dict[tuple[int, int, tuple[tuple[str, int, int, str], ...]], Found] = {}
    for f in made:
        key = (id(f.rule), f.end, f.inside)
        if key not in best or f.cost < best[key].cost:
            best[key] = f
    return list(best.values())


def _fit(signs: Signs, rule: Rule, start: int, known: Known) -> Iterator[Found]:
    states: list[tuple[int, float, int, tuple[tuple[str, int, int, str], ...]]] = [(start, rule.cost, 0, ())]
    for name, literal in rule.elements:
        following = []
        for place, cost, read, inside in states:
            if literal:
                for m in signs.match_any(place, literal) if place < len(signs) else ():
                    following.append((m.end, cost + m.cost, read + 1 - m.unread, inside))
            else:
                if (name, place) not in known:
                    known[name, place] = list(_class(signs, name, place))
                for end, added, value in known[name, place]:
                    unlikely = _NO_AGE if name == "number" and rule.elements[-1][1] in _OLD_WORDS \
                        and int(value) < _OLD_FROM else 0.0
                    following.append((end, cost + added + unlikely, read + (name not in _FREE),
                                      (*inside, (name, place, end, value))))
        states = following
    literals = sum(1 for _, literal in rule.elements if literal)
    for end, cost, read, inside in states:
        if read or not literals:  # a formula word of which nothing was read is no evidence
            yield Found(rule, start, end, cost, inside)


def _class(signs: Signs, name: str, start: int) -> Iterator[tuple[int, float, str]]:
    if name in _FREE:
        cost = 0.0
        for length, base in _FREE[name].items():
            place = start + length - 1
            if place >= len(signs):
                return
            added = _free_sign(signs, place)
            if added is None:
                return
            cost += added
            yield place + 1, base + cost + _unlikely(signs, name, start, place + 1), ""
    elif name == "number":
        for number in range(1, _OLDEST):
            for form in (*numerals.forms(number), numerals.by_place(number), *_with_and(number)):
                for end, cost, unread in numerals.match(signs, start, form):
                    if unread < end - start:
                        yield end, cost, str(number)
    else:
        table: dict[str, str]
        if name == "family":
            table = families()
        elif name == "agename":
            table = {n: str(a) for n, a in age_names().items()}
        else:
            table = {n: r for n, (k, r, _) in places().items() if (k == "province") or name == "place"}
        for word, value in table.items():
            for m in signs.match(start, word):
                yield m.end, m.cost, value


def _with_and(number: int) -> tuple[str, ...]:
    """七十有三 and 七十又三 for 73."""
    tens, ones = divmod(number, 10)
    return tuple(f"{numerals.write(10 * tens)}{w}{numerals.write(ones)}" for w in "有又") if tens and ones else ()


def _free_sign(signs: Signs, place: int) -> float | None:
    """Cost of a sign inside a name; None where it can be none: a bracket, a gap, a mark."""
    sign = signs.places[place]
    if sign.gap or not sign.options:
        return _UNREAD_IN_NAME
    usable = [c + (_WORD_IN_NAME if o in _words() else _NUMBER_IN_NAME if o in _NUMBERS else 0.0)
              for o, c in sign.options if o not in "()（）{}"]
    return min(usable, default=None)


def _unlikely(signs: Signs, name: str, start: int, end: int) -> float:
    text = fold(signs.text[start:end])
    if name == "name" and all(c in _TIME for c in text) and end - start > 1:
        return _ONLY_TIME
    pairs = sum(a + b in cycle.names() for a, b in pairwise(text))
    return _CYCLE_IN_NAME * pairs
