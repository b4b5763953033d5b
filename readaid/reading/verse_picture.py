"""Verse and picture: which designs, places and pillow words a verse names, and what goes with a design.

Conventions: asked both ways. Agreement of the design with the verse is a hint that the reading is right and that both
were made for each other, no proof: pictures are chosen by fashion, and a verse may leave unsaid what is drawn. Only
words of the reading count, never a part of one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from readaid.core.reading import Reading, Word
from readaid.lexicon import verses
from readaid.lexicon.verse_text import KnownVerse
from readaid.script import kana as letters
from readaid.script import kanji, subjects
from readaid.script.subjects import Subject

#: Kana of a word of a verse that name a design without its kanji: か き ひ name too much.
_PLAIN = 3


@dataclass(frozen=True, slots=True)
class VersePicture:
    """What a verse names, and how that stands to the design of the piece."""

    designs: tuple[Subject, ...]
    places: tuple[str, ...]
    pillows: tuple[str, ...]  # "あしびきの, before 山 峰"
    hints: tuple[str, ...]  # sentences on verse and design


@dataclass(frozen=True, slots=True)
class WithDesign:
    """What goes with a design: seasons, places, other designs, and verses that name it."""

    design: Subject
    verses: tuple[KnownVerse, ...]


def named(reading: Reading, design: str = "") -> VersePicture:
    """What a reading names, and what its agreement with ``design``, the words of the piece's subject, says.

    >>> from readaid.reading.solve import read
    >>> found = named(read("古池や蛙飛こむ水の音", form="hokku", k=1)[0], "frog on a lotus leaf")
    >>> [d.name for d in found.designs][:2], found.hints[1][:28]
    (['old pond', 'frog'], 'The design shows frog and so')
    """
    words = reading.words
    found: dict[str, Subject] = {}
    for word in words:
        for subject in subjects.of_word(word.text) or _by_kana(word):
            found[subject.name] = subject
    return VersePicture(tuple(found.values()), places(words), pillows(words),
                        _hints(tuple(found.values()), reading, design))


def _by_kana(word: Word) -> tuple[Subject, ...]:
    """Designs by the kana of a word, where the dictionary does not take it for another word (ひ 火, かり 狩)."""
    known = subjects.of_word(word.normal or word.kana) or subjects.of_word(word.kana)
    lemma = {c for c in kanji.modernised(word.lemma) if letters.is_kanji(c)}
    return tuple(s for s in known if (lemma & set(kanji.modernised("".join(s.words)))) or
                 (not lemma and len(word.kana) >= _PLAIN))


def places(words: Sequence[Word]) -> tuple[str, ...]:
    """Place names among the words, as written."""
    return tuple(dict.fromkeys(w.text for w in words if "地名" in w.part))


def pillows(words: Sequence[Word]) -> tuple[str, ...]:
    """Pillow words, of one word or of two (ひさかた の), with what they stand before."""
    out: dict[str, None] = {}
    for at in range(len(words)):
        for many in (3, 2, 1):
            run = words[at:at + many]
            found = subjects.pillow("".join(w.normal or w.kana for w in run)) or subjects.pillow(
                "".join(w.kana for w in run))
            if found and len(run) == many:
                out[f"{found.kana}, before {' '.join(found.before)}" if found.before else found.kana] = None
                break
    return tuple(out)


def _hints(named: Sequence[Subject], reading: Reading, design: str) -> tuple[str, ...]:
    shown = subjects.designs(design)
    names = {s.name for s in named}
    out = []
    for subject in shown:
        held = set(subject.companions) & names
        seasons_told = {s for told in reading.season for s in told.rsplit("(", 1)[-1].strip(")").split("/")}
        if subject.name in names:
            out.append(f"The design shows {subject.name} and so does the verse: a hint that they belong together.")
        elif held:
            out.append(f"The design shows {subject.name}; in verse it goes with {', '.join(sorted(held))}, which this"
                       " one names: a weak hint.")
        elif seasons_told and subject.seasons and not seasons_told & set(subject.seasons):
            out.append(f"The design shows {subject.name} ({'/'.join(subject.seasons)}), the verse is of"
                       f" {'/'.join(sorted(seasons_told))}: look at both again.")
    return tuple(out)


def beside(design: str, most: int = 12) -> tuple[WithDesign, ...]:
    """What goes with each design that ``design`` names, with known verses that name it.

    >>> found = beside("frog")[0]
    >>> found.design.seasons, any("かはづ" in v.kana for v in found.verses)
    (('spring',), True)
    """
    return tuple(WithDesign(subject, tuple(v for v in verses.load(verses.demo_path()) if _names(v, subject))[:most])
                 for subject in subjects.designs(design))


def _names(verse: KnownVerse, subject: Subject) -> bool:
    """Whether a known verse names a design: by its writing, or by kana long enough to be no chance."""
    text = kanji.modernised(verse.text)
    return any(kanji.modernised(w) in text if any(map(letters.is_kanji, w)) else len(w) > _PLAIN and w in verse.kana
               for w in subject.words)


