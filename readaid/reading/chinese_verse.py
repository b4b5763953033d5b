"""A Chinese line, couplet or quatrain: each character with on, kun and tone, the rhyme at even lines, a known line.

Conventions
-----------
* Signs stand as they are, no kana are guessed: how the line was read in Japanese is the reader's (``return_marks``
  gives the order from the marks that the reader enters).
* Lines of five or seven characters; columns need not be lines. ``lines`` is empty where no number of lines fits.
* A pattern writes ○ level, ● oblique, ◐ both, ? not in the table. Rhymes are those of the later tables: a rhyme that
  does not agree there may have been good enough for the poet, and a Japanese poet errs now and then.
* Known lines are those of ``data/verses/chinese.tsv``, typed from memory; unread signs agree with anything.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

from readaid.core import places, tsv
from readaid.script import chinese_signs, kanji
from readaid.script.chinese_signs import ChineseSign
from readaid.script.kana import is_kanji
from readaid.script.signs import Characters, fold, signs

#: Lines of a poem that have a name of their own.
NAMES = {2: "couplet", 4: "quatrain", 8: "regulated verse"}
#: A known line has this share of its signs here, and at least so many of them read.
NEAR, LEAST = 0.7, 3


@dataclass(frozen=True, slots=True)
class KnownLine:
    """A known Chinese poem or couplet."""

    lines: tuple[str, ...]
    author: str
    title: str
    source: str


@dataclass(frozen=True, slots=True)
class LineMatch:
    """A known line found: the poem, which of its lines (from 0), how many signs agree of how many compared."""

    poem: KnownLine
    first: int
    agree: int
    compared: int
    differences: tuple[str, ...]
    among: int

    @property
    def words(self) -> str:
        """In one sentence."""
        whole = self.first == 0 and self.compared >= len("".join(self.poem.lines))
        same = "the same" if not self.differences else "a variant"
        what = same if whole else f"{same} as a part" if not self.differences else f"{same} of a part"
        return (f"{what} of {self.poem.title}, {self.poem.author}: {self.agree} of {self.compared} signs agree; among"
                f" {self.among} known Chinese lines and poems")


@dataclass(frozen=True, slots=True)
class ChineseVerse:
    """A Chinese line taken apart."""

    text: str
    lines: tuple[str, ...]
    name: str  # "five-character quatrain" ..., "" where nothing fits
    signs: tuple[ChineseSign, ...]
    patterns: tuple[str, ...]
    rhyme: str  # in words
    rhymes: bool | None  # whether the even lines rhyme; None where it cannot be told
    known: LineMatch | None

    def table(self) -> list[list[str]]:
        """Rows for a page: sign, on, kun, tone."""
        return [[s.sign, "、".join(s.on[:3]), "、".join(s.kun[:3]), " or ".join(s.tones) or "not in the table"]
                for s in self.signs]


def taken_apart(characters: Characters) -> ChineseVerse:
    """A Chinese line with its characters, pattern of tones, rhyme and, if there is one, the known line.

    >>> found = taken_apart("月落烏啼霜滿天江楓漁火對愁眠姑蘇城外寒山寺夜半鐘聲到客船")
    >>> found.name, found.rhymes, found.patterns[0]
    ('seven-character quatrain', True, '●●○○○●○')
    >>> found.known.poem.title
    '楓橋夜泊'
    """
    row = signs(characters)
    text = row.text
    lines = lined(text, sorted(row.breaks))
    told = tuple(chinese_signs.of(c) for c in text)
    name = f"{'five' if len(lines[0]) == 5 else 'seven'}-character {NAMES.get(len(lines), 'lines')}" if lines else ""
    if len(lines) == 1:
        name = name.replace("lines", "line")
    words, fits = _rhyme(lines)
    patterns = tuple("".join(_tone(c) for c in line) for line in lines or (text,))
    return ChineseVerse(text, lines, name, told, patterns, words, fits, known(text))


def lined(text: str, breaks: Sequence[int] = ()) -> tuple[str, ...]:
    """Lines of five or seven characters, () where neither fits; ends of columns choose where both do.

    >>> lined("白日依山盡黄河入海流")
    ('白日依山盡', '黄河入海流')
    """
    fits = [n for n in (7, 5) if text and len(text) % n == 0]
    fits.sort(key=lambda n: -sum(b % n == 0 for b in breaks))
    return tuple(text[i:i + fits[0]] for i in range(0, len(text), fits[0])) if fits else ()


def _tone(sign: str) -> str:
    found = chinese_signs.of(sign)
    return "?" if not found.tones else "◐" if found.level is None else "○" if found.level else "●"


def _rhyme(lines: Sequence[str]) -> tuple[str, bool | None]:
    """What is to be said of the rhyme at even lines, and whether they rhyme."""
    ends = [line[-1] for line in lines[1::2]]
    if len(ends) < 2:
        return "a rhyme needs two even lines", None
    told = [chinese_signs.of(e) for e in ends]
    if missing := [e.sign for e in told if not e.rhymes]:
        return f"{'、'.join(missing)} not in the table of rhymes", None
    shared = set(told[0].rhymes).intersection(*(e.rhymes for e in told[1:]))
    words = "、".join(f"{e.sign} {'/'.join(map(_named, e.rhymes))}" for e in told)
    if shared:
        first = chinese_signs.of(lines[0][-1])
        joins = "; the first line rhymes too" if shared & set(first.rhymes) else ""
        return f"the even lines rhyme: {words}{joins}", True
    # 東 and 冬, 支 and 微, 真 文 元, 先 and 元 ... are near, and old-style verse passes from one to the other.
    groups = [{_near(r) for r in e.rhymes} for e in told]
    if set.intersection(*groups):
        return f"the even lines rhyme across neighbouring rhymes: {words}", True
    return f"the even lines do not rhyme by the later tables: {words}", False


#: Neighbouring rhymes that old-style verse takes together (from memory).
_GROUPS = ("東冬", "江陽", "支微齊", "魚虞", "佳灰", "真文元", "寒刪先元", "蕭肴豪", "庚青蒸", "覃鹽咸")


def _near(rhyme: str) -> str:
    group = next((g for g in _GROUPS if rhyme[0] in g), rhyme[0])
    tone = rhyme[1:]
    return group + ("level" if tone == "level" else "entering" if tone == "entering" else "oblique")


def _named(rhyme: str) -> str:
    return f"{rhyme[0]} ({rhyme[1:]})"


@functools.cache
def collection() -> tuple[KnownLine, ...]:
    """The known Chinese lines that come along."""
    def make(row: dict[str, str]) -> KnownLine:
        lines = tuple(row["lines"].split("/"))
        if not all(is_kanji(c) for c in "".join(lines)):
            raise ValueError(f"{row['lines']!r} holds a sign that is no character")
        return KnownLine(lines, row["author"], row["title"], row["source"])

    return tuple(tsv.load(places.share("data") / "verses" / "chinese.tsv", ("lines", "author", "title", "source"),
                          make))


def known(text: str) -> LineMatch | None:
    """The known line or poem that most of these signs are, in old or new forms; None where none is near.

    >>> known("孤舟蓑笠翁?釣寒江雪").poem.author, known("文化元年甲子")
    ('Liu Zongyuan', None)
    """
    wanted = [fold(kanji.modernised(c)) for c in text]
    best: LineMatch | None = None
    for poem in collection():
        whole = "".join(poem.lines)
        there = [fold(kanji.modernised(c)) for c in whole]
        starts = [sum(map(len, poem.lines[:n])) for n in range(len(poem.lines))]
        for first, at in enumerate(starts):
            piece = there[at:at + len(wanted)]
            if len(piece) < len(wanted):
                continue
            read = [(a, b) for a, b in zip(wanted, piece, strict=True) if a not in "?□■"]
            agree = sum(a == b for a, b in read)
            if agree >= max(LEAST, NEAR * len(read)) and (best is None or agree > best.agree):
                notes = tuple(f"sign {n + 1} {text[n]}: the poem has {whole[at + n]}" for n, (a, b) in
                              enumerate(zip(wanted, piece, strict=True)) if a not in "?□■" and a != b)
                best = LineMatch(poem, first, agree, len(wanted), notes, len(collection()))
    return best
