"""Spelling: historical kana to modern kana, and back to the historical norm.

Conventions
-----------
* Word boundaries are spaces: the rules hold inside a word (かは -> かわ), and
  は, へ, を as whole words are particles and stay. A text without spaces is taken as one word.
* Three spellings are kept apart: what the carver wrote, the historical *norm*
  (``normal``), and the *modern* one (``modern``).
* The auxiliary む stays む in modern spelling (ねむ, not ねん), as printed editions have it.
* ``modern`` gives one answer. Where two words share a spelling (てふ, かふ) the
  commoner in verse wins; the rules not applied by themselves are in ``exchange.RULES``.
"""

from __future__ import annotations

import functools
import re

from readaid.script import kana, old_words, repetition
from readaid.script.exchange import LONGEST, RULES, Rule

#: Words that end in a particle は, へ or を and keep it (かは 川 is not among them).
PARTICLES = frozenset({"は", "へ", "を", "には", "とは", "では", "ては", "へは", "をば", "にては", "とては", "のは",
                       "こそは", "からは", "までは", "よりは", "へと", "へも", "へぞ", "へや"})
#: A particle as careless hands write it, and the norm.
_LOOSE = {"お": "を", "え": "へ", "わ": "は", "ゑ": "へ", "にわ": "には", "とわ": "とは", "おば": "をば"}
_SPLIT = re.compile(r"([\s　、。・]+)")


@functools.cache
def _applied() -> dict[str, tuple[Rule, ...]]:
    found: dict[str, list[Rule]] = {}
    for rule in RULES:
        if rule.applied:
            found.setdefault(rule.old, []).append(rule)
    return {old: tuple(rules) for old, rules in found.items()}


def _prepared(text: str) -> str:
    """Hiragana with ligatures and repetition marks written out."""
    plain = repetition.written_out(kana.to_hiragana(text))
    return "".join(kana.LIGATURES.get(c, c) for c in plain)


def _by_rules(word: str, start: int = 0) -> str:
    out, at = word[:start], start
    table = _applied()
    # longest first: けふ is one rule (きょう), け and ふ by themselves would give けう
    while at < len(word):
        for length in range(min(LONGEST, len(word) - at), 0, -1):
            rule = next((r for r in table.get(word[at:at + length], ()) if r.fits(at, len(word))), None)
            if rule:
                out += rule.new
                at += length
                break
        else:
            out += word[at]
            at += 1
    return out


@functools.lru_cache(maxsize=65536)
def _modern_word(word: str) -> str:
    # as whole words は and へ are particles and stay; inside a word かは would become かわ
    if word in PARTICLES:
        return word
    known = old_words.at_head(word, "historical")
    if not known:
        return _by_rules(word)
    head = known[0]
    rest = word[len(head.historical):]
    # 言はば: the rest of the word is inside it, so its は-row still follows the rules (いわば).
    return head.modern + _by_rules(head.historical + rest, len(head.historical))[len(head.historical):]


def modern(text: str) -> str:
    """Historical kana to modern kana; words are separated by spaces, which stay.

    >>> modern("けふ"), modern("てふ"), modern("かう"), modern("くわし"), modern("いはほ"), modern("ゆふべ")
    ('きょう', 'ちょう', 'こう', 'かし', 'いわお', 'ゆうべ')
    >>> modern("かはづ を きく")
    'かわず を きく'
    """
    return "".join(part if _SPLIT.fullmatch(part) else _modern_word(part) for part in _SPLIT.split(_prepared(text)))


@functools.lru_cache(maxsize=65536)
def norm(word: str, kanji: str = "") -> str | None:
    """The historical norm of one word in any spelling of the time, or None if the word is not among those we know.

    Parameters
    ----------
    word: kana, voiced. ``kanji``: how a dictionary writes the word, to tell homophones apart (水 みづ, 見ず みず).

    >>> norm("おとめ"), norm("すへ"), norm("いゑ"), norm("おもゑば"), norm("そらまめ")
    ('をとめ', 'すゑ', 'いへ', 'おもへば', None)
    """
    word = _prepared(word)
    if not kanji and (word in PARTICLES or word in _LOOSE):
        return _LOOSE.get(word, word)
    for length in range(len(word), 0, -1):
        head, rest = word[:length], word[length:]
        # The word may stand in modern spelling already: はらう must not be taken for はろう first.
        spoken = dict.fromkeys((head, _modern_word(head), _by_rules(head)))
        found = [w for s in spoken for w in old_words.at_head(s + rest, "modern") if w.modern == s]
        if not found:
            continue
        # みず is 水 みづ or 見ず みず: only the kanji of the dictionary can tell
        same = [w for w in found if kanji and w.kanji[:1] == kanji[:1]]
        if kanji and not same:
            return None  # another word of this sound: 酒の燗 is not くわん 館
        # すへ could be 吸へ, but on an object it is 末 すゑ misspelt: a bare -へ of a short verb
        # does not count as the norm.
        own = [w for w in found if w.historical == head and not (w.kind == "v4" and head[1:] == "へ")]
        best = ([w for w in same if w in own] or same or own or found)[0]
        return best.historical + rest
    return None


def normal(text: str, kanji: str = "") -> str:
    """A text in the historical norm, as far as its words are known to us; others stay as they are.

    >>> normal("おとめ の すがた")
    'をとめ の すがた'
    """
    return "".join(part if _SPLIT.fullmatch(part) else norm(part, kanji) or part
                   for part in _SPLIT.split(_prepared(text)))


def departure(word: str, kanji: str = "") -> str:
    """Why a word as written differs from modern spelling: "", "old spelling" or "free exchange".

    >>> departure("をとめ"), departure("おとめ"), departure("はな")
    ('old spelling', 'free exchange', '')
    """
    written = _prepared(word)
    standard = norm(written, kanji)
    if standard is not None and standard != written:
        return "free exchange"
    return "old spelling" if _modern_word(written) != written else ""
