"""Cutting words (切字): which stand in a verse, and where.

Conventions: lines are given as lines of words separated by spaces (kana in historical spelling). ``place`` says where
in a line the word cuts: at its end, its start, or anywhere. One-kana endings (し, ぬ, れ) count at a line's end only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast

from readaid.script import kana
from readaid.script.rows import load

Place = Literal["start", "end", "any"]


@dataclass(frozen=True, slots=True)
class CuttingWord:
    """One cutting word; ``kind`` is what it is (particle, auxiliary ...), ``note`` what it does."""

    kana: str
    place: Place
    kind: str
    note: str


def _row(row: dict[str, str]) -> CuttingWord:
    if not row["kana"] or not all(kana.is_hiragana(c) for c in row["kana"]):
        raise ValueError(f"{row['kana']!r} is not hiragana")
    if row["place"] not in ("start", "end", "any"):
        raise ValueError(f"place {row['place']!r} is none of start, end, any")
    return CuttingWord(row["kana"], cast(Place, row["place"]), row["kind"], row["note"])


WORDS: tuple[CuttingWord, ...] = tuple(load("cutting.tsv", ("kana", "place", "kind", "note"), _row))
_BY_KANA = {w.kana: w for w in WORDS}
#: The three that are seldom anything else, safe to see without word boundaries.
CLEAR = ("かな", "けり", "や")


def found(lines: Sequence[str]) -> tuple[tuple[int, CuttingWord], ...]:
    """Cutting words of a verse: (line, word), lines counted from 0.

    Words must be separated by spaces; a line without spaces is only looked at for や, かな and けり at its end.

    >>> [(n, w.kana) for n, w in found(["ふるいけ や", "かはづ とびこむ", "みづ の おと"])]
    [(0, 'や')]
    >>> [(n, w.kana) for n, w in found(["ゆくはるを", "あふみのひとと", "をしみけり"])]
    [(2, 'けり')]
    """
    out: list[tuple[int, CuttingWord]] = []
    for number, line in enumerate(lines):
        words = kana.to_hiragana(line).split()
        if len(words) == 1:
            end = next((c for c in CLEAR if words[0].endswith(c) and len(words[0]) > len(c) + 1), None)
            if end:
                out.append((number, _BY_KANA[end]))
            continue
        for at, word in enumerate(words):
            cut = _BY_KANA.get(word)
            last = at == len(words) - 1
            if cut and (cut.place == "any" or (cut.place == "end" and last) or (cut.place == "start" and at == 0)) and (
                    len(word) > 1 or word in "やよぞ" or last):
                out.append((number, cut))
    return tuple(out)
