"""The layers of a reading: carver's kana, historical norm, modern spelling, romanisation.

Conventions: each works word by word, hiragana out. Kanji readings of the dictionary are
modern, and marked so by ``Word.source``. Nothing here changes ``written``.
"""

from __future__ import annotations

import itertools
from functools import lru_cache

from readaid.core.reading import Word
from readaid.lexicon import dictionary, kanji_runs
from readaid.script import kana as letters
from readaid.script import romaji, spelling

#: Letters that changed places in the writing of the 17th-19th century. Common practice, no source.
_EXCHANGED = ("をおほ", "えへゑ", "いひゐ", "わは", "じぢ", "ずづ", "うふむ")
#: Words joined to the one before them in romanisation.
_JOINED = ("助動詞", "接尾辞")
#: Words that an edition may print in kanji, and those that it prints in kana all the same. Common practice, no source.
_CONTENT = ("名詞,普通名詞", "名詞,固有名詞", "動詞", "形容詞", "形状詞,一般")
_LIGHT = frozenset((
    "為る", "有る", "居る", "成る", "事", "物", "者", "様", "所", "訳", "儘", "程", "方", "無い", "良い", "呉れる",
    "置く", "仕舞う", "又", "迄", "丈", "此の", "其の", "為す", "遣る", "在る", "如何"))
#: Readings of a kanji, likeliest first, that it may be printed for.
USUAL = 6
#: Stands between the parts of a compound until it is romanised.
_SEAM = "\u200b"
_VOWELS = frozenset("あいうえお")
_PARTICLES = {"は": "わ", "へ": "え"}


def normal(word: Word) -> str:
    """The word in the historical norm, as far as the dictionary knows an old spelling of it.

    First our list of words of known spelling, then the dictionary: where the carver's kana is itself a spelling of the
    word that it lists, that stands; else the nearest old spelling it lists; else what the carver wrote.
    """
    if not word.known or not letters.to_hiragana(word.kana) or any(
            letters.kind(c) is letters.Kind.KANJI for c in word.written):
        return word.kana  # readings of kanji are in the norm already, where old texts have them
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


def text(word: Word) -> str:
    """The word as an edition would print it: in kanji where it is a noun, verb or adjective with a kanji we can place.

    What stands in kanji stays so, with the okurigana that the carver left out (散 read ちり becomes 散り).
    """
    if not word.known or not word.kana:
        return word.written or word.text
    own = any(letters.kind(c) is letters.Kind.KANJI for c in word.written)
    if not own and (not word.part.startswith(_CONTENT) or word.lemma in _LIGHT):
        return word.normal
    said = word.normal or word.kana
    head = _head(word.lemma)
    if own:
        left_out = (word.written + said[-many:] for many in (1, 2) if _tail(word.lemma) and len(said) > many)
        return next((w for w in left_out if said in kanji_runs.runs().kana(w)), word.written)
    table, tail = kanji_runs.runs(), _tail(word.lemma)
    if said in table.kana(word.lemma):
        return word.lemma
    if tail and said in table.kana(head + said[-len(tail):]):
        return head + said[-len(tail):]
    # Only what the kanji is mostly read: that 上 may be の somewhere does not make のぼり into 上ぼり.
    for kana in sorted((r.kana for r in table.readings(head)[:USUAL]), key=len, reverse=True):
        rest = said[len(kana):]
        if said.startswith(kana) and bool(rest) == bool(tail):
            return head + rest
    return said


def _head(lemma: str) -> str:
    """The kanji that a dictionary form begins with."""
    return "".join(itertools.takewhile(lambda c: letters.kind(c) is letters.Kind.KANJI or c == "々", lemma))


def _tail(lemma: str) -> str:
    return lemma[len(_head(lemma)):]


def modern(word: Word) -> str:
    """The word in today's kana spelling."""
    return word.modern


def romanise(words: tuple[Word, ...], breaks: frozenset[int] = frozenset()) -> str:
    """Modified Hepburn of the words; endings are joined to their word, words in ``breaks`` begin a line after " / ".

    Vowels make one long vowel within a word only, not where the second word of a compound begins (かれえだ is kareeda),
    and a phrase that the dictionary has as one word is parted (水の音 is mizu no oto).
    """
    out = ""
    for number, word in enumerate(words):
        said = _SEAM.join(_seams(word.modern, word.lemma))
        if word.part.startswith("助詞") and said in _PARTICLES:
            said = _PARTICLES[said]
        joined = word.part.startswith(_JOINED) or word.part.startswith("助詞,接続助詞")
        if number and number in breaks:
            out += " / "
        elif number and not joined:
            out += " "
        out += said
    # particles are known here by their part of speech: to hepburn every lone は is one, also 葉 and 歯
    told = "".join("".join(g) if raw else romaji.hepburn("".join(g), particles=False)
                   for raw, g in itertools.groupby(out, key=_raw))
    return told.replace(_SEAM, "")


@lru_cache(maxsize=4096)
def _seams(said: str, lemma: str) -> tuple[str, ...]:
    """A word's sound parted where the last kanji of its writing begins, and round a の within it."""
    head, no, tail = lemma.rpartition("の")
    if no and head and tail and said.find("の", 1) > 0:
        at = said.rfind("の", 1, len(said) - 1)
        if at > 0 and said[at + 1:] in map(spelling.modern, kanji_runs.runs().kana(tail)):
            return (said[:at], " ", "の", " ", said[at + 1:])
    for cut in range(1, len(lemma)):
        if letters.kind(lemma[cut]) is letters.Kind.KANJI:
            for kana in map(spelling.modern, kanji_runs.runs().kana(lemma[cut:])):
                # Only before a vowel: there かれえだ would be read karēda.
                if kana[:1] in _VOWELS and said.endswith(kana) and len(kana) < len(said):
                    return said[:-len(kana)], kana
    return (said,)


def _raw(char: str) -> bool:
    """Not romanised: spaces, line ends, and kanji whose reading nobody knows."""
    return letters.kind(char) is not letters.Kind.KANA
