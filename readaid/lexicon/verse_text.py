"""One known verse: its kana line by line, how it is written, whose it is and where it comes from.

Conventions: kana as the source spells them; ``text`` is how the verse is written there (kanji and kana). Where only
kanji are given, the kana are those of the dictionary's tagger, which are modern: ``kana_from`` says so.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass

from readaid.core.errors import ReadaidError, TextError
from readaid.lexicon import tagger
from readaid.script import kana as letters

#: Kana of one verse beyond this are refused: it is no verse but a text.
MOST_KANA = 400
_SPLIT = re.compile(r"[\s　/／|]+")
#: Lines of plain hiragana need no closer look, which takes most of the time of a file of 100,000 verses.
_PLAIN = re.compile(r"[ぁ-ゔー\s　/／|]+")


class CollectionError(ReadaidError):
    """A verse collection that cannot be read."""


@dataclass(frozen=True, slots=True)
class KnownVerse:
    """One verse of a collection."""

    lines: tuple[str, ...]  # kana
    title: str = ""
    author: str = ""
    source: str = ""
    text: str = ""
    note: str = ""
    kana_from: str = "source"  # or "dictionary": read by the tagger

    @property
    def kana(self) -> str:
        """The kana, lines joined.

        >>> KnownVerse(("はるのうみ", "ひねもす")).kana
        'はるのうみひねもす'
        """
        return "".join(self.lines)


def of_text(verse: str, *, text: str = "", title: str = "", author: str = "", source: str = "",
            note: str = "") -> KnownVerse:
    """A verse in lines or running, in kana or with kanji; ``text`` is how it is written where ``verse`` is its kana.

    Raises TextError where a sign cannot stand in a verse.

    >>> of_text("はるの うみ").lines, of_text("古池や").lines
    (('はるの', 'うみ'), ('ふるいけや',))
    """
    parts = [p for p in _SPLIT.split(verse) if p]
    if parts and _PLAIN.fullmatch(verse) and len(verse) <= MOST_KANA:
        return KnownVerse(tuple(parts), title, author, source, text, note)
    lines = tuple(_hiragana(p) for p in parts)
    if not lines:
        raise TextError("A verse is empty", cure="give its kana")
    if sum(map(len, lines)) > MOST_KANA:
        raise TextError(f"A verse has more than {MOST_KANA} kana", cure="give it in parts")
    pure = all(letters.kind(s) is not letters.Kind.KANJI for s in letters.checked("".join(parts)))
    return KnownVerse(lines, title, author, source, text or ("" if pure else verse), note,
                      "source" if pure else "dictionary")


def _hiragana(text: str) -> str:
    signs = letters.checked(text)
    if any(letters.kind(s) is letters.Kind.KANJI for s in signs):
        text = "".join(_read(text))
    return "".join(letters.LIGATURES.get(c, c) for c in letters.to_hiragana(letters.clean(text))
                   if letters.is_hiragana(c) or c in letters.LIGATURES or c in "ーゝゞ〱〲")


def _read(text: str) -> Iterator[str]:
    for word in tagger.best(text)[0]:
        fields = next(csv.reader([word.feature]))
        known = len(fields) > 17 and any(letters.is_kanji(c) for c in word.surface)
        yield fields[17] if known and fields[17] != "*" else word.surface
