"""Old, new and variant forms of kanji.

Conventions
-----------
* One character in, one character (or a tuple of them) out.
* ``new_form`` gives the form now standard; several old forms may share one
  (辨 瓣 辯 all 弁), so the way back, ``old_forms``, is a tuple.
* The compatibility forms (U+FA19 for the old 神) count as old forms of their own.
"""

from __future__ import annotations

import functools

from readaid.core.errors import TextError
from readaid.script import kana
from readaid.script.rows import load


def _pair(row: dict[str, str]) -> tuple[str, str]:
    new, old = row["new"], row["old"]
    if not (kana.is_kanji(new) and kana.is_kanji(old)) or f"U+{ord(old):04X}" != row["old_code"]:
        raise ValueError(f"{new} and {old} ({row['old_code']}) are not two kanji with the code of the second")
    return new, old


def _variants(row: dict[str, str]) -> list[tuple[str, str]]:
    if not all(kana.is_kanji(c) for c in row["new"] + row["variants"]):
        raise ValueError(f"{row['new']} {row['variants']} are not all kanji")
    return [(row["new"], v) for v in row["variants"]]


@functools.cache
def _new() -> dict[str, str]:
    pairs = load("kanji_forms.tsv", ("new", "old", "old_code", "source"), _pair)
    by_hand = [p for some in load("kanji_variants.tsv", ("new", "variants"), _variants) for p in some]
    standard = {old: new for new, old in pairs}
    # A variant of a character that itself has a newer form leads on to that one: the table of pairs has the last word.
    return {**{v: standard.get(new, new) for new, v in by_hand}, **standard}


@functools.cache
def _old() -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for old, new in _new().items():
        found.setdefault(new, []).append(old)
    return {new: tuple(sorted(olds)) for new, olds in found.items()}


def new_form(char: str) -> str:
    """The standard form of one kanji; any other character comes back unchanged.

    Raises
    ------
    TextError: if more or less than one character is given.

    >>> new_form("國"), new_form("澤"), new_form("嶋"), new_form("山"), new_form("の")
    ('国', '沢', '島', '山', 'の')
    """
    if len(char) != 1:
        raise TextError(f"{char!r} is not one character", cure="give one kanji, or use modernised for a text")
    return _new().get(char, char)


def old_forms(char: str) -> tuple[str, ...]:
    """Old and variant forms of one standard kanji, in code point order; () if there are none.

    >>> old_forms("寿"), old_forms("山")
    (('壽', '夀'), ())
    """
    return _old().get(char, ())


def forms(char: str) -> frozenset[str]:
    """All forms that may be the same character, itself included.

    >>> sorted(forms("壽"))
    ['壽', '夀', '寿']
    """
    new = new_form(char)
    return frozenset({char, new, *old_forms(new)})


def modernised(text: str) -> str:
    """A text with every kanji in its standard form.

    >>> modernised("竹澤國壽")
    '竹沢国寿'
    """
    return "".join(_new().get(c, c) for c in text)
