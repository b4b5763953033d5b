"""Signs as they were read: one place each, with what it may be. Typed text, candidate lists and characters alike.

Conventions: costs are in the dictionary's units, -700 ln p (a sign typed without doubt costs 0). ``?``, □ and ■
are one unread sign; ``〇`` may be an unread sign or a zero; ``[...]``, ``［　　］`` and ``…`` a gap of unknown length.
White space, line breaks, dots under signs and brackets of an edition are not signs, but where they stood is kept:
``breaks`` holds the places before which a column ends, ``spaces`` those after white space. Brackets of every other kind
are round ones here, as they stand about a monogram. Positions count signs from 0; ``text[start:end]`` cuts them out of
``Signs.text``. Matching is by today's form (``tables/sign_variants.tsv``).
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TypeAlias

from readaid.core import options
from readaid.core.character import UNREAD, Character
from readaid.core.errors import TextError
from readaid.core.lattice import COST_FACTOR
from readaid.script.kanji import new_form
from readaid.script.rows import load

#: A string, or one entry per sign: a list of (character, confidence), or a Character.
Characters: TypeAlias = str | Sequence[Sequence[tuple[str, float]] | Character | str]

GAP = "…"
UNREAD_SIGNS = frozenset("?□■〓")
#: Cost of letting an unread sign stand for a given one: as if one of fifty were as likely (our own choice).
UNREAD_COST = COST_FACTOR * math.log(50)
_LEAST = 1e-4
_GAP = re.compile(r"\[[\s.…・·]*\]|\.{3,}|…+|⋯+")
_ROUND = str.maketrans("〔〕【】〈〉《》〘〙〖〗❨❩⦅⦆", "()" * 8)
_DROPPED = frozenset("[]⟦⟧{}<>｢｣「」『』、。，,・·")


@dataclass(frozen=True, slots=True)
class Sign:
    """What one place may be: (character in today's form, cost), and the cost of letting it be any sign."""

    options: tuple[tuple[str, float], ...]
    wild: float | None = None
    gap: bool = False
    written: tuple[str, ...] = ()  # the options as they were given, before folding to today's form

    def cost(self, character: str) -> tuple[float, int] | None:
        """Cost of this sign being ``character`` and 1 if only as an unread sign; None if it cannot be."""
        costs = [c for o, c in self.options if o == character]
        if costs:
            return min(costs), 0
        return None if self.wild is None else (self.wild, 1)


@dataclass(frozen=True, slots=True)
class Match:
    """A word found: where it ends, what it costs, how many of its signs were unread."""

    end: int
    cost: float
    unread: int


@dataclass(frozen=True, slots=True)
class Signs:
    """A row of signs and their best text, one character per place."""

    places: tuple[Sign, ...]
    text: str
    breaks: frozenset[int] = frozenset()  # places that begin a column
    spaces: frozenset[int] = frozenset()  # places after white space inside a column

    @property
    def parted(self) -> frozenset[int]:
        """Places that something sets apart from the sign before: evidence that no name runs over it."""
        return self.breaks | self.spaces

    def __len__(self) -> int:
        return len(self.places)

    def firsts(self, start: int) -> tuple[str, ...] | None:
        """The signs (today's forms) that may stand at a place; None if any may: an unread one, a gap."""
        sign = self.places[start]
        if sign.gap or sign.wild is not None or not sign.options:
            return None
        return tuple(o for o, _ in sign.options)

    def match(self, start: int, word: str) -> list[Match]:
        """All ways ``word`` may stand from ``start``; at least one of its signs must have been read.

        >>> signs("文?").match(0, "文化")[0].unread
        1
        """
        found = [m for m, read in self._walk(start, word) if read]
        return [min(group, key=lambda m: m.cost) for group in _by_end(found)]

    def match_any(self, start: int, word: str) -> list[Match]:
        """Like ``match``, but all signs of ``word`` may be unread."""
        return [min(group, key=lambda m: m.cost) for group in _by_end([m for m, _ in self._walk(start, word)])]

    def _walk(self, start: int, word: str) -> list[tuple[Match, int]]:
        states: list[tuple[int, float, int, int]] = [(start, 0.0, 0, 0)]  # place, cost, unread, read
        for character in word:
            following = []
            for place, cost, unread, read in states:
                while place < len(self.places) and self.places[place].gap:
                    following.append((place, cost + UNREAD_COST, unread + 1, read))
                    place += 1  # the gap may also end before this word, at more cost than filling it
                    cost += 1.5 * UNREAD_COST
                if place < len(self.places) and (hit := self.places[place].cost(character)) is not None:
                    following.append((place + 1, cost + hit[0], unread + hit[1], read + 1 - hit[1]))
            states = following
        ended = []
        for place, cost, unread, read in states:
            ended.append((Match(place, cost, unread), read))
            if place < len(self.places) and self.places[place].gap:  # the gap ends with this word, or goes on
                ended.append((Match(place + 1, cost + 1.5 * UNREAD_COST, unread), read))
        return ended


def _by_end(matches: Iterable[Match]) -> list[list[Match]]:
    groups: dict[int, list[Match]] = {}
    for m in matches:
        groups.setdefault(m.end, []).append(m)
    return list(groups.values())


@cache
def _variants() -> dict[str, str]:
    def make(row: dict[str, str]) -> tuple[str, str]:
        if len(row["variant"]) != 1 or len(row["form"]) != 1 or row["variant"] == row["form"]:
            raise ValueError(f"{row['variant']!r} -> {row['form']!r}: two different single signs are needed")
        return row["variant"], row["form"]

    return dict(load("sign_variants.tsv", ("variant", "form"), make))


@lru_cache(maxsize=20000)
def fold(text: str) -> str:
    """Today's form of each sign; full-width letters and figures become ASCII.

    >>> fold("寬永"), fold("寳曆"), fold("１８４８")
    ('寛永', '宝暦', '1848')
    """
    return "".join(_folded(c) for c in unicodedata.normalize("NFKC", text))


def _folded(character: str) -> str:
    """Our own table first, and its forms stay as they are (禄); kanji in general follow."""
    if character in _variants():
        return _variants()[character]
    return character if character in _forms() else new_form(character)


@cache
def _forms() -> frozenset[str]:
    return frozenset(_variants().values())


def signs(characters: Characters) -> Signs:
    """Signs of a string, of candidate lists, or of Characters. Raises TextError if there is none.

    >>> signs("文化〇年").text, signs([[("文", 0.9)], [("化", 0.6), ("政", 0.4)]]).text
    ('文化〇年', '文化')
    """
    entries = list(_stripped(characters)) if isinstance(characters, str) else options.listed(characters)
    made: list[tuple[Sign, str]] = []
    breaks: set[int] = set()
    spaces: set[int] = set()
    for entry in entries:
        if isinstance(entry, str) and entry.isspace():
            (breaks if entry == "\n" else spaces).add(len(made))
        elif isinstance(entry, Character) and len(together := _together(entry)) > 1:
            made += [_typed(c) for c in together]  # 花押 is one described sign of a zone and two of the grammar
        else:
            made.append(_typed(entry) if isinstance(characters, str) else _place(entry))  # type: ignore[arg-type]
    if not made:
        raise TextError("There is no sign to read", cure="give the text, or one candidate list per sign")
    inside = range(1, len(made))
    return Signs(tuple(sign for sign, _ in made), "".join(best for _, best in made),
                 frozenset(breaks) & frozenset(inside), (frozenset(spaces) - breaks) & frozenset(inside))


def _stripped(text: str) -> str:
    """Signs and breaks (a line break, a space) of a typed text."""
    text = unicodedata.normalize("NFC", text.replace("［", "[").replace("］", "]").replace("？", "?")).translate(_ROUND)
    text = _GAP.sub(GAP, text.replace("\r\n", "\n").replace("\r", "\n"))
    text = "".join("\n" if c == "\n" else " " if c.isspace() else c for c in text)
    return "".join(c for c in text if c == "\n" or (c not in _DROPPED
                   and unicodedata.category(c) not in ("Mn", "Cf", "Cc")))


def _together(entry: Character) -> str:
    """What a character is read as, where that is several signs; empty otherwise."""
    text = entry.fixed or (entry.best.character if entry.best else "")
    return text if len(text) > 1 and all(unicodedata.category(c) == "Lo" for c in text) else ""


def _typed(character: str) -> tuple[Sign, str]:
    if character == GAP:
        return Sign((), None, True), character
    if character in UNREAD_SIGNS:
        return Sign((), UNREAD_COST), character
    wild = UNREAD_COST if character in "〇○◯" else None
    return Sign(((fold(character) if character not in "○◯" else "〇", 0.0),), wild, written=(character,)), character


def _place(entry: Sequence[tuple[str, float]] | Character | str) -> tuple[Sign, str]:
    if isinstance(entry, str):
        return _typed(entry) if len(entry) == 1 else _bad(entry)
    if isinstance(entry, Character):
        if entry.fixed:
            return _typed(entry.fixed)
        if entry.missing != (1, 1):
            return _typed(GAP)
        entry = [(c.character, c.confidence) for c in entry.candidates]
    entry = options.listed(entry)
    choices, wild = [], None if entry else UNREAD_COST
    for pair in entry:
        if not _is_pair(pair):
            _bad(pair)
        cost = -COST_FACTOR * math.log(max(float(pair[1]), _LEAST))
        if pair[0] in UNREAD_SIGNS:
            wild = min(UNREAD_COST + cost, wild or math.inf)
        else:
            choices.append((fold(pair[0]), cost))
    best = max(entry, key=lambda p: p[1])[0] if entry else UNREAD
    written = tuple(p[0] for p in entry if p[0] not in UNREAD_SIGNS)
    return Sign(tuple(choices), wild, written=written), best[:1] or UNREAD


def _is_pair(pair: object) -> bool:
    if not isinstance(pair, Sequence) or isinstance(pair, str) or len(pair) != 2 or not isinstance(pair[0], str):
        return False
    try:
        return pair[0] != "" and 0 <= float(pair[1]) <= 1
    except (TypeError, ValueError, OverflowError):
        return False


def _bad(entry: object) -> tuple[Sign, str]:
    raise TextError(f"{repr(entry)[:60]} is not a place of signs",
                    cure="give (character, confidence 0..1) pairs for each sign")
