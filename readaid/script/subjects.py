"""Designs on pieces and what goes with them in verse, and the pillow words.

Conventions: a design has an English name; ``words`` name it in verse (kana in historical spelling, and writings);
seasons are those of the old calendar. What goes together is a habit of verse and pictures, never a rule.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from readaid.script import kana, kanji
from readaid.script.rows import load
from readaid.script.season_words import SEASONS


@dataclass(frozen=True, slots=True)
class Subject:
    """One design: its words in verse, seasons, places and other designs that go with it."""

    name: str
    words: tuple[str, ...]
    seasons: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    companions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PillowWord:
    """One pillow word, its writings, and the words it stands before as far as they were entered."""

    kana: str
    kanji: tuple[str, ...]
    before: tuple[str, ...]


def _parts(text: str) -> tuple[str, ...]:
    return tuple(p for p in text.split("/") if p)


def _subject(row: dict[str, str]) -> Subject:
    made = Subject(row["name"], _parts(row["words"]), _parts(row["seasons"]), _parts(row["places"]),
                   _parts(row["with"]))
    if not made.name or not made.words:
        raise ValueError("a design needs a name and words")
    if unknown := set(made.seasons) - set(SEASONS):
        raise ValueError(f"season {unknown.pop()!r} is none of {', '.join(SEASONS)}")
    return made


def _pillow(row: dict[str, str]) -> PillowWord:
    if not row["kana"] or not all(map(kana.is_hiragana, row["kana"])):
        raise ValueError(f"{row['kana']!r} is not hiragana")
    return PillowWord(row["kana"], _parts(row["kanji"]), tuple(row["before"].split()))


SUBJECTS: tuple[Subject, ...] = tuple(load("subjects.tsv", ("name", "words", "seasons", "places", "with"), _subject))
PILLOW_WORDS: tuple[PillowWord, ...] = tuple(load("pillow_words.tsv", ("kana", "kanji", "before"), _pillow))


@functools.cache
def pillow(text: str) -> PillowWord | None:
    """The pillow word with this kana or one of these writings.

    >>> pillow("あしびきの").before
    ('山', '峰')
    """
    return next((p for p in PILLOW_WORDS if text in (p.kana, *p.kanji)), None)


def designs(text: str) -> tuple[Subject, ...]:
    """Designs that a description names, in English or Japanese, in the order of the table.

    >>> [s.name for s in designs("Frogs by an old pond, under the moon")], [s.name for s in designs("柳に燕図")]
    (['moon', 'frog', 'old pond'], ['willow', 'swallow'])
    """
    plain, japanese = text.lower(), kanji.modernised(text)
    found = []
    for subject in SUBJECTS:
        name = subject.name.lower()
        english = re.search(rf"\b{re.escape(name)}(?:s|es)?\b", plain) or (
            name.endswith("y") and re.search(rf"\b{re.escape(name[:-1])}ies\b", plain))
        # Writings only: the kana of つき or き would be found inside other words of a description.
        written = any(len(w) and not all(map(kana.is_hiragana, w)) and kanji.modernised(w) in japanese
                      for w in subject.words)
        if english or written:
            found.append(subject)
    return tuple(found)


@functools.cache
def of_word(word: str) -> tuple[Subject, ...]:
    """Designs that a word of a verse names, by its kana or its writing.

    >>> [s.name for s in of_word("ほととぎす")], [s.name for s in of_word("紅葉")]
    (['cuckoo'], ['maple'])
    """
    plain = kanji.modernised(word)
    return tuple(s for s in SUBJECTS if plain in map(kanji.modernised, s.words))
