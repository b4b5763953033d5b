"""Usual names (tsūshō): 清左衛門, 喜右衛門, 源次郎, 主水. A name that holds 門 or 作 is cut here as one.

Conventions: a ``UsualName`` covers signs ``start`` to ``end`` of a text in today's forms; its reading is one possible
one. Costs are -700 ln p, 0 for an ending with a usual stem. Words: ``tables/usual_names.tsv``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from readaid.script.rows import load
from readaid.script.signs import fold

_KINDS = ("ending", "weak", "stem", "court")
#: Signs that stand in no stem: 作之丞 may be one, 於之丞 is none.
_NEVER = frozenset("於以応依為住門国州年月日歳屋尉()…?")
#: A stem that the table lacks, one or two signs long; the ending says enough to name it.
_OTHER_STEM = {0: 150.0, 1: 30.0, 2: 90.0}
_LONGEST = 7
#: A weak ending; one that may be the verb (定作 may be 定, made).
_WEAK, _VERB = 30.0, 150.0
_GOING_ON = ("衛", "門", "エ", "之", "郎", "右", "左")


@dataclass(frozen=True, slots=True)
class UsualName:
    """One usual name: after its last sign, cost, a possible reading (empty where the stem is unknown)."""

    end: int
    cost: float
    reading: str


@cache
def words(kind: str) -> dict[str, str]:
    """Words of a kind with their readings.

    >>> words("ending")["左衛門"], words("court")["主水"]
    ('ざえもん', 'もんど')
    """
    def make(row: dict[str, str]) -> tuple[str, str, str]:
        if row["kind"] not in _KINDS or not row["reading"]:
            raise ValueError(f"{row['name']}: kind {row['kind']!r}, known: {', '.join(_KINDS)}")
        return row["kind"], fold(row["name"]), row["reading"]

    rows = load("usual_names.tsv", ("kind", "name", "reading"), make)
    return {name: reading for k, name, reading in rows if k == kind}


@cache
def _names() -> dict[str, tuple[float, str]]:
    """Every name the table makes by itself: court names, stems with endings."""
    made = {name: (0.0, reading) for name, reading in words("court").items()}
    for stem, sound in words("stem").items():
        for ending, reading in words("ending").items():
            made.setdefault(stem + ending, (0.0, sound + reading))
        for ending, reading in words("weak").items():
            if ending != stem[-1]:
                made.setdefault(stem + ending, (_VERB if ending in "作造" else _WEAK, sound + reading))
    for name, (cost, sound) in list(made.items()):  # 五郎八, 次郎吉, 喜平次: a weak ending behind a whole name
        if cost <= _WEAK and len(name) <= 3 and name[-1] in "郎平":
            for ending, reading in words("weak").items():
                if ending not in "郎平作造" and ending != name[-1]:
                    made.setdefault(name + ending, (_WEAK, sound + reading))
    for first in (e for e in words("ending") if e.endswith("郎")):  # 五郎八, 五郎兵衛, 太郎左衛門
        for ending, reading in words("weak").items():
            if ending not in "郎平":
                made.setdefault(first + ending, (_WEAK, words("ending")[first] + reading))
        for ending, reading in words("ending").items():
            if "郎" not in ending:
                made.setdefault(first + ending, (0.0, words("ending")[first] + reading))
    return made


def found(text: str, start: int) -> list[UsualName]:
    """Usual names that may begin at a sign of a text in today's forms.

    >>> [(n.end, n.reading) for n in found("清左衛門作", 0)]
    [(4, 'せいざえもん')]
    >>> found("正光作", 0)
    []
    """
    made: dict[int, UsualName] = {}
    for end in range(start + 2, min(start + _LONGEST, len(text)) + 1):
        word = text[start:end]
        if word in _names():
            cost, reading = _names()[word]
            made[end] = UsualName(end, cost, reading)
            continue
        ending = next((e for n in (4, 3, 2, 1) if (e := word[-n:]) in words("ending") and len(word) > n), "")
        stem = word[:-len(ending)] if ending else ""
        if ending and len(stem) in _OTHER_STEM and not _NEVER & set(stem):
            made[end] = UsualName(end, _OTHER_STEM[len(stem)], "")
    longest = max(made, default=0)
    # 清左衛門 holds 左衛門 at its end only; 三右 of 三右衛門 is no name
    return [n for n in made.values() if n.end == longest or not text[n.end:].startswith(_GOING_ON)]
