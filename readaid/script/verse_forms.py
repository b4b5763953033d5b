"""Verse forms: the names and how long their lines are.

Conventions
-----------
* A form is a tuple of line lengths in morae, or in characters for Chinese
  verse (``unit``); prose has none. A form that ``repeats`` may have any number of such lines.
* ``bare_vowel``: Motoori Norinaga's observation holds, that an over-long line
  has a bare あ い う お inside it (waka forms); in haikai it often does not.
* Lengths: common practice, as in any handbook of Japanese metre.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from readaid.core.errors import OptionError, unknown_option


@dataclass(frozen=True, slots=True)
class Form:
    """One verse form.

    A form added to the list below is counted, searched and found at once; until it is fitted it counts as seldom met
    (``form.other`` among the weights of the search).
    """

    name: str
    japanese: str
    lines: tuple[int, ...]
    unit: Literal["mora", "character"] = "mora"
    repeats: bool = False
    bare_vowel: bool = False


_ALL = (
    Form("hokku", "発句", (5, 7, 5)),
    Form("tanka", "短歌", (5, 7, 5, 7, 7), bare_vowel=True),
    Form("linked", "付句", (7, 7)),
    Form("dodoitsu", "都々逸", (7, 7, 7, 5)),
    Form("sedoka", "旋頭歌", (5, 7, 7, 5, 7, 7), bare_vowel=True),
    Form("imayo", "今様", (7, 5, 7, 5, 7, 5, 7, 5)),
    Form("chinese-5", "五言", (5,), unit="character", repeats=True),
    Form("chinese-7", "七言", (7,), unit="character", repeats=True),
    Form("prose", "散文", ()),
)
#: Name to form; the line lengths alone are in ``FORMS``.
BY_NAME: Mapping[str, Form] = MappingProxyType({f.name: f for f in _ALL})
FORMS: Mapping[str, tuple[int, ...]] = MappingProxyType({f.name: f.lines for f in _ALL})
#: Other names for the same metre. Common practice, no source.
ALIASES: Mapping[str, str] = MappingProxyType({
    "haiku": "hokku", "senryu": "hokku", "waka": "tanka", "kyoka": "tanka", "ageku": "linked", "tan-renga": "tanka",
    "発句": "hokku", "俳句": "hokku", "川柳": "hokku", "短歌": "tanka", "和歌": "tanka", "狂歌": "tanka",
    "付句": "linked", "都々逸": "dodoitsu", "旋頭歌": "sedoka", "今様": "imayo", "五言": "chinese-5",
    "七言": "chinese-7", "散文": "prose"})


#: Line lengths as they are written for a form: 5-7-5, 5・7・5, ５－７－５, 5,7,5.
_LENGTHS = re.compile(r"\d{1,2}(?:\s*[-－–‐・･,、/ ]\s*\d{1,2})+")


def form(name: str) -> Form:
    """The form of a name, of an alias, or of its line lengths in morae (a form of our own where none has them).

    Raises
    ------
    OptionError: for an unknown name, with the nearest right one; for lengths no verse has.

    >>> form("senryu").lines
    (5, 7, 5)
    >>> form("5-7-5").name, form("5-7-7").lines
    ('hokku', (5, 7, 7))
    >>> form("tonka")
    Traceback (most recent call last):
    readaid.core.errors.OptionError: Unknown form 'tonka': did you mean 'tanka'? Known: ...
    """
    if not isinstance(name, str):
        raise OptionError(f"A verse form is a name, not {name!r}", cure=f"give one of {', '.join(BY_NAME)}")
    known = ALIASES.get(name, name)
    if known not in BY_NAME and _LENGTHS.fullmatch(name.strip()):
        return _of_lengths(name)
    if known not in BY_NAME:
        raise unknown_option("form", name, [*BY_NAME, *(a for a in ALIASES if a.isascii())])
    return BY_NAME[known]


def _of_lengths(written: str) -> Form:
    lines = tuple(int(n) for n in re.findall(r"\d+", written))
    if len(lines) > 12 or not all(1 <= n <= 20 for n in lines):
        raise OptionError(f"'{written}' is no verse form", cure="give up to 12 lines of 1 to 20 morae, as 5-7-5")
    same = next((f for f in _ALL if f.lines == lines and f.unit == "mora" and not f.repeats), None)
    return same or Form("-".join(map(str, lines)), "", lines)
