"""States of the largest panels, as types: what Python tells and what the browser may rely on.

Conventions: the names are those of the panel's ``state``; a pair is a value and its words. ``static/states.js`` says
the same for the browser's type check and is written from here; a test holds the states of a bench against these types.
Coordinates are full-size pixels of the picture as it is read, shares and confidences 0..1.
"""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict

from readaid.widgets.board_states import (
    Busy,
    Pair,
    PhotoBoardState,
)


class SheetSign(TypedDict):
    """A sign on the sheet; ``missing`` are the least and the most signs that a gap stands for."""

    id: str
    text: str
    machine: str
    sound: str
    mark: str
    more: int
    sure: str
    zones: list[str]
    missing: list[int] | None
    crop: str


class SheetColumn(TypedDict):
    """A column of the sheet, from the right; its morae by line."""

    id: str
    signs: list[SheetSign]
    morae: list[tuple[int, int]]


class EditionLine(TypedDict):
    """A line of the reading: stretches of text, each with whether the machine supplied it; its morae and the form's."""

    parts: list[tuple[str, bool]]
    morae: int | None
    want: int | None


class Edition(TypedDict):
    """The reading beside the sheet."""

    kept: bool
    machine: bool
    lines: list[EditionLine]
    words: str


class SheetPanelState(TypedDict):
    """State of the sheet."""

    stage: str
    inscription: str
    inscriptions: list[tuple[str, str, int]]
    kind: str
    chosen: str
    columns: list[SheetColumn]
    edition: Edition | None
    locked: bool


class CandidateRow(TypedDict):
    """What a sign may be; ``probability`` is by shape, ``after`` with its neighbours."""

    character: str
    confidence: float
    note: str
    source: str
    probability: float | None
    about: str
    rejected: str
    picture: list[str] | None
    after: float | str | None


class LookChoices(TypedDict):
    """Which photograph and view a crop is taken from."""

    photos: list[Pair]
    photo: str
    views: list[Pair]
    board: str
    view: str
    words: str


class ShapeRows(TypedDict):
    """Letters whose form resembles the crop."""

    state: str
    words: str
    rows: list[dict[str, Any]]
    sounds: list[Any]
    seen: str
    among: str
    tracing: bool
    none: NotRequired[str]


class CharacterPanelState(TypedDict):
    """State of the sign; what follows ``damages`` says nothing where no sign is chosen."""

    words: list[tuple[str, float]]
    values: list[tuple[str, float]]
    sure: float
    total: int
    character: str
    damages: list[Pair]
    n: int
    inside: list[Pair]
    candidates: list[CandidateRow]
    damage: str
    missing: list[int]
    note: str
    margin: float
    own: list[dict[str, Any]]
    found: dict[str, Any] | None
    shape: ShapeRows
    traced: bool
    look: LookChoices | None


class ReadingPanelState(TypedDict):
    """State of the reading line; rows of readings are those of ``reading_rows``."""

    stage: str
    turn: int
    busy: bool
    words: str
    forms: list[Pair]
    form: str | None
    inscription: str
    inscriptions: list[Pair]
    chosen: str
    one: dict[str, Any] | None
    signs: int
    own: dict[str, Any]
    known: dict[str, Any]
    values: list[tuple[str, float]]
    statuses: list[Pair]
    chinese: dict[str, Any] | None
    readings: list[dict[str, Any]]
    parse: dict[str, Any] | None
    dots: str
    shape: dict[str, Any]
    beside: dict[str, Any] | None
    spread: list[str]
    attempts: list[dict[str, Any]]


class PieceField(TypedDict):
    """A fact about the piece as a field."""

    name: str
    label: str
    number: bool
    long: bool
    choices: list[list[str]]
    value: str


class PiecePanelState(TypedDict):
    """State of the facts about the piece."""

    fields: list[PieceField]
    sensitive: list[tuple[str, bool, str]]
    evidence: list[Pair]
    source_kinds: list[Pair]
    photos: list[dict[str, str]]
    kinds: list[Pair]
    inscriptions: list[dict[str, str]]
    sources: list[dict[str, str]]
    notes: list[Any]


class AlbumForm(TypedDict):
    """A form of the school, its picture as base64."""

    id: str
    maker: str
    year: str
    thumb: str
    traced: bool


class Figure(TypedDict):
    """A figure as it will be printed, base64; empty where it cannot be drawn, and the title says why."""

    svg: str
    title: str


class AlbumPanelState(TypedDict):
    """State of a school on the screen."""

    tracing: str
    ready: bool
    title: str
    folder: str
    busy: Busy | None
    forms: list[AlbumForm]
    makers: list[tuple[str, int]]
    words: str
    figures: list[Pair]
    shown: str
    figure: Figure | None
    sentence: str
    sentences: list[str]


#: States by the panel that tells them.
STATES: tuple[type, ...] = (PhotoBoardState, SheetPanelState, CharacterPanelState, ReadingPanelState, PiecePanelState,
                            AlbumPanelState)
