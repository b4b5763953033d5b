"""One entry for a line of any kind: it is recognised first, and then read as its kind is read.

Conventions: ``Line.kinds`` holds every kind with its probability, likeliest first; the reading is that of the first, or
of the kind asked for. Verse and prose have ``readings``, a signature or a seal's text ``signatures``, a date
``datings``, a Chinese line or a title ``sounds``, one Sino-Japanese sound a sign: how it was read in Japanese order is
the reader's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import Any

from readaid.core import options
from readaid.core.character import Character
from readaid.core.dating import Dating
from readaid.core.errors import TextError, unknown_option
from readaid.core.line import LINE_KINDS, LineKind
from readaid.core.person import Person
from readaid.core.reading import Reading
from readaid.reading import chinese_verse, line_kind, solve
from readaid.reading.chinese_verse import ChineseVerse
from readaid.script import dates, names, signature, signature_reading
from readaid.script.period import PERIOD
from readaid.script.signature_reading import SignatureReading
from readaid.script.signs import signs

#: A verse that the search reads as prose is prose if that was at most this much less likely by its signs.
_NEAR = 8.0
_SIGNED = ("signature", "signature with date", "seal text")


@dataclass(frozen=True, slots=True)
class Line:
    """What a line is, and its reading as that."""

    text: str
    kind: str
    kinds: tuple[LineKind, ...]
    form: str | None = None
    readings: tuple[Reading, ...] = ()
    signatures: tuple[SignatureReading, ...] = ()
    datings: tuple[Dating, ...] = ()
    sounds: tuple[str, ...] = ()
    note: str = ""
    chinese: ChineseVerse | None = None  # of a Chinese line: characters, tones, rhyme, a known line

    def _repr_html_(self) -> str:
        shares = ", ".join(f"{escape(k.kind)} {k.probability:.0%}" for k in self.kinds if k.probability >= 0.01)
        best: list[Any] = [*self.readings[:1], *self.signatures[:1], *self.datings[:1]]
        shown = best[0]._repr_html_() if best else escape(" ".join(self.sounds))
        if self.chinese is not None:
            rows = "".join(f"<tr>{''.join(f'<td>{escape(x)}</td>' for x in row)}</tr>" for row in self.chinese.table())
            told = [f"{self.chinese.name}: {' '.join(self.chinese.patterns)}", self.chinese.rhyme]
            told += [f"Beside it, a known line: {self.chinese.known.words}"] if self.chinese.known else []
            shown = f"<table lang='ja'>{rows}</table>" + "".join(f"<p>{escape(t)}</p>" for t in told)
        return f"<b>{escape(self.kind)}</b> <small>({shares})</small><div>{shown}</div>"


def line(characters: str | Sequence[Any], kind: str | None = None, k: int = 5, period: tuple[int, int] = PERIOD,
         people: Sequence[Person] = ()) -> Line:
    """Recognise a line and read it.

    Parameters
    ----------
    characters: text (``?`` an unread sign, line breaks mean columns), one entry per sign, or columns of ``Character``.
    kind: read it as this kind, whatever is likeliest; None for the likeliest.
    k: how many readings at most. period: working period for dates. people: persons whose dates are known.

    Raises TextError where no sign stands, OptionError for an unknown kind or a k that is no number of readings. What is
    asked for as a date and is none has no datings; ``note`` says why.

    >>> found = line("江戸住 蘆香作")
    >>> found.kind, [p.role for p in found.signatures[0].persons]
    ('signature', ['maker'])
    """
    if kind is not None and kind not in LINE_KINDS:
        raise unknown_option("kind of line", kind, LINE_KINDS)
    k = options.whole(k, "k", "readings", solve.MOST)
    if not isinstance(characters, str):
        characters = options.listed(characters)
    row = signs(_flat(characters))
    ways = line_kind.parsed(row, k, period)
    kinds = line_kind.recognised(row, ways)
    chosen = kind or kinds[0].kind
    made = Line(row.text, chosen, tuple(kinds), next((m.form for m in kinds if m.kind == chosen), None))
    if chosen in ("verse", "prose"):
        return _read(made, characters, kind, k)
    if chosen in _SIGNED:
        ways = ways or signature.parse(row, k, period)  # asked for as a signature, though mostly kana
        return replace(made, signatures=tuple(signature_reading.told(ways, period, people)))
    if chosen == "date":
        return _dated(made, _flat(characters), period)
    if chosen == "Chinese line":
        made = replace(made, chinese=chinese_verse.taken_apart(_flat(characters)))
    note = "Sino-Japanese sounds, sign by sign; the order in which it was read in Japanese is for the reader to find"
    return replace(made, sounds=tuple(_sound(c) for c in row.text), note=note)


def _flat(characters: str | Sequence[Any]) -> Any:
    """Columns of Characters as one row with the ends of columns in it; anything else as it is."""
    if isinstance(characters, str) or not characters or isinstance(characters[0], Character | str):
        return characters
    if all(isinstance(c, Sequence) and all(isinstance(x, Character) for x in c) for c in characters):
        return [entry for column in characters for entry in (*column, "\n")]
    return characters


def _read(made: Line, characters: str | Sequence[Any], asked: str | None, k: int) -> Line:
    form = "prose" if made.kind == "prose" else None
    found = solve.solve(characters, form=form, k=k)
    if made.kind == "verse" and asked is None and found.form == "prose":
        prose = next(m for m in made.kinds if m.kind == "prose")
        if prose.probability * _NEAR >= made.kinds[0].probability:
            return replace(made, kind="prose", form=None, readings=found.readings,
                           note="its signs are as verse may be, but no verse form fits the best reading")
    return replace(made, form=None if found.form == "prose" else found.form, readings=found.readings)


def _dated(made: Line, characters: Any, period: tuple[int, int]) -> Line:
    try:
        return replace(made, datings=tuple(dates.read(characters, period=period)))
    except TextError as error:
        return replace(made, note=str(error))


def _sound(sign: str) -> str:
    return next(iter(names.of_kanji(sign, "art")), sign)
