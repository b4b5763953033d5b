"""How the spelling on an object may differ from a dictionary's: the rules, one by one, for whoever builds the lattice.

Conventions
-----------
* A rule turns kana on the object (``old``, voiced hiragana) into the kana of a
  dictionary (``new``). ``target`` says which dictionary: "modern" spelling, the historical "norm", or "both".
* ``place`` is the place in a *word*: any, start, inside (not first), end,
  alone (the whole word), not alone. On a lattice the builder checks it once words are known.
* Reason keys: "old spelling" (the historical norm), "free exchange" (what
  amateurs of the 17th-19th century did beside it), "small kana", "left out".
* Grades are those of ``grades.GRADES``; the costs are fitted elsewhere.
"""

from __future__ import annotations

import functools
from collections import deque
from dataclasses import dataclass
from typing import Literal, cast, get_args

from readaid.script import kana, voicing
from readaid.script.grades import GRADES, Grade, grade
from readaid.script.rows import load

Place = Literal["any", "start", "inside", "end", "alone", "not alone"]
Target = Literal["modern", "norm", "both"]
REASONS = ("old spelling", "free exchange", "small kana", "left out")


@dataclass(frozen=True, slots=True)
class Rule:
    """One way in which kana on the object stand for kana of the dictionary."""

    old: str
    new: str
    place: Place
    target: Target
    grade: Grade
    reason: str
    applied: bool = False  # spelling.modern applies it by itself
    note: str = ""

    def fits(self, start: int, length: int) -> bool:
        """May the rule stand at kana ``start`` (0-based) of a word of ``length`` kana?

        >>> next(r for r in RULES if (r.old, r.new) == ("は", "わ") and r.applied).fits(0, 3)
        False
        """
        end = start + len(self.old)
        return {"any": True, "start": start == 0, "inside": start > 0, "end": end == length,
                "alone": start == 0 and end == length, "not alone": not (start == 0 and end == length)}[self.place]


@dataclass(frozen=True, slots=True)
class Exchange:
    """A spelling that may stand for another, with the reason key and how often it happens."""

    kana: str
    reason: str
    grade: Grade


def _row(row: dict[str, str]) -> Rule:
    if not all(kana.is_hiragana(c) for c in row["old"] + row["new"]) or not row["old"] or not row["new"]:
        raise ValueError(f"{row['old']!r} or {row['new']!r} is not hiragana")
    for column, known in (("place", get_args(Place)), ("target", get_args(Target)), ("reason", REASONS),
                          ("applied", ("yes", "no"))):
        if row[column] not in known:
            raise ValueError(f"{column} {row[column]!r} is none of {', '.join(known)}")
    return Rule(row["old"], row["new"], cast(Place, row["place"]), cast(Target, row["target"]), grade(row["grade"]),
                row["reason"], row["applied"] == "yes", row["note"])


#: Every rule of ``tables/spelling_rules.tsv``, in its order.
RULES: tuple[Rule, ...] = tuple(load(
    "spelling_rules.tsv", ("old", "new", "place", "target", "grade", "reason", "applied", "note"), _row))
LONGEST = max(len(r.old) for r in RULES)


@functools.cache
def _by_old() -> dict[str, tuple[Rule, ...]]:
    found: dict[str, list[Rule]] = {}
    for rule in RULES:
        found.setdefault(rule.old, []).append(rule)
    return {old: tuple(rules) for old, rules in found.items()}


def rules_at(text: str, start: int, target: Target = "modern") -> tuple[Rule, ...]:
    """Rules whose ``old`` stands at kana ``start`` of a text, longest first; the place is left to the caller.

    >>> [(r.old, r.new) for r in rules_at("けふの", 0)]
    [('けふ', 'きょう')]
    """
    return tuple(rule for length in range(LONGEST, 0, -1) for rule in _by_old().get(text[start:start + length], ())
                 if len(text[start:start + length]) == length and rule.target in (target, "both"))


def left_out(char: str) -> tuple[Exchange, ...]:
    """What one kana may stand for when ん or っ was left out after it.

    They hang on the kana before, so that a search cannot insert them for ever.

    >>> [e.kana for e in left_out("か")]
    ['かん', 'かっ']
    >>> left_out("ん")
    ()
    """
    # No word has two ん or っ in a row, and を is a particle that ends there.
    if not kana.is_hiragana(char) or char in ("ん", "っ", "を"):
        return ()
    # on the kana before it and not as an arc of its own: an arc without width could be taken for ever
    return (Exchange(char + "ん", "left out", "rare"), Exchange(char + "っ", "left out", "rare"))


def _worse(one: Grade, two: Grade) -> Grade:
    return GRADES[max(GRADES.index(one), GRADES.index(two))]


def variants(word: str, changes: int = 2, most: int = 200) -> tuple[Exchange, ...]:
    """Spellings of the time that may stand on an object for one word in modern spelling.

    Parameters
    ----------
    word: one word in modern kana.
    changes: how many rules may be applied together.
    most: how many spellings come back, the likelier first.

    Returns the spellings with the worst grade and the last reason of the rules used; the word itself is not among them.

    >>> [(e.kana, e.reason) for e in variants("きょう") if e.kana in ("けふ", "きやう")]
    [('けふ', 'old spelling'), ('きやう', 'old spelling')]
    >>> "おとめ" in [e.kana for e in variants("をとめ")], "をとめ" in [e.kana for e in variants("おとめ")]
    (True, True)
    """
    start = kana.to_hiragana(word)
    best: dict[str, Exchange] = {start: Exchange(start, "", "usual")}
    queue = deque([(start, 0)])
    while queue:
        here, used = queue.popleft()
        if used == changes:
            continue
        for rule in RULES:
            at = here.find(rule.new)
            while at >= 0:
                made = here[:at] + rule.old + here[at + len(rule.new):]
                # breadth first, so what is there already was reached by fewer rules
                if made not in best and rule.fits(at, len(made)):
                    best[made] = Exchange(made, rule.reason, _worse(best[here].grade, rule.grade))
                    queue.append((made, used + 1))
                at = here.find(rule.new, at + 1)
    del best[start]
    return tuple(sorted(best.values(), key=lambda e: GRADES.index(e.grade))[:most])


def alike(char: str) -> frozenset[str]:
    """Kana that sound the same or differ in voicing only, itself included: what a careless hand may interchange.

    >>> sorted(alike("お"))
    ['お', 'ほ', 'ぼ', 'ぽ', 'を']
    """
    plain = voicing.plain(kana.full(kana.to_hiragana(char)))
    groups = ("おをほ", "えゑへ", "いゐひ", "わは", "うふ", "じぢ", "ずづ", "んむ")
    same = {plain, *(c for g in groups if plain in g for c in g)}
    return frozenset(same | {v.kana for c in same for v in voicing.values(c)})
