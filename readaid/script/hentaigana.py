"""Kana letters and the kanji each came from (字母): hentaigana, standard hiragana, katakana.

Conventions
-----------
* Sounds are plain hiragana; a letter with several (U+1B005 is あ or を) lists
  the first of its Unicode name first. A voiced sound asks for the letters of
  its plain one, since the marks are mostly left out.
* Lists run: standard hiragana, the commoner hentaigana, the other
  hentaigana in Unicode order, katakana.
* A parent may be asked for in old or new form (與 or 与).
"""

from __future__ import annotations

import functools
import unicodedata
from dataclasses import dataclass
from typing import Literal

from readaid.core.errors import TableError, TextError
from readaid.script import kana, kanji, voicing
from readaid.script.rows import load


@dataclass(frozen=True, slots=True)
class Letter:
    """One kana letter: the character, its sounds, its parent kanji ("" if unknown) and its Unicode name."""

    character: str
    sounds: tuple[str, ...]
    parent: str
    name: str
    script: Literal["hiragana", "hentaigana", "katakana"] = "hentaigana"
    common: bool = False

    def __str__(self) -> str:
        return f"{self.character} ({'、'.join(self.sounds)} from {self.parent})"


def _hentaigana(row: dict[str, str]) -> Letter:
    if len(row["character"]) != 1 or f"{ord(row['character']):04X}" != row["code"]:
        raise ValueError(f"{row['character']!r} is not U+{row['code']}")
    sounds = tuple(row["sounds"].split("/"))
    if not all(kana.is_hiragana(s) for s in sounds) or not kana.is_kanji(row["parent"]):
        raise ValueError(f"sounds {row['sounds']} or parent {row['parent']} are no kana or kanji")
    return Letter(row["character"], sounds, row["parent"], row["name"])


@functools.cache
def _all() -> tuple[Letter, ...]:
    """Every letter, in the order of the lists."""
    plain = load("hentaigana.tsv", ("code", "character", "sounds", "parent", "name"), _hentaigana)
    usual = load("hentaigana_common.tsv", ("sound", "parents"), lambda r: (r["sound"], r["parents"]))
    rank = {(sound, parent): n for sound, parents in usual for n, parent in enumerate(parents)}
    known = {(sound, x.parent) for x in plain for sound in x.sounds}
    if strange := [s + p for s, p in rank if (s, p) not in known]:
        raise TableError(f"No hentaigana for {', '.join(strange)}", "hentaigana_common.tsv", "correct these parents")
    marked = [Letter(x.character, x.sounds, x.parent, x.name, common=(x.sounds[0], x.parent) in rank) for x in plain]
    marked.sort(key=lambda x: (not x.common, rank.get((x.sounds[0], x.parent), 99)))  # stable: Unicode order within
    standard = load("kana_letters.tsv", ("sound", "hiragana", "parent", "katakana", "katakana_parent"), dict)

    def name(char: str) -> str:
        return unicodedata.name(char)

    return (*(Letter(r["hiragana"], (r["sound"],), r["parent"], name(r["hiragana"]), "hiragana", True)
              for r in standard),
            *marked,
            *(Letter(r["katakana"], (r["sound"],), r["katakana_parent"], name(r["katakana"]), "katakana",
                     r["katakana"] in "ハニミ") for r in standard))


def letters(sound: str | None = None) -> list[Letter]:
    """Every kana letter of a sound, the standard one first; all 382 letters if no sound is given.

    Raises
    ------
    TextError: if ``sound`` is not one kana.

    >>> [x.parent for x in letters("は")][:4]
    ['波', '者', '者', '八']
    >>> letters("バ") == letters("は")
    True
    """
    if sound is None:
        return list(_all())
    wanted = voicing.plain(kana.full(kana.to_hiragana(sound)))
    found = [x for x in _all() if wanted in x.sounds]
    if not found:
        raise TextError(f"{sound!r} is not the sound of a kana", cure="give one kana, such as は")
    return found


def by_parent(parent: str) -> list[Letter]:
    """Every kana letter that came from a kanji (old or new form); none if the kanji is no parent.

    >>> [(x.sounds[0], x.script) for x in by_parent("与")]
    [('よ', 'hiragana'), ('よ', 'hentaigana'), ('よ', 'hentaigana'), ('よ', 'hentaigana'), ('よ', 'katakana')]
    """
    same = kanji.forms(parent)
    return [x for x in _all() if x.parent in same]


@functools.cache
def _by_character() -> dict[str, Letter]:
    return {x.character: x for x in _all()}


def letter(character: str) -> Letter | None:
    """The letter of one character, or None if it is no kana letter with a known parent.

    A voiced letter (が, or a hentaigana with a voicing mark) gives the letter it is built on.

    >>> str(letter("𛀁"))
    '𛀁 (え from 江)'
    >>> letter("江") is None
    True
    """
    sign = kana.clean(character)
    return _by_character().get(sign) or _by_character().get(voicing.plain(sign)[:1])


def sounds(character: str) -> tuple[str, ...]:
    """The plain sounds of a kana letter, or () for any other sign.

    >>> sounds("𛀅"), sounds("ハ"), sounds("花")
    (('あ', 'を'), ('は',), ())
    """
    found = letter(character)
    return found.sounds if found else ()
