"""Era names of China, Korea and Vietnam in a row of signs, so that 清乾隆五十年 is no Japanese fiftieth year.

Conventions: a ``ForeignDate`` covers signs ``start`` to ``end``: dynasty, era, number, year word and cycle name as far
as they stand. A name that was a Japanese era too (正徳, 元和) is foreign only behind a dynasty (大明正徳年製), another
name only with a dynasty before it or a year behind it, since 永楽 is a family as well. The year told is a reckoning for
the reader, no dating: such marks were copied for centuries.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from readaid.core.errors import TextError
from readaid.script import cycle, numerals
from readaid.script.rows import load
from readaid.script.signs import Signs, fold

_DYNASTIES = ("大明", "皇明", "大清", "皇清", "大宋", "大唐", "大元", "大朝鮮", "朝鮮", "李朝", "高麗", "南宋", "北宋",
              "明", "清", "宋", "唐", "元", "韓")
_YEAR = re.compile(r"(?P<number>[元〇一二三四五六七八九十廿卅卌百有又余0-9]*)(?P<word>[年歳載]?)")


@dataclass(frozen=True, slots=True)
class ForeignEra:
    """One era name of another country; ``shared``: a Japanese era had the name too."""

    name: str
    land: str
    first: int
    last: int
    shared: bool


@dataclass(frozen=True, slots=True)
class ForeignDate:
    """Where a foreign date stands and what year it names, if a number stands."""

    start: int
    end: int
    era: ForeignEra
    year: int | None

    @property
    def words(self) -> str:
        """In plain words."""
        span = f"{self.era.name} is an era of {self.era.land} ({self.era.first} to {self.era.last})"
        return f"{span}; that year of it was {self.year}" if self.year else span


@cache
def eras() -> dict[str, ForeignEra]:
    """Foreign eras by name in today's forms."""
    def make(row: dict[str, str]) -> ForeignEra:
        made = ForeignEra(fold(row["name"]), row["land"], int(row["first"]), int(row["last"]), row["also"] == "yes")
        if made.first > made.last or row["also"] not in ("", "yes"):
            raise ValueError(f"{made.name}: its years or its last column")
        return made

    return {e.name: e for e in load("foreign_eras.tsv", ("name", "land", "first", "last", "also"), make)}


def dates(signs: Signs) -> list[ForeignDate]:
    """Foreign dates in a row of signs, in order.

    >>> from readaid.script.signs import signs
    >>> [(d.era.name, d.year) for d in dates(signs("清乾隆五十年"))], dates(signs("正徳三年"))
    ([('乾隆', 1785)], [])
    """
    text = fold(signs.text) if len(fold(signs.text)) == len(signs) else signs.text
    found, place = [], 0
    while place < len(text):
        made = _at(text, place)
        if made:
            found.append(made)
        place = made.end if made else place + 1
    return found


def _at(text: str, start: int) -> ForeignDate | None:
    dynasty = next((d for d in _DYNASTIES if text.startswith(d, start)), "")
    for head in dict.fromkeys((dynasty, "")):
        begin = start + len(head)
        # Names of four signs first: their first two may be a name as well.
        era = next((eras()[text[begin:begin + n]] for n in (4, 2) if text[begin:begin + n] in eras()), None)
        # 正徳 was an era of Ming and of Japan: without 大明 before it, it is Japan's.
        if era is None or (era.shared and not head):
            continue
        end = begin + len(era.name)
        after = _YEAR.match(text, end)
        number, word = (after["number"], after["word"]) if after else ("", "")
        branch = text[end + len(number) + len(word):][:2]
        # 永楽 三: a number without 年 belongs to what comes after.
        if number and not word and branch not in cycle.names():
            number = ""
        end += len(number) + len(word)
        if branch in cycle.names():
            end += 2
        if head or end > begin + len(era.name):
            return ForeignDate(start, end, era, _year(era, number))
    return None


def _year(era: ForeignEra, number: str) -> int | None:
    try:
        return era.first + numerals.read(number) - 1 if number else None
    except TextError:
        return None
