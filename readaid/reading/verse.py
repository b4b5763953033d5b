"""Morae of a text, line by line, against a verse form. Nothing is corrected.

Conventions: a text comes with its lines (line breaks, spaces or ``/``) or running.
Given lines stand when their number is that of the form and no other break fits better; otherwise they are taken
for columns, which do not follow verse lines, and the text is broken as it fits best. Morae are those of the
pronunciation; surplus is per line, negative where too short.
"""

from __future__ import annotations

import re
from functools import lru_cache

from readaid.core.errors import TextError
from readaid.core.reading import Verse
from readaid.lexicon import builder
from readaid.lexicon.costs import Costs, standard
from readaid.lexicon.kbest import Best, Search
from readaid.reading import assembly
from readaid.script import kana as letters
from readaid.script import verse_forms
from readaid.script.verse_forms import Form

#: Given lines that stray further than this from a form's lengths, all together, are columns and no lines.
MOST_STRAY = 4
_SEPARATOR = re.compile(r"[\s　/／]+")


def verse(text: str, form: str | None = None) -> Verse:
    """Count and break a verse.

    Parameters
    ----------
    text: kana and kanji as they stand, running or in lines.
    form: name of a verse form; None finds the best-fitting one (None in the result if there is none).

    Raises TextError for signs that cannot stand in an inscription, OptionError for an unknown form, LatticeError for
    more than can be counted at once. ``cut`` tells of a break that may not be the best for the number of possibilities.

    >>> counted = verse("ふるいけやかはづとびこむみづのおと")
    >>> counted.lines, counted.morae, counted.form
    (('ふるいけや', 'かはづとびこむ', 'みづのおと'), (5, 7, 5), 'hokku')
    """
    if not isinstance(text, str):
        raise TextError(f"A {type(text).__name__} is no text to count", cure="give the text as it stands")
    parts = [p for p in _SEPARATOR.split(text) if p]
    if not parts:
        raise TextError("There is no text to count", cure="give at least one sign")
    wanted = None if form is None else verse_forms.form(form)
    running = _running("".join(parts), wanted)
    given = _given(parts, wanted) if len(parts) > 1 else None
    if given is not None and (running.form is None or _stray(given) <= _stray(running)):
        return given
    return running


def _stray(counted: Verse) -> int:
    return sum(map(abs, counted.surplus))


@lru_cache(maxsize=1)
def _costs() -> Costs:
    # What the carver left out is not counted: a verse is counted as it stands.
    return standard().with_weights(**{"left out": 50_000.0})


def _given(parts: list[str], wanted: Form | None) -> Verse | None:
    """Lines as given, if their number and lengths are those of a form."""
    known = [wanted] if wanted else [f for f in verse_forms.BY_NAME.values() if f.lines and f.unit == "mora"]
    known = [f for f in known if f.repeats or len(f.lines) == len(parts)]
    if not known:
        return None
    by_character = wanted is not None and wanted.unit == "character"
    morae = tuple(len(letters.signs(p)) if by_character else count(p) for p in parts)

    def surplus(form: Form) -> tuple[int, ...]:
        lengths = form.lines * len(parts) if form.repeats else form.lines
        return tuple(m - n for m, n in zip(morae, lengths, strict=True))

    best = min(known, key=lambda f: sum(map(abs, surplus(f))))
    if sum(map(abs, surplus(best))) > MOST_STRAY:
        return None
    return Verse(tuple(parts), morae, best.name, surplus(best))


def count(text: str) -> int:
    """Morae of a text as it is read, kanji by the dictionary's best reading.

    >>> count("きやう"), count("古池や"), count("けふ")
    (2, 5, 2)
    """
    costs = _costs()
    search = Search(builder.build(text, costs=costs), costs)
    best = search.best("prose", 1)
    readings = search.readings()
    return sum(readings.sounds[readings.sound[row]].units for row in best.strings[0].rows)


def _running(text: str, wanted: Form | None) -> Verse:
    costs = _costs()
    search = Search(builder.build(text, costs=costs), costs)
    best: Best = search.best(wanted.name if wanted else None, 1)
    lines, morae = assembly.lines_as_written(search, best, best.strings[0])
    metre = search.metre(best.form)
    if not metre.lines:
        return Verse(lines, morae, None, (), best.cut)
    lengths = metre.lines * len(morae) if metre.repeats else metre.lines
    surplus = tuple(m - n for m, n in zip(morae, lengths, strict=False))
    return Verse(lines, morae, best.form.name, surplus, best.cut)
