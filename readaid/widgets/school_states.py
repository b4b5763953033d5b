"""States of the signature, the comparison and the school, as types; ``states`` says what they are for.

Conventions: as in ``states``. A likeness is 0..1; pictures inside are base64; years are Western, as text.
"""

from __future__ import annotations

from typing import TypedDict

from readaid.widgets.board_states import Busy, Pair


class ParsedPart(TypedDict):
    """A part of a signature."""

    text: str
    kind: str
    readings: str
    meaning: str


class ParseRow(TypedDict):
    """One way to take a signature apart, what was checked of it, whether it is kept."""

    kept: bool
    words: str
    checks: list[str]
    parts: list[ParsedPart]


class DatingRow(TypedDict):
    """A date that fits; ``folded`` where it lies outside the working period."""

    era: str
    cycle: str
    agrees: str
    disagrees: bool
    range: str
    notes: str
    folded: bool


class KeptDate(TypedDict):
    """A date in the register."""

    text: str
    range: str


class PersonRow(TypedDict):
    """Somebody in the register: fields as text, ``teacher`` an id; ``kin``, ``dates`` and ``parts`` in words."""

    id: str
    name: str
    readings: str
    aliases: str
    school: str
    teacher: str
    kin: str
    parts: list[str]
    dates: str
    generation: str
    born: str
    died: str
    active_from: str
    active_to: str


class SignaturePanelState(TypedDict):
    """State of signature, people and date; ``seal`` as (place, sketch, words)."""

    inscriptions: list[Pair]
    inscription: str
    text: str
    date_text: str
    roles: list[Pair]
    signature_words: str
    date_words: str
    period: str
    parses: list[ParseRow]
    datings: list[DatingRow]
    kept_dates: list[KeptDate]
    people: list[PersonRow]
    seal: list[tuple[str, str, str]]


class SpecimenRow(TypedDict):
    """A form on the shelf."""

    id: str
    title: str
    words: str


class TracedSide(TypedDict):
    """A side ("a", "b") whose zone was traced, and whether the tracing is compared."""

    side: str
    words: str
    on: bool


class ComparedForms(TypedDict):
    """Two forms compared: the second's pixels to the first's, places that differ as boxes, counts beside each other."""

    likeness: str
    disagree: str
    parts: list[tuple[str, float]]
    transform: list[float]
    notes: list[str]
    differences: list[list[float]]
    counts: list[tuple[str, str, str]]
    heads: list[str]
    laid: str
    population: str
    alt: str


class ComparePanelState(TypedDict):
    """State of the comparison."""

    specimens: list[SpecimenRow]
    a: str
    b: str
    turn: str
    traced: list[TracedSide]
    people: list[Pair]
    kinds: list[Pair]
    counts: list[Pair]
    zones: list[Pair]
    busy: bool
    words: str
    result: ComparedForms | None


class MakerRow(TypedDict):
    """A maker in the tree of teachers: column by generation, row from the top."""

    id: str
    name: str
    teacher: str
    column: int
    row: int
    words: str


class LikenessMatrix(TypedDict):
    """Likeness of all forms; neighbours of one as (rank, maker, likeness, distance, forms, nearest)."""

    names: list[str]
    rows: list[list[float]]
    low: float
    of: str
    nearest: list[tuple[str, str, str, str, str, str]]
    sentence: str


class Figure(TypedDict):
    """A figure as it will be printed, base64; empty where it cannot be drawn, and the title says why."""

    svg: str
    title: str


class SchoolPanelState(TypedDict):
    """State of the makers and forms of a register."""

    ready: bool
    busy: Busy | None
    forms: int
    makers: list[MakerRow]
    tree_words: str
    tree_alt: str
    words: str
    matrix: LikenessMatrix | None
    tests: list[str]
    charts: list[Figure]


class AlbumForm(TypedDict):
    """A form of the school, its picture as base64."""

    id: str
    maker: str
    year: str
    thumb: str
    traced: bool


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
