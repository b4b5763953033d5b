"""Morae: the unit of Japanese metre (拍).

Conventions
-----------
* ``count`` counts kana as they stand in modern or spoken spelling: ん っ ー one
  each; small ゃ ゅ ょ ゎ ぁ ぃ ぅ ぇ ぉ (and ゕ ゖ) none; every other letter one.
* ``count_spoken`` takes historical spelling with word boundaries and counts
  what is said: きやう 2 (きょう), くわ 1 (か), てふ 2 (ちょう).
* Ligatures count what they stand for; ゝ ゞ one; the group marks 〱 〲 two (the
  usual group); an unread sign at least one, so it is counted one. Spaces and
  punctuation count nothing. Rules: common practice, as in any handbook of Japanese metre.
"""

from __future__ import annotations

from readaid.core.errors import TextError
from readaid.script import kana, spelling

#: Small letters that add no mora of their own.
SILENT = frozenset(kana.SMALL) - {"っ"}


def split(text: str, where: str = "") -> tuple[str, ...]:
    """The morae of a text in kana, each with the small letters that belong to it.

    Raises
    ------
    TextError: for kanji (they have no certain length) and for signs that cannot stand in an inscription.

    >>> split("きょう、がっこう")
    ('きょ', 'う', 'が', 'っ', 'こ', 'う')
    """
    out: list[str] = []
    for sign in kana.checked(text, where):
        what = kana.kind(sign)
        hira = kana.to_hiragana(sign)
        if what in (kana.Kind.PUNCTUATION, kana.Kind.BREAK):
            continue
        if what is kana.Kind.KANJI or sign in ("々", "〻"):
            raise TextError(f"The kanji {sign} has no certain number of morae", where or text,
                            "give its reading in kana, or let the text be read first", sign=sign)
        if sign in kana.LIGATURES:
            out += list(kana.LIGATURES[sign])
        elif what is kana.Kind.REPETITION and sign[0] in "〱〲〳〴〵":
            out += [sign, ""]  # a group of two kana is the usual one
        elif hira in SILENT and out:
            out[-1] += sign
        else:
            out.append(sign)
    return tuple(out)


def count(text: str, where: str = "") -> int:
    """Number of morae of kana as they stand (modern or spoken spelling).

    >>> count("きょう"), count("がっこう"), count("おかあさん"), count("くゎし"), count("コーヒー")
    (2, 4, 5, 2, 4)
    """
    return len(split(text, where))


def count_spoken(text: str, where: str = "") -> int:
    """Number of morae of historical kana once they are spoken.

    Give word boundaries as spaces: the change of は ひ ふ へ ほ holds inside a word only.

    >>> count_spoken("けふ"), count_spoken("きやう"), count_spoken("くわし"), count_spoken("てふ")
    (2, 2, 2, 2)
    """
    return count(spelling.modern(text), where)
