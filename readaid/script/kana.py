"""Kana and the other signs of an inscription: what each one is, and one spelling for each.

Conventions
-----------
* A *sign* is one written character: one code point, or a hentaigana with a
  combining voicing mark, or the two halves of a group mark (〳〵) together.
* ``clean`` makes one spelling of a text (composed voicing marks, full-width
  kana) without changing any kanji: full NFC would turn the old form U+FA19 into 神.
* Sounds are named in hiragana throughout the project.
"""

from __future__ import annotations

import unicodedata
from enum import StrEnum

from readaid.core.errors import TextError

UNREAD = "?"
#: What is taken as one unread sign; all become ``UNREAD``.
UNREAD_SIGNS = frozenset("?？□▢◻")
#: Ligatures and what they stand for. 𪜈 is the tomo ligature, kept by Unicode among the kanji.
LIGATURES = {"ゟ": "より", "ヿ": "こと", "𪜈": "とも"}
REPETITION = frozenset("ゝゞヽヾ々〻〱〲〳〴〵")
VOICED_MARK, HALF_MARK = "\u3099", "\u309a"
#: Archaic and small letters of the Kana Supplement and its extensions, and the plain hiragana of the same sound.
_ARCHAIC = {0x1B000: "え", 0x1B001: "え", 0x1B11F: "う", 0x1B120: "い", 0x1B121: "え", 0x1B122: "う"}
_SMALL_EXTENSION = {0x1B132: "こ", 0x1B150: "ゐ", 0x1B151: "ゑ", 0x1B152: "を",
                    0x1B155: "こ", 0x1B164: "ゐ", 0x1B165: "ゑ", 0x1B166: "を", 0x1B167: "ん"}
SMALL = dict(zip("ぁぃぅぇぉゃゅょゎっゕゖ", "あいうえおやゆよわつかけ", strict=True))
_FULL = {full: small for small, full in SMALL.items()}
_PUNCTUATION = frozenset("、。・，．「」『』（）()〈〉《》―…　 ")


class Kind(StrEnum):
    """What a sign is."""

    KANA = "kana"
    HENTAIGANA = "hentaigana"
    KANJI = "kanji"
    REPETITION = "repetition mark"
    UNREAD = "unread"
    PUNCTUATION = "punctuation"
    BREAK = "column end"
    OTHER = "other"


def is_hiragana(char: str) -> bool:
    """Is it one letter of the Hiragana block (ゟ and the repetition marks left aside)?"""
    return len(char) == 1 and "\u3041" <= char <= "\u3096"


def is_katakana(char: str) -> bool:
    """Is it one letter of the Katakana block, or ー?"""
    return len(char) == 1 and ("\u30a1" <= char <= "\u30fa" or char == "ー" or "\u31f0" <= char <= "\u31ff")


def is_hentaigana(char: str) -> bool:
    """Is it one of the 286 hentaigana, with or without a combining voicing mark?"""
    base = char[:1]
    return (bool(base) and 0x1B001 <= ord(base) <= 0x1B11E
            and (len(char) == 1 or char[1:] in (VOICED_MARK, HALF_MARK)))


def is_kanji(char: str) -> bool:
    """Is it one CJK ideograph (also 〇 and 〆, not the repetition mark 々)?"""
    if len(char) != 1 or char in LIGATURES:
        return False
    code = ord(char)
    return (0x3400 <= code <= 0x4DBF or 0x4E00 <= code <= 0x9FFF or code in (0x3006, 0x3007)
            or 0xF900 <= code <= 0xFAD9 or 0x20000 <= code <= 0x323AF)


def kind(sign: str) -> Kind:
    """What a sign is; never raises.

    >>> [str(kind(c)) for c in "か𛀙者ゝ?、"]
    ['kana', 'hentaigana', 'kanji', 'repetition mark', 'unread', 'punctuation']
    >>> str(kind("K"))
    'other'
    """
    if sign in UNREAD_SIGNS:
        return Kind.UNREAD
    if sign in ("\n", "\r", "\r\n", "\u2028", "\u2029"):
        return Kind.BREAK
    if sign in ("〳〵", "〴〵") or (len(sign) == 1 and sign in REPETITION):
        return Kind.REPETITION
    if is_hentaigana(sign):
        return Kind.HENTAIGANA
    if is_hiragana(sign) or is_katakana(sign) or sign in LIGATURES:
        return Kind.KANA
    if is_kanji(sign):
        return Kind.KANJI
    if sign in _PUNCTUATION:
        return Kind.PUNCTUATION
    if len(sign) == 1 and (ord(sign) in _ARCHAIC or ord(sign) in _SMALL_EXTENSION):
        return Kind.KANA
    return Kind.OTHER


def clean(text: str) -> str:
    """One spelling for each kana: voicing marks composed, half-width and spaced marks made full, unread signs ``?``.

    Kanji and hentaigana stay as they are; variation selectors are dropped.

    >>> clean("か\\u3099 ｶﾞ か゛ □")
    'が ガ が ?'
    """
    out: list[str] = []
    for char in text:
        code = ord(char)
        if 0xFF65 <= code <= 0xFF9F:  # half-width katakana; ﾞ and ﾟ become combining marks
            char = unicodedata.normalize("NFKC", char)
        elif char in "゛ﾞ":
            char = VOICED_MARK
        elif char == "゜":
            char = HALF_MARK
        elif char in UNREAD_SIGNS:
            char = UNREAD
        # a variation selector chooses a drawing of one kanji (葛 with U+E0100); to the dictionary both are one sign
        elif 0xFE00 <= code <= 0xFE0F or 0xE0100 <= code <= 0xE01EF:
            continue
        if char in (VOICED_MARK, HALF_MARK) and out:
            last = out[-1]
            if last in ("〱", "〳") and char == VOICED_MARK:
                out[-1] = "〲" if last == "〱" else "〴"  # no canonical composition, but one mark on the object
                continue
            # only a kana and its mark are composed, never the whole text: NFC turns the old form U+FA19 into 神
            composed = unicodedata.normalize("NFC", last + char)
            if len(composed) == 1:
                out[-1] = composed
                continue
        out.append(char)
    return "".join(out)


