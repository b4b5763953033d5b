"""The grammar of signatures: patterns of parts and their order, from tables, and what of them fits a row of signs.

Conventions: a ``Rule`` is a pattern over signs in today's forms; ``{name}``-like classes are those of
``script.part_classes``. Costs are -700 ln p; 0 is the usual formula. A ``Found`` is a rule that fits a stretch of
signs. The patterns lie in one trie, so that a common beginning is matched once.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache

from readaid.core.person import ROLES
from readaid.script.part_classes import FREE, Row, classes
from readaid.script.rows import load
from readaid.script.signs import fold

_ELEMENT = re.compile(r"\{(\w+)\}|(.)")
_SIDES = ("", "<", ">", "=")
#: A part that runs on over the end of a column, or over white space. Our own choice.
_OVER_COLUMN, _OVER_SPACE = 120.0, 200.0
#: 翁 and the like name an old person: 三翁 is no age.
_OLD_FROM, _OLD_WORDS, _NO_AGE = 40, frozenset("翁叟人媼老夫漢拙"), 800.0
#: Unread signs that the literals of one part may take.
_MOST_UNREAD = 2


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
        return sum(b - a for c, a, b, _ in self.inside if c in FREE)


@dataclass(slots=True)
class _Node:
    literals: dict[str, _Node] = field(default_factory=dict)
    classes: dict[str, _Node] = field(default_factory=dict)
    rules: list[Rule] = field(default_factory=list)


#: The rule of a bare name.
NAME = Rule("name", (("name", ""),), 0.0, "", "", "name")


def _rule(row: dict[str, str]) -> Rule:
    elements = tuple((m[1] or "", fold(m[2] or "")) for m in _ELEMENT.finditer(row["pattern"]))
    if not elements or not {c for c, _ in elements} <= classes() | {""}:
        raise ValueError(f"pattern {row['pattern']!r}: known classes are {', '.join(sorted(classes()))}")
    side, role = row["role"][:1], row["role"][1:]
    if side not in _SIDES or (role and role not in ROLES):
        raise ValueError(f"role {row['role']!r}")
    return Rule(row["kind"], elements, float(row["cost"]), side, role, row["meaning"])


@cache
def rules() -> tuple[Rule, ...]:
    """All rows of the grammar table. Raises TableError with every faulty row."""
    return tuple(load("signature_grammar.tsv", ("kind", "pattern", "cost", "role", "meaning"), _rule))


@cache
def _trie() -> _Node:
    root = _Node()
    for rule in (*rules(), NAME):
        node = root
        for name, literal in rule.elements:
            node = node.classes.setdefault(name, _Node()) if name else node.literals.setdefault(literal, _Node())
        node.rules.append(rule)
    return root


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


def found(row: Row, start: int) -> list[Found]:
    """Every rule that fits from ``start``, each stretch at its least cost."""
    best: dict[tuple[int, int, tuple[tuple[str, int, int, str], ...]], Found] = {}
    for f in _walk(row, _trie(), start, start, 0.0, 0, 0, ()):
        key = (id(f.rule), f.end, f.inside)
        if key not in best or f.cost < best[key].cost:
            best[key] = f
    return list(best.values())


def _walk(row: Row, node: _Node, start: int, place: int, cost: float, read: int, unread: int,
          inside: tuple[tuple[str, int, int, str], ...]) -> Iterator[Found]:
    for rule in node.rules:
        literals = any(literal for _, literal in rule.elements)
        if read or not literals:  # a formula word of which nothing was read is no evidence
            yield Found(rule, start, place, cost + rule.cost + _unlikely_age(row, rule, inside), inside)
    if place >= len(row.signs):
        return
    if place > start and place in row.parted:
        # A column may end for want of room; white space was left on purpose.
        cost += _OVER_COLUMN if place in row.signs.breaks else _OVER_SPACE
    sign = row.signs.places[place]
    if sign.gap or sign.wild is not None:
        for literal, child in node.literals.items() if unread < _MOST_UNREAD else ():
            for m in row.signs.match_any(place, literal):
                yield from _walk(row, child, start, m.end, cost + m.cost, read + 1 - m.unread, unread + m.unread,
                                 inside)
    else:
        for option, added in sign.options:
            if (after := node.literals.get(option)) is not None:
                yield from _walk(row, after, start, place + 1, cost + added, read + 1, unread, inside)
    for name, child in node.classes.items():
        for end, added, value in row.stretches(name, place):
            yield from _walk(row, child, start, end, cost + added, read + (name not in FREE), unread,
                             (*inside, (name, place, end, value)))


def _unlikely_age(row: Row, rule: Rule, inside: tuple[tuple[str, int, int, str], ...]) -> float:
    tail = next((row.text[b - 1] for c, _, b, _ in inside if c == "agetail"), "")
    number = next((value for c, _, _, value in inside if c == "number"), "")
    return _NO_AGE if rule.kind == "age" and tail in _OLD_WORDS and number and int(number) < _OLD_FROM else 0.0
