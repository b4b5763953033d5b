"""State of the reading line, as types; ``states`` says what they are for.

Conventions: as in ``states``. Lines are those of the verse; a share in words is computed, no reader's confidence.
"""

from __future__ import annotations

from typing import NotRequired, TypedDict

from readaid.widgets.board_states import Pair


class LinePart(TypedDict):
    """A stretch of a line: supplied by the search, or read from shape alone where that was asked."""

    text: str
    restored: bool
    shape: NotRequired[bool]


class LineRow(TypedDict):
    """A verse line: its morae, those the form wants, what is over (may be negative), the rules it needs."""

    parts: list[LinePart]
    morae: int
    want: int | None
    unit: str
    surplus: int | None
    rules: list[str]


class WrittenPart(TypedDict):
    """A stretch of the signs as they stand; whether shape alone read them."""

    text: str
    shape: bool


class ReadingRow(TypedDict):
    """A reading: ``layers`` as (heading, text, language), ``others`` the signs that nobody judged."""

    lines: list[LineRow]
    text: str
    romaji: str
    short: str
    others: int
    written: list[WrittenPart]
    general: list[str]
    layers: list[tuple[str, str, str]]
    restored: str
    shape: str
    share: str
    percent: str
    machine: bool
    differs: str


class SignShare(TypedDict):
    """A letter of a sign with its neighbours: its sound and share; ``mine`` is what the reader said of it."""

    character: str
    kana: str
    restored: bool
    mine: str | None
    words: str


class SignRow(TypedDict):
    """The chosen sign: what the best reading takes it for, what is held fast of it, what its neighbours say."""

    id: str
    n: int
    best: str
    blank: str
    kind: str
    shape: bool
    fixed: str
    ends: bool
    name: str
    options: list[str]
    read: str | None
    share: float | None
    shares: list[SignShare]


class OwnLines(TypedDict):
    """The reader's own words, counted."""

    lines: list[LineRow]
    words: str
    busy: NotRequired[bool]


class KnownVerses(TypedDict):
    """Known verses: verdict, verse, whose, what differs, the chance of such a match."""

    words: str
    rows: list[tuple[str, str, str, str, str]]
    busy: NotRequired[bool]


class ChineseLine(TypedDict):
    """A Chinese line: each sign with on, kun and tone; what is said of the whole; a known line beside it."""

    signs: str
    rows: list[tuple[str, str, str, str]]
    words: list[str]
    known: str


class SignatureLine(TypedDict):
    """Parts of a signature, each with what it is, or why there is none."""

    parts: list[Pair]
    words: str


class ByShape(TypedDict):
    """Whether unread signs are read by shape, among which, and what came of it."""

    on: bool
    words: str
    among: str
    kinds: list[Pair]


class ReadingsBeside(TypedDict):
    """Two readings: causes as (words, factor, side), signs that differ as (number, one, other)."""

    rows: list[tuple[str, str, str]]
    signs: list[tuple[str, str, str]]
    other: int
    first: str
    second: str
    next: str


class AttemptRow(TypedDict):
    """An attempt that was kept."""

    text: str
    sure: str
    status: str
    reader: str
    when: str


class ReadingPanelState(TypedDict):
    """State of the reading line; rows of readings are those of ``reading_rows``."""

    stage: str
    turn: int
    busy: bool
    words: str
    forms: list[Pair]
    form: str
    inscription: str
    inscriptions: list[Pair]
    chosen: str
    one: SignRow | None
    signs: int
    own: OwnLines
    known: KnownVerses
    values: list[tuple[str, float]]
    statuses: list[Pair]
    chinese: ChineseLine | None
    readings: list[ReadingRow]
    parse: SignatureLine | None
    dots: str
    shape: ByShape
    beside: ReadingsBeside | None
    spread: list[str]
    attempts: list[AttemptRow]
