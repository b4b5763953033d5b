"""States of the sign, the tracing and the sheet, as types; ``states`` says what they are for.

Conventions: as in ``states``. A picture is a pair: its data address and its words.
"""

from __future__ import annotations

from typing import Literal, NotRequired, TypedDict

from readaid.widgets.board_states import Pair, Point


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
    """What a sign may be; ``probability`` is by shape, ``after`` with its neighbours, in words."""

    character: str
    confidence: float
    note: str
    source: str
    probability: float | None
    about: str
    rejected: str
    picture: Pair | None
    after: str | None


class LookChoices(TypedDict):
    """Which photograph and view a crop is taken from."""

    photos: list[Pair]
    photo: str
    views: list[Pair]
    board: str
    view: str
    words: str


class LetterRow(TypedDict):
    """A letter or kanji that was found; one found by part or as a look-alike comes with its pictures."""

    character: str
    under: str
    title: str
    pictures: NotRequired[list[Pair]]


class LettersFound(TypedDict):
    """What one of the ways to find a letter gave; ``of`` and its ``forms`` belong to look-alikes."""

    by: Literal["sound", "parent", "part", "alike"]
    rows: list[LetterRow]
    words: str
    of: NotRequired[str]
    forms: NotRequired[list[Pair]]


class ShapeRow(TypedDict):
    """A letter proposed by shape: its share 0..1, the hand its form is written in, pictures of that form."""

    character: str
    under: str
    hand: str
    source: str
    probability: float
    title: str
    pictures: list[Pair]


class ShapeRows(TypedDict):
    """Letters whose form resembles the crop; sounds with their summed shares in words."""

    state: Literal["none", "busy", "ready", "absent"]
    words: str
    rows: list[ShapeRow]
    sounds: list[Pair]
    seen: str
    among: str
    tracing: bool
    none: NotRequired[str]


class OwnCrop(TypedDict):
    """A crop the reader had remembered: what it stands for and where it was taken."""

    id: str
    character: str
    where: str


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
    own: list[OwnCrop]
    found: LettersFound | None
    shape: ShapeRows
    traced: bool
    look: LookChoices | None


class TracingPanelState(TypedDict):
    """State of the sheet for tracing: strokes in its pixels, how many are kept; a school's form has no look."""

    ready: bool
    zone: str
    turn: int
    width: int
    height: int
    strokes: list[list[Point]]
    kept: int
    locked: bool
    look: LookChoices | None
    words: str
