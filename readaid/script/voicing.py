"""Voicing: which kana an unmarked letter may stand for.

Conventions: hiragana in, hiragana out (katakana is converted). Grades are those of ``grades.GRADES``; how much each
costs is fitted elsewhere. A letter that carries a mark is never unvoiced again.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from readaid.script import kana
from readaid.script.grades import Grade
from readaid.script.rows import load


@dataclass(frozen=True, slots=True)
class Value:
    """What a letter may be read as: the kana, the reason key of the lattice ("" as written) and the grade."""

    kana: str
    reason: str
    grade: Grade


def _row(row: dict[str, str]) -> dict[str, str]:
    for column, value in row.items():
        if value != "-" and not kana.is_hiragana(value):
            raise ValueError(f"{column} {value!r} is not one hiragana")
    return row


_ROWS = load("voicing.tsv", ("plain", "voiced", "half", "small"), _row)
#: Plain kana to voiced kana (か -> が), also う -> ゔ.
VOICED = {r["plain"]: r["voiced"] for r in _ROWS if r["voiced"] != "-"}
#: Plain kana to half-voiced kana (は -> ぱ).
HALF = {r["plain"]: r["half"] for r in _ROWS if r["half"] != "-"}
_PLAIN = {v: p for p, v in (*VOICED.items(), *HALF.items())}
#: Kana whose unmarked letter may stand for a voiced one in old writing (う for ゔ is not among them).
READ_VOICED = frozenset(VOICED) - {"う"}
#: Full-size letters that may stand for a small kana in old writing.
READ_SMALL = {"つ": "っ", "や": "ゃ", "ゆ": "ゅ", "よ": "ょ", "わ": "ゎ"}


def plain(text: str) -> str:
    """All voicing and half-voicing marks taken off.

    >>> plain("ながながし")
    'なかなかし'
    """
    return "".join(kana.to_katakana(_PLAIN[h]) if kana.is_katakana(c) and h in _PLAIN else _PLAIN.get(h, c)
                   for c in kana.clean(text) for h in (kana.to_hiragana(c),))


def voiced(char: str) -> str | None:
    """The voiced form of one kana, or None.

    >>> voiced("は"), voiced("ま")
    ('ば', None)
    """
    return VOICED.get(kana.to_hiragana(char))


def half_voiced(char: str) -> str | None:
    """The half-voiced form of one kana, or None.

    >>> half_voiced("ほ")
    'ぽ'
    """
    return HALF.get(kana.to_hiragana(char))


@cache
def values(char: str) -> tuple[Value, ...]:
    """Every kana that one unmarked letter may stand for, as written first.

    >>> [(v.kana, v.reason) for v in values("は")]
    [('は', ''), ('ば', 'voicing'), ('ぱ', 'half voicing')]
    >>> [v.kana for v in values("つ")]
    ['つ', 'づ', 'っ']
    >>> [v.kana for v in values("が")]
    ['が']
    """
    hira = kana.to_hiragana(char)
    out = [Value(hira, "", "usual")]
    if hira in READ_VOICED:
        out.append(Value(VOICED[hira], "voicing", "frequent"))
    if hira in HALF:
        out.append(Value(HALF[hira], "half voicing", "rare"))
    if hira in READ_SMALL:
        out.append(Value(READ_SMALL[hira], "small kana", "rare" if hira == "わ" else "seldom"))
    return tuple(out)
