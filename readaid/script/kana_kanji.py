"""Kanji that stand for kana: letters (者 は), particles (之 の), endings (哉 かな), and any parent of a hentaigana.

Conventions: values are hiragana in the historical norm, usual ones first; ``grade`` says how often the kanji has this
value *once it stands for kana*. That a kanji stands for itself is never excluded here: the lattice keeps both.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Literal, cast, get_args

from readaid.core.errors import TableError
from readaid.script import hentaigana, kana, kanji
from readaid.script.grades import GRADES, Grade, grade
from readaid.script.rows import load

Use = Literal["kana", "word", "verse", "parent"]


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a kanji read as kana."""

    kana: str
    use: Use
    grade: Grade
    reason: str = "kanji as kana"


def _row(row: dict[str, str]) -> tuple[str, Value]:
    if not kana.is_kanji(row["kanji"]) or not all(kana.is_hiragana(c) for c in row["kana"]) or not row["kana"]:
        raise ValueError(f"{row['kanji']} or {row['kana']!r} is not one kanji and its kana")
    if row["use"] not in get_args(Use):
        raise ValueError(f"use {row['use']!r} is none of {', '.join(get_args(Use))}")
    return row["kanji"], Value(row["kana"], cast(Use, row["use"]), grade(row["grade"]))


@functools.cache
def _table() -> dict[str, tuple[Value, ...]]:
    found: dict[str, dict[str, Value]] = {}
    for char, value in load("kana_kanji.tsv", ("kanji", "kana", "use", "grade"), _row):
        values = found.setdefault(char, {})
        if value.kana in values:
            raise TableError(f"{char} {value.kana} stands twice", "kana_kanji.tsv", "take one away")
        values[value.kana] = value
    for letter in hentaigana.letters():
        for char in kanji.forms(letter.parent):
            for sound in letter.sounds:
                value = Value(sound, "parent", "seldom" if letter.common else "rare")
                found.setdefault(char, {}).setdefault(sound, value)
    return {c: tuple(sorted(v.values(), key=lambda x: GRADES.index(x.grade))) for c, v in found.items()}


def values(char: str) -> tuple[Value, ...]:
    """Kana for which one kanji may stand, usual ones first; () if none is known.

    >>> [v.kana for v in values("之")], [v.kana for v in values("哉")], [v.kana for v in values("而")][:2]
    (['の', 'し', 'これ'], ['かな', 'や'], ['て', 'にて'])
    >>> values("猫")
    ()
    """
    return _table().get(char, ())


def kanji_for(sound: str) -> tuple[str, ...]:
    """Kanji that may stand for these kana, usual ones first.

    >>> kanji_for("けり")
    ('鳧', '鳬')
    """
    wanted = kana.to_hiragana(sound)
    found = [(GRADES.index(v.grade), n, char) for n, (char, values_) in enumerate(_table().items())
             for v in values_ if v.kana == wanted]
    return tuple(char for _, _, char in sorted(found))
