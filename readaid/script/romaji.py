"""Romanisation: modified Hepburn and ISO 3602.

Conventions
-----------
* Input is *modern* kana (use ``spelling.modern`` first), hiragana or katakana.
  Words are separated by spaces, which stay; a long vowel never crosses a space.
* Modified Hepburn: macrons (kyō), ん always n (shinbun), n' before a vowel or y,
  っち tch, い never part of a long vowel (ii, ei), ー a macron.
* ISO 3602: circumflex (kyô, tyô), ん always n, n' before a vowel or y, っ doubles.
* う that ends a verb is no long vowel (omou): known for the verbs of ``old_words``; elsewhere a
  seam ``|`` keeps two vowels apart (と|う 問う tou, beside とう 塔 tō).
* は へ を are romanised as particles (wa, e, o) only where they stand alone as a
  word and ``particles`` is left on; を is o in any case.
"""

from __future__ import annotations

from dataclasses import dataclass

from readaid.core.errors import TextError
from readaid.script import kana, old_words
from readaid.script.rows import load

_ROWS = load("romaji.tsv", ("kana", "hepburn", "iso3602"), dict)
_HEPBURN = {r["kana"]: r["hepburn"] for r in _ROWS}
_ISO = {r["kana"]: r["iso3602"] for r in _ROWS}
_PARTICLES = {"は": "wa", "へ": "e", "を": "o"}
#: Words of two particles: the second sounds wa.
_DOUBLE = {"には": ("に",), "とは": ("と",), "では": ("で",), "へは": ("へ",), "をば": ()}
_MACRON = dict(zip("aiueo", "āīūēō", strict=True))
_CIRCUMFLEX = dict(zip("aiueo", "âîûêô", strict=True))
_MARKS = {"、": ",", "。": ".", "・": " ", "　": " ", " ": " ", "\n": "\n"}


@dataclass(frozen=True, slots=True)
class _Style:
    table: dict[str, str]
    long: dict[str, str]
    tch: bool


_STYLES = {"hepburn": _Style(_HEPBURN, _MACRON, True), "iso3602": _Style(_ISO, _CIRCUMFLEX, False)}


def hepburn(text: str, particles: bool = True) -> str:
    """Modified Hepburn.

    Raises
    ------
    TextError: for kanji or anything else that is not kana, a space, a comma or a full stop.

    >>> hepburn("しんぶん"), hepburn("しんあん"), hepburn("きょう"), hepburn("まっちゃ"), hepburn("つづみ")
    ('shinbun', "shin'an", 'kyō', 'matcha', 'tsuzumi')
    >>> hepburn("はる は はな"), hepburn("おもう"), hepburn("と|う")
    ('haru wa hana', 'omou', 'tou')
    """
    return _romanised(text, _STYLES["hepburn"], particles)


def iso3602(text: str, particles: bool = True) -> str:
    """ISO 3602.

    Raises
    ------
    TextError: as ``hepburn``.

    >>> iso3602("しんぶん"), iso3602("しんあん"), iso3602("ちょう"), iso3602("まっちゃ"), iso3602("つづみ")
    ('sinbun', "sin'an", 'tyô', 'mattya', 'tuzumi')
    """
    return _romanised(text, _STYLES["iso3602"], particles)


def _romanised(text: str, style: _Style, particles: bool) -> str:
    out = ""
    for word in _words(kana.to_hiragana(text)):
        if word in _MARKS:
            out += _MARKS[word]
        elif particles and word in _PARTICLES:
            out += _PARTICLES[word]
        elif particles and word in _DOUBLE:
            out += "oba" if word == "をば" else _particle(_DOUBLE[word][0], style) + "wa"
        else:
            out += _word(word, style, text)
    return out


def _particle(char: str, style: _Style) -> str:
    return _PARTICLES.get(char) or style.table[char]


def _words(text: str) -> list[str]:
    out = [""]
    for char in text:
        if char in _MARKS:
            out += [char, ""]
        else:
            out[-1] += kana.LIGATURES.get(char, char)
    return [w for w in out if w]


def _word(word: str, style: _Style, where: str) -> str:
    out = ""
    double = False
    at = 0
    while at < len(word):
        char = word[at]
        piece = word[at:at + 2] if word[at:at + 2] in style.table else char
        at += len(piece)
        if piece in ("|", kana.UNREAD):
            out += piece
            continue
        if piece == "っ":
            double = True
            continue
        # modified Hepburn writes n before b, m and p (shinbun); the apostrophe parts しんあん from しなん
        if piece == "ん":
            following = style.table.get(word[at:at + 1], "")
            out += "n'" if following[:1] in ("a", "i", "u", "e", "o", "y") and following else "n"
            continue
        if piece == "ー":
            if out[-1:] in style.long:
                out = out[:-1] + style.long[out[-1]]
            continue
        latin = style.table.get(piece) or style.table.get(kana.full(piece))
        if latin is None:
            raise TextError(f"{piece!r} cannot be romanised", where if where != piece else "",
                            "give kana only; kanji and marks must be read first", sign=piece)
        if double:
            # まっちゃ is matcha in Hepburn and mattya in ISO 3602; っ before a vowel has no letter to double
            out += "t" if style.tch and latin.startswith("ch") else latin[0] if latin[0] not in "aiueo" else "'"
            double = False
        # おう おお うう ああ are one long vowel; not where a verb ends in う (おもう omou), nor across a seam.
        longer = (latin == "u" and out[-1:] in ("o", "u")) or (piece in "おあ" and out[-1:] == latin)
        if longer and not (piece == "う" and at == len(word) and _verb(word)):
            out = out[:-1] + style.long[out[-1]]
        elif latin == "e" and out[-1:] == "e" and piece == "え":
            out = out[:-1] + style.long["e"]
        else:
            out += latin
    return out.replace("|", "") + ("'" if double else "")


def _verb(word: str) -> bool:
    """Is the word a verb in う that we know, longer than one mora before it (とう 問う would hide とう 塔)?"""
    return len(word) > 2 and any(w.kind == "v4" and w.modern == word for w in old_words.at_head(word, "modern"))
