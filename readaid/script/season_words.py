"""Season words (季語): which stand in a verse, and their season.

Conventions: ``kana`` in historical spelling; seasons are spring, summer, autumn, winter and new year, of the old
calendar. A match is a string match: whether the word is meant (はな 花 or 鼻) is for the reader. Longer words win.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from readaid.script import kana, kanji, repetition, spelling
from readaid.script.rows import load

SEASONS = ("spring", "summer", "autumn", "winter", "new year")


@dataclass(frozen=True, slots=True)
class SeasonWord:
    """One season word."""

    kana: str
    kanji: str
    season: str
    writings: tuple[str, ...] = ()  # all of them, the usual one first: 時鳥, 郭公, 杜鵑 ...


def _row(row: dict[str, str]) -> SeasonWord:
    if not all(kana.is_hiragana(c) for c in row["kana"]) or not row["kana"]:
        raise ValueError(f"{row['kana']!r} is not hiragana")
    if row["season"] not in SEASONS:
        raise ValueError(f"season {row['season']!r} is none of {', '.join(SEASONS)}")
    writings = tuple(row["kanji"].split("/"))
    return SeasonWord(row["kana"], writings[0], row["season"], writings)


WORDS: tuple[SeasonWord, ...] = tuple(load("season.tsv", ("kana", "kanji", "season"), _row))


@functools.cache
def _by_kana() -> dict[str, tuple[SeasonWord, ...]]:
    found: dict[str, list[SeasonWord]] = {}
    for word in WORDS:
        for key in dict.fromkeys((word.kana, spelling.modern(word.kana))):
            found.setdefault(key, []).append(word)
    return {key: tuple(words) for key, words in found.items()}


@functools.cache
def _by_kanji() -> dict[str, tuple[SeasonWord, ...]]:
    found: dict[str, list[SeasonWord]] = {}
    for word in WORDS:
        for written in dict.fromkeys(kanji.modernised(w) for w in word.writings):
            found.setdefault(written, []).append(word)
    return {key: tuple(words) for key, words in found.items()}


def of(word: str) -> tuple[SeasonWord, ...]:
    """Season words that are exactly this word, in kana (historical or modern) or kanji; () if none.

    >>> [w.season for w in of("しぐれ")], [w.season for w in of("かげろう")], of("つくえ")
    (['winter'], ['spring'], ())
    """
    return _by_kana().get(kana.to_hiragana(word)) or _by_kanji().get(kanji.modernised(word), ())


def _stem(text: str) -> str:
    """A writing without the kana at its end, "" where fewer than two signs are left or it does not begin with kanji."""
    plain = kanji.modernised(text)
    while plain and kana.is_hiragana(plain[-1]):
        plain = plain[:-1]
    return plain if len(plain) > 1 and kana.is_kanji(plain[0]) else ""


@functools.cache
def _by_stem() -> dict[str, tuple[SeasonWord, ...]]:
    found: dict[str, list[SeasonWord]] = {}
    for word in WORDS:
        for written in word.writings:
            if stem := _stem(written):
                found.setdefault(stem, []).append(word)
    return {key: tuple(words) for key, words in found.items()}


def of_stem(text: str) -> tuple[SeasonWord, ...]:
    """Season words written as ``text`` but for the kana at the end: an inflected verb, okurigana left out.

    >>> [w.kana for w in of_stem("柳散り")], of_stem("行く水の")
    (['やなぎちる'], ())
    """
    return _by_stem().get(_stem(text), ())


def found(text: str) -> tuple[SeasonWord, ...]:
    """Season words in a verse: at words where the text has spaces, else anywhere (three kana or more, or kanji).

    >>> [(w.kana, w.season) for w in found("ふるいけ や かはづ とびこむ みづ の おと")]
    [('かはづ', 'spring')]
    >>> [w.kana for w in found("五月雨をあつめて早し最上川")]
    ['さみだれ']
    """
    plain = repetition.written_out(kana.to_hiragana(kanji.modernised(text)))
    if " " in plain.strip():
        parts = plain.split()
        # A season word may be several words long (秋 の 暮): longest runs first, none inside another.
        out: list[SeasonWord] = []
        at = 0
        while at < len(parts):
            for length in range(min(4, len(parts) - at), 0, -1):
                words = of("".join(parts[at:at + length]))
                if words:
                    out.append(words[0])
                    at += length
                    break
            else:
                at += 1
        return tuple(out)
    out = []
    at = 0
    while at < len(plain):
        for length in range(min(10, len(plain) - at), 0, -1):
            piece = plain[at:at + length]
            # In a text without spaces two kana stand in any word: つき would be the moon in つきる.
            if length < 3 and all(kana.is_hiragana(c) for c in piece):
                continue
            words = of(piece)
            if words:
                out.append(words[0])
                at += length
                break
        else:
            at += 1
    return tuple(out)
