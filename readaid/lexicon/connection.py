"""Whether two words may stand together by the grammar of the classical language, asked of the dictionary's context ids.

Conventions: a left context id tells a word's part of speech, class of inflection and form (``left-id.def``); today's
classes count as the old ones that they come from (五段 as four-step, 下一段 as lower two-step). Only what follows an
inflected word, or is a particle or an auxiliary that ``script.conjugation`` knows, is judged; all else fits.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from readaid.lexicon import dictionary
from readaid.script import conjugation

_CLASSES = (("四段", "four-step"), ("五段", "four-step"), ("上一段", "upper one-step"), ("上二段", "upper two-step"),
            ("下二段", "lower two-step"), ("下一段", "lower two-step"), ("カ行変格", "irregular in か"),
            ("サ行変格", "irregular in さ"), ("ナ行変格", "irregular in な"), ("ラ行変格", "irregular in ら"),
            ("形容詞-シク", "adjective in shiku"), ("形容詞", "adjective in ku"), ("ベシ", "adjective in ku"),
            ("マジ", "adjective in shiku"), ("ケリ", "irregular in ら"), ("ナリ", "irregular in ら"),
            ("タリ", "irregular in ら"), ("助動詞-リ", "irregular in ら"))
_FORMS = {"未然形": "unrealised", "連用形": "continuative", "終止形": "final", "連体形": "attributive",
          "已然形": "realised", "仮定形": "realised", "命令形": "imperative"}
_ENDINGS = ("助詞", "助動詞")


@dataclass(frozen=True, slots=True)
class Inflection:
    """A context id's class and form ("" where the word has none that the old language knows), and is it an ending?"""

    kind: str
    form: str
    ending: bool
    old: bool  # the dictionary has it as a form of the old language
    inflected: bool


@functools.cache
def inflections() -> dict[int, Inflection]:
    """The inflection that each left context id stands for."""
    out = {}
    for number, fields in dictionary.opened().left_ids():
        kind, form = (fields[4], fields[5]) if len(fields) > 5 else ("*", "*")
        known = next((ours for theirs, ours in _CLASSES if theirs in kind), "")
        out[number] = Inflection(known, _FORMS.get(form.split("-")[0], ""), fields[0] in _ENDINGS,
                                 kind.startswith("文語"), form != "*")
    return out


def fits(before: int, after: int, kana: str) -> bool:
    """May a word with left context id ``after``, spelled ``kana`` (historical, voiced), follow one with ``before``?"""
    first, second = inflections()[before], inflections()[after]
    if not second.ending:
        return True
    if not first.inflected:
        return conjugation.may_follow(kana, conjugation.NOUN) is not False
    if not first.form:
        return True
    told = conjugation.may_follow(kana, first.form, first.kind)
    if told is False and not first.old and first.form in ("final", "attributive"):  # today's language has one for both
        return any(conjugation.may_follow(kana, form, first.kind) for form in ("final", "attributive"))
    return told is not False


def told(left: int) -> str:
    """Class and form of a word in words, "" where it is not inflected.

    >>> sorted({told(n) for n in inflections()} & {"four-step, continuative", "adjective in shiku, attributive"})
    ['adjective in shiku, attributive', 'four-step, continuative']
    """
    own = inflections().get(left)
    return ", ".join(p for p in (own.kind, own.form) if p) if own and own.form else ""
