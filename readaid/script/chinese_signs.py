"""Characters of Chinese lines: how each is read in Japanese, its tone, and what it rhymes with.

Conventions: a tone is "level", "rising", "departing", "entering", or "oblique" where no more is known; the last four
are oblique together. A rhyme is a level rhyme of the later tables and a tone ("東level"). A character may have several.
New forms are looked up as the old form they stand for (来 as 來). Table and source: ``tables/chinese_signs.tsv``.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from readaid.script import kanji
from readaid.script.kana import is_kanji
from readaid.script.rows import load
from readaid.script.signs import fold

TONES = ("level", "rising", "departing", "entering", "oblique")


@dataclass(frozen=True, slots=True)
class ChineseSign:
    """One character: readings best first; tones and rhymes, none where the table does not know it."""

    sign: str
    tones: tuple[str, ...] = ()
    rhymes: tuple[str, ...] = ()
    on: tuple[str, ...] = ()
    kun: tuple[str, ...] = ()

    @property
    def level(self) -> bool | None:
        """True for level, False for oblique, None where it may be both or nothing is known.

        >>> of("霜").level, of("月").level, of("看").level
        (True, False, None)
        """
        kinds = {t == "level" for t in self.tones}
        return kinds.pop() if len(kinds) == 1 else None


def _row(row: dict[str, str]) -> ChineseSign:
    if not is_kanji(row["sign"]):
        raise ValueError(f"{row['sign']!r} is no character")
    tones = tuple(row["tone"].split())
    if unknown := [t for t in tones if t not in TONES]:
        raise ValueError(f"tone {unknown[0]!r} is none of {', '.join(TONES)}")
    return ChineseSign(row["sign"], tones, tuple(row["rhyme"].split()), tuple(row["on"].split()),
                       tuple(row["kun"].split()))


@functools.cache
def _table() -> dict[str, ChineseSign]:
    return {s.sign: s for s in load("chinese_signs.tsv", ("sign", "tone", "rhyme", "on", "kun", "from"), _row)}


def of(sign: str) -> ChineseSign:
    """What is known of a character; an empty record where the table has none.

    >>> of("啼").on, of("啼").kun, of("啼").tones, of("啼").rhymes
    (('てい',), ('なく',), ('level',), ('齊level',))
    >>> of("来").rhymes == of("來").rhymes, of("あ").tones
    (True, ())
    """
    found = _table().get(sign)
    if found is not None and found.rhymes:
        return found
    for old in (*kanji.old_forms(sign), kanji.new_form(sign), fold(sign)):  # fold: 靑 青, 敎 教
        other = _table().get(old)
        if other is not None and (other.rhymes or (found is None)):
            own = found or other
            return ChineseSign(sign, other.tones, other.rhymes, own.on or other.on, own.kun or other.kun)
    return found or ChineseSign(sign)
