"""Forms of verbs and adjectives of the classical language, and the auxiliaries and particles that may follow each.

Conventions: kana are hiragana in historical spelling, voiced. A *class* is how a word is inflected (``CLASSES``), a
*form* one of ``FORMS``: unrealised 未然, continuative 連用, final 終止, attributive 連体, realised 已然, imperative
命令. "noun" in ``Ending.follows`` stands for whatever is not inflected.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from readaid.core.errors import unknown_option
from readaid.script import kana as letters
from readaid.script.rows import load

FORMS = ("unrealised", "continuative", "final", "attributive", "realised", "imperative")
NOUN = "noun"
KINDS = ("auxiliary", "case", "conjunction", "binding", "adverbial", "closing")
_COLUMNS = "AIUEO"
_ROWS = ("かきくけこ", "がぎぐげご", "さしすせそ", "ざじずぜぞ", "たちつてと", "だぢづでど", "なにぬねの", "はひふへほ",
         "ばびぶべぼ", "まみむめも", "やいゆえよ", "らりるれろ", "わゐうゑを")
#: Verbs in a bare う move in the row わ (植う うゑ), but for these.
_BARE = {"う": "あいうえお", "こころう": "あいうえお"}


@dataclass(frozen=True, slots=True)
class Ending:
    """An auxiliary or a particle: what it follows as (form, classes; none named: all), and its own forms."""

    name: str
    kind: str
    follows: tuple[tuple[str, tuple[str, ...]], ...]
    forms: tuple[tuple[str, ...], ...]  # by form, empty for a particle
    meaning: str

    def after(self, form: str, kind: str = "") -> bool:
        """May it follow a word in this form ("noun" for what has none) of this class ("": any)?"""
        return any(form == own and (not kind or not classes or kind in classes) for own, classes in self.follows)


def _patterns(cell: str) -> tuple[str, ...]:
    found = () if cell == "-" else tuple(cell.split("/"))
    if not all(p and all(c in _COLUMNS or letters.is_hiragana(c) for c in p) for p in found):
        raise ValueError(f"{cell!r} is no row of endings: letters {_COLUMNS}, hiragana, / between alternatives, or -")
    return found


def _paradigm(row: dict[str, str]) -> tuple[str, tuple[tuple[str, ...], ...]]:
    return row["class"], tuple(_patterns(row[form]) for form in FORMS)


@functools.cache
def _paradigms(path: Path | None = None) -> Mapping[str, tuple[tuple[str, ...], ...]]:
    return dict(load("conjugation.tsv", ("class", *FORMS, "note"), _paradigm, path))


def _ending(row: dict[str, str]) -> Ending:
    follows = []
    for part in row["follows"].split("+"):
        form, _, classes = part.partition(":")
        named = tuple(classes.split(",")) if classes else ()
        if form not in (*FORMS, NOUN) or not set(named) <= set(CLASSES):
            raise ValueError(f"follows {part!r}: forms are {', '.join(FORMS)} and {NOUN}, classes those of conjugation")
        follows.append((form, named))
    cells = [] if row["forms"] == "-" else row["forms"].split("|")
    if row["kind"] not in KINDS or (row["kind"] == "auxiliary") != (len(cells) == len(FORMS)):
        raise ValueError(f"{row['name']}: kinds are {', '.join(KINDS)}; an auxiliary alone has forms, {len(FORMS)}")
    return Ending(row["name"], row["kind"], tuple(follows), tuple(map(_patterns, cells)), row["meaning"])


#: The classes of inflection.
CLASSES: tuple[str, ...] = tuple(_paradigms())


@functools.cache
def endings(path: Path | None = None) -> tuple[Ending, ...]:
    """The auxiliaries and particles; raises TableError naming every faulty row."""
    return tuple(load("old_endings.tsv", ("name", "kind", "follows", "forms", "meaning"), _ending, path))


def forms(final: str, kind: str) -> dict[str, tuple[str, ...]]:
    """All forms of a word from its dictionary form.

    Raises OptionError for a class that is not there or does not end so.

    >>> forms("おもふ", "four-step")["unrealised"], forms("たかし", "adjective in ku")["attributive"]
    (('おもは',), ('たかき', 'たかかる'))
    """
    if kind not in CLASSES:
        raise unknown_option("class of inflection", kind, CLASSES)
    patterns = _paradigms()[kind]
    for own in patterns[FORMS.index("final")]:
        for row in (_BARE[final],) if final in _BARE else _ROWS:
            tail = _filled(own, row)
            if final.endswith(tail) and len(final) >= len(tail):
                stem = final[:len(final) - len(tail)]
                return {form: tuple(stem + _filled(p, row) for p in cell)
                        for form, cell in zip(FORMS, patterns, strict=True)}
    raise unknown_option(f"class of inflection for {final}", kind, CLASSES)


def _filled(pattern: str, row: str) -> str:
    return "".join(row[_COLUMNS.index(c)] if c in _COLUMNS else c for c in pattern)


@functools.cache
def spelled() -> Mapping[str, tuple[tuple[Ending, str], ...]]:
    """Auxiliaries and particles by their kana in each form: (ending, form; "" for a particle).

    >>> [(e.name, f) for e, f in spelled()["じ"]]
    [('じ', 'final'), ('じ', 'attributive'), ('じ', 'realised')]
    """
    found: dict[str, list[tuple[Ending, str]]] = {}
    for ending in endings():
        if not ending.forms:
            found.setdefault(ending.name, []).append((ending, ""))
        for form, cell in zip(FORMS, ending.forms, strict=False):
            for text in cell:
                found.setdefault(text, []).append((ending, form))
    return {text: tuple(made) for text, made in found.items()}


def may_follow(kana: str, form: str, kind: str = "") -> bool | None:
    """May an ending of this spelling follow a word in this form and class; None where it is no ending we know.

    >>> may_follow("で", "unrealised"), may_follow("つつ", "final"), may_follow("つつ", "continuative")
    (True, False, True)
    """
    known = spelled().get(kana)
    return None if known is None else any(e.after(form, kind) for e, _ in known)
