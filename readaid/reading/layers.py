"""The layers of a reading: carver's kana, historical norm, modern spelling, romanisation.

Conventions: each works word by word, hiragana out. Kanji readings of the dictionary are
modern, and marked so by ``Word.source``. Nothing here changes ``written``.
"""

from __future__ import annotations

import itertools
from functools import lru_cache

from readaid.core.reading import Word
from readaid.lexicon import dictionary
from readaid.script import kana as letters
from readaid.script import romaji, spelling

#: Letters that changed places in the writing of the 17th-19th century. Common practice, no source.
_EXCHANGED = ("をおほ", "えへゑ", "いひゐ", "わは", "じぢ", "ずづ", "うふむ", "むん")
#: Words joined to the one before them in romanisation.
_JOINED = ("助動詞", "接尾辞")
_PARTICLES = {"は": "わ", "へ": "え"}


def normal(word: Word) -> str:
    """The word in the historical norm, as far as the dictionary knows an old spelling of it.

    First our list of words of known spelling, then the dictionary: where the carver's kana is itself a spelling of the
    word that it lists, that stands; else the nearest old spelling it lists; else what the carver wrote.
    """
    if not word.known or word.source == "kanji" or not letters.to_hiragana(word.kana):
        return word.kana
    return spelling.norm(word.kana, word.lemma) or _norm(word.kana, word.modern, word.lemma, word.part)


@lru_cache(maxsize=4096)
def _norm(spelled: str, modern: str, lemma: str, part: str) -> str:
    book = dictionary.opened()

    def same(candidate: str) -> bool:
        return any(e.lemma == lemma and letters.to_hiragana(e.modern) == modern
                   and e.part.split(",")[0] == part.split(",")[0] for e in book.look_up(candidate))

    if spelled != modern and same(spelled):
        return spelled
    choices = [dict.fromkeys([c, *(x for group in _EXCHANGED if c in group for x in group)]) for c in modern]
    size = 1
    for c in choices:
        size *= len(c)
    if size > 512:
        return spelled
    old = [w for w in map("".join, itertools.product(*choices)) if w != modern and same(w)]
    if old:  # the spelling nearest to the carver's own
        return min(old, key=lambda w: (sum(a != b for a, b in zip(w, spelled, strict=False)), w))
    return spelled


def modern(word: Word) -> str:
    """The word in today's kana spelling."""
    return word.modern


def romanise(words: tuple[Word, ...], breaks: frozenset[int] = frozenset()) -> str:
    """Modified Hepburn of the words; endings are joined to their word, words in ``breaks`` begin a line after " / "."""
    out = ""
    for number, word in enumerate(words):
        said = word.modern
        if word.part.startswith("助詞") and said in _PARTICLES:
            said = _PARTICLES[said]
        joined = word.part.startswith(_JOINED) or word.part.startswith("助詞,接続助詞")
        if number and number in breaks:
            out += " / "
        elif number and not joined:
            out += " "
        out += said
    # particles are known here by their part of speech: to hepburn every lone は is one, also 葉 and 歯
    return "".join("".join(g) if raw else romaji.hepburn("".join(g), particles=False)
                   for raw, g in itertools.groupby(out, key=_raw))


def _raw(char: str) -> bool:
    """Not romanised: spaces, line ends, and kanji whose reading nobody knows."""
    return letters.kind(char) is not letters.Kind.KANA
