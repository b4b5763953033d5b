"""Words whose historical spelling is known: the norm that the rules alone cannot give.

Conventions: ``historical`` and ``modern`` are kana from the head of a word on (a word may go on after them);
``kind`` is "word", or the paradigm of a verb stem: "v4" (思 -は ひ ふ へ), "v2" (与 -へ ふ), "w2" (植 -ゑ う).
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Literal, cast

from readaid.script import kana
from readaid.script.rows import load

Kind = Literal["word", "v4", "v2", "w2"]
#: Last kana of the stem forms, historical: modern, and the kana that may follow ("" is the end of the word).
ENDINGS: dict[str, dict[str, str]] = {"v4": {"は": "わ", "ひ": "い", "ふ": "う", "へ": "え"},
                                      "v2": {"へ": "え", "ふ": "う"}, "w2": {"ゑ": "え", "う": "う"}}
_FOLLOW = {"は": "ずむばでんぬれしすまなじ", "ひ": "てしけつぬなみたきにもを", "ふ": "るれらべまな",
           "へ": "ばどりるらてしけずむぬつよ", "ゑ": "てしけずむぬつよた", "う": "るれ"}
COLUMNS = ("historical", "modern", "kind", "kanji")


@dataclass(frozen=True, slots=True)
class OldWord:
    """One word or stem in both spellings; ``kanji`` is how it is mostly written."""

    historical: str
    modern: str
    kind: Kind
    kanji: str


def _row(row: dict[str, str]) -> OldWord:
    if not all(kana.is_hiragana(c) for c in row["historical"] + row["modern"]):
        raise ValueError(f"{row['historical']!r} or {row['modern']!r} is not hiragana")
    if row["kind"] not in ("word", "v4", "v2", "w2"):
        raise ValueError(f"kind {row['kind']!r} is none of word, v4, v2, w2")
    return OldWord(row["historical"], row["modern"], cast(Kind, row["kind"]), row["kanji"])


WORDS: tuple[OldWord, ...] = tuple(load("spelling_words.tsv", COLUMNS, _row))


@functools.cache
def _by(side: str) -> dict[str, tuple[OldWord, ...]]:
    found: dict[str, list[OldWord]] = {}
    for word in WORDS:
        if word.kind == "word":
            found.setdefault(getattr(word, side), []).append(word)
            continue
        for old, new in ENDINGS[word.kind].items():
            whole = OldWord(word.historical + old, word.modern + new, word.kind, word.kanji)
            found.setdefault(getattr(whole, side), []).append(whole)
    return {key: tuple(words) for key, words in found.items()}


def _may_follow(word: OldWord, rest: str) -> bool:
    if not rest:
        return True
    if word.kind == "word":
        return len(word.historical) > 1  # え 江 is no head of えう 要
    return rest[0] in _FOLLOW[word.historical[-1]]


def at_head(text: str, side: Literal["historical", "modern"]) -> tuple[OldWord, ...]:
    """Words that stand at the head of ``text`` in that spelling, the longest ones only.

    >>> [(w.historical, w.kanji) for w in at_head("をとめの", "historical")]
    [('をとめ', '乙女')]
    """
    table = _by(side)
    # the longest word alone: with をとめ the shorter をと would only bring wrong norms
    for length in range(min(len(text), 10), 0, -1):
        found = tuple(w for w in table.get(text[:length], ()) if _may_follow(w, text[length:]))
        if found:
            return found
    return ()
