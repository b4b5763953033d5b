"""What was typed for a sign: letters as they are, or romanised kana where there is no Japanese input.

Conventions: returns single signs, in NFC; romanised input is taken sound by
sound ("ka", "kya" gives the full-size letters き and や, as they stand in old writing).
"""

from __future__ import annotations

from readaid.core.errors import OptionError
from readaid.script.kana import UNREAD_SIGNS
from readaid.script.kana import signs as split

_VOWELS = "aiueo"
_ROWS = {
    "": "あいうえお",
    "k": "かきくけこ",
    "s": "さしすせそ",
    "t": "たちつてと",
    "n": "なにぬねの",
    "h": "はひふへほ",
    "m": "まみむめも",
    "y": "や ゆ よ",
    "r": "らりるれろ",
    "w": "わゐ ゑを",
    "g": "がぎぐげご",
    "z": "ざじずぜぞ",
    "d": "だぢづでど",
    "b": "ばびぶべぼ",
    "p": "ぱぴぷぺぽ",
}
_EXTRA = {"shi": "し", "chi": "ち", "tsu": "つ", "fu": "ふ", "ji": "じ", "n": "ん", "n'": "ん"}


def romanised(text: str) -> str:
    """Kana for romanised sounds.

    >>> romanised("kokoro"), romanised("shinayu"), romanised("tsuwi")
    ('こころ', 'しなゆ', 'つゐ')
    """
    rest, out = text.lower(), ""
    while rest:
        for size in (3, 2, 1):
            head = rest[:size]
            if head in _EXTRA and not (head == "n" and rest[1:2] in tuple(_VOWELS)):
                out += _EXTRA[head]
                break
            row, vowel = head[:-1], head[-1:]
            if len(head) == size and vowel in _VOWELS and row in _ROWS and _ROWS[row][_VOWELS.index(vowel)] != " ":
                out += _ROWS[row][_VOWELS.index(vowel)]
                break
        else:
            raise OptionError(
                "That is no sound of Japanese", text, "type kana or kanji, or sounds such as ka, shi, tsu"
            )
        rest = rest[len(head) :]
    return out


def unread(text: str) -> bool:
    """Whether what was typed says that the sign is unread: ``?`` (also full-width, or an empty box).

    >>> unread(" ？ "), unread("の?"), unread("")
    (True, False, False)
    """
    plain = "".join(text.split())
    return bool(plain) and set(plain) <= UNREAD_SIGNS


def signs(text: str) -> list[str]:
    """The signs typed, each once, in order. Raises OptionError where ``?`` stands among letters.

    >>> signs("のめ の"), signs("ka")
    (['の', 'め'], ['か'])
    """
    if not unread(text) and UNREAD_SIGNS & set(text):
        raise OptionError(
            "'?' stands for an unread sign", text, "type it alone to mark the sign as unread, or type the letters alone"
        )

    plain = "".join(text.split())
    if plain and all(c.isascii() and (c.isalpha() or c == "'") for c in plain):
        plain = romanised(plain)
    return list(dict.fromkeys(split(plain)))