def signs(text: str) -> tuple[str, ...]:
    """The signs of a text, cleaned; spaces and punctuation stay, a line break is one sign ``"\\n"``.

    >>> signs("いろ〳〵\\r\\n𛀙\\u3099の")
    ('い', 'ろ', '〳〵', '\\n', '𛀙゙', 'の')
    """
    out: list[str] = []
    for char in clean(text.replace("\r\n", "\n").replace("\r", "\n")):
        # Unicode has no voiced hentaigana, and 〳〵 is one long mark of two code points: each is one sign on the object
        if out and ((char in (VOICED_MARK, HALF_MARK) and is_hentaigana(out[-1]) and len(out[-1]) == 1)
                    or (char == "〵" and out[-1] in ("〳", "〴"))):
            out[-1] += char
        else:
            out.append(char)
    return tuple(out)


def checked(text: str, where: str = "") -> tuple[str, ...]:
    """The signs of a text that can stand in an inscription; anything else is refused, all faults at once.

    Raises
    ------
    TextError: for Latin letters, digits, emoji, unassigned code points, loose voicing marks ...

    >>> checked("古池や")
    ('古', '池', 'や')
    >>> checked("ふるike")
    Traceback (most recent call last):
    readaid.core.errors.TextError: 3 signs cannot stand in an inscription (i at 3, k at 4, e at 5): write ? for an
    unread sign, kana or kanji for the others.
    """
    found = signs(text)
    bad = [(n, s) for n, s in enumerate(found, start=1) if kind(s) is Kind.OTHER]
    if bad:
        told = ", ".join(f"{_told(s)} at {n}" for n, s in bad[:8]) + (" ..." if len(bad) > 8 else "")
        count = f"{len(bad)} signs" if len(bad) > 1 else "1 sign"
        raise TextError(f"{count} cannot stand in an inscription", f"{where}: {told}" if where else told,
                        "write ? for an unread sign, kana or kanji for the others", signs=tuple(s for _, s in bad))
    return found


def sign(text: str, where: str = "") -> str:
    """One sign that can stand in an inscription, cleaned.

    Raises
    ------
    TextError: for no sign, more than one, a space, or one that cannot stand there.

    >>> sign("か\u3099")
    'が'
    >>> sign("ふる")
    Traceback (most recent call last):
    readaid.core.errors.TextError: 'ふる' is not one sign: give one kana, letter, kanji or mark, or ?.
    """
    found = checked(text, where)
    if len(found) != 1 or kind(found[0]) in (Kind.PUNCTUATION, Kind.BREAK):
        raise TextError(f"{text!r} is not one sign", where, "give one kana, letter, kanji or mark, or ?", given=text)
    return found[0]


def _told(sign: str) -> str:
    if sign.isascii() and sign.isprintable():
        return sign
    code = " ".join(f"U+{ord(c):04X}" for c in sign)
    if sign in (VOICED_MARK, HALF_MARK):
        return f"a voicing mark without a kana ({code})"
    name = unicodedata.name(sign[0], "")
    return f"{code} {name.lower()}" if name else f"{code}, not assigned"


def to_hiragana(text: str) -> str:
    """Katakana to hiragana; all else stays. ー and ヷヸヹヺ have no single hiragana and stay.

    >>> to_hiragana("ハルノ海")
    'はるの海'
    """
    out = []
    for char in clean(text):
        if "\u30a1" <= char <= "\u30f6" or char in "ヽヾ":
            char = chr(ord(char) - 0x60)
        elif ord(char) in _ARCHAIC and ord(char) != 0x1B001:
            char = _ARCHAIC[ord(char)]
        out.append(char)
    return "".join(out)


def to_katakana(text: str) -> str:
    """Hiragana to katakana; all else stays.

    >>> to_katakana("ゆふべ")
    'ユフベ'
    """
    return "".join(chr(ord(c) + 0x60) if "\u3041" <= c <= "\u3096" or c in "ゝゞ" else c for c in clean(text))


def full(kana: str) -> str:
    """Small kana written full size.

    >>> full("しょっちゅう")
    'しよつちゆう'
    """
    out = []
    for char in clean(kana):
        hira = to_hiragana(char)
        big = SMALL.get(hira) or _SMALL_EXTENSION.get(ord(char))
        out.append(char if big is None else to_katakana(big) if is_katakana(char) or ord(char) >= 0x1B155 else big)
    return "".join(out)


def small(kana: str) -> str | None:
    """The small form of one full-size hiragana or katakana, or None.

    >>> small("や"), small("ツ"), small("ま")
    ('ゃ', 'ッ', None)
    """
    found = _FULL.get(to_hiragana(kana))
    return to_katakana(found) if found and is_katakana(kana) else found
