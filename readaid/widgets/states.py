"""States of the largest panels, as types: what Python tells and what the browser may rely on.

Conventions: the names are those of the panel's ``state``; a pair is a value and its words. ``static/states.js`` says
the same for the browser's type check and is written from here; a test holds the states of a bench against these types.
Coordinates are full-size pixels of the picture as it is read, shares and confidences 0..1.
"""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict

Pair = tuple[str, str]
Point = tuple[float, float]


class Busy(TypedDict):
    """Long work under way; ``share`` 0..1 where it is known."""

    label: str
    share: float | None
    stoppable: bool


class ZoneRow(TypedDict):
    """A mark on the photograph."""

    id: str
    x: float
    y: float
    w: float
    h: float
    outline: list[Point] | None
    text: str
    home: str
    mark: str
    body: str
    joined: bool
    sure: str
    faint: bool
    label: str


class PhotoRow(TypedDict):
    """A photograph of the piece; angles of its lamp in degrees where they are known."""

    id: str
    title: str
    surface: str
    azimuth: float | None
    elevation: float | None
    hint: str
    kind: str
    side: str
    height: str


class Companion(TypedDict):
    """A photograph laid with the shown one; ``frame`` takes its pixels to the shown one's."""

    id: str
    title: str
    frame: list[float]
    laid: bool
    flip: bool
    swap: bool


class ScaleRow(TypedDict):
    """The scale of the photograph in words, its ends, and those of the length that checks it."""

    a: Point
    b: Point
    millimetres: float
    mm_per_pixel: float
    check_a: Point | None
    check_b: Point | None
    check_millimetres: float | None
    words: str
    warning: str


class SliderRow(TypedDict):
    """A slider of a view."""

    name: str
    label: str
    min: float
    max: float
    step: float
    value: float
    words: str


class ViewRow(TypedDict):
    """A way to look at the photograph."""

    name: str
    label: str
    help: str
    sliders: list[SliderRow]


class Titled(TypedDict):
    """Something that is chosen by its title."""

    id: str
    title: str


class About(TypedDict):
    """Facts about the shown photograph and what may be said of it."""

    evidence: str
    kinds: list[Pair]
    computed: bool
    surface: str
    surfaces: list[str]
    light: str
    mirrored: bool
    swapped: bool
    sides: list[str]
    heights: list[Pair]
    side: str
    height: str


class MarkedRegion(TypedDict):
    """A marked region of the condition: its cause and advice in words."""

    outline: list[Point]
    words: str


class PinnedNote(TypedDict):
    """A note pinned to a place of the photograph."""

    id: str
    text: str
    private: bool
    x: float
    y: float


class Box(TypedDict):
    """An upright rectangle."""

    x: float
    y: float
    w: float
    h: float


class Correction(TypedDict):
    """Another cut of zones that are there, offered: its number, what it is in words, its boxes."""

    n: int
    zone: str
    words: str
    boxes: list[Box]


class Question(TypedDict):
    """What is asked before signs would be counted twice; ``region`` is the box that was looked at."""

    text: str
    choices: list[Pair]
    base: str
    photo: str
    region: list[float] | None


class RulerOffer(TypedDict):
    """A ruler found in the photograph, and what it may be used for."""

    words: str
    uses: list[Pair]
    outline: list[Point]


class PhotoBoardState(TypedDict):
    """State of the photograph; the second half is there where a photograph lies on the mat."""

    stage: str
    photo: str
    width: int
    height: int
    max_z: int
    mat: str
    tile: int
    zones: list[ZoneRow]
    regions: list[MarkedRegion]
    photos: list[PhotoRow]
    companions: list[Companion]
    notes: list[PinnedNote]
    inscriptions: list[Titled]
    inscription: str
    kinds: list[Titled]
    kind: str
    kind_words: str
    selected: str
    busy: Busy | None
    scale: ScaleRow | None
    views: list[ViewRow]
    view: str
    usual: list[float] | None
    trouble: str
    layer: int
    parted: list[Pair]
    flip: NotRequired[bool]
    swap: NotRequired[bool]
    advice: NotRequired[list[str]]
    advice_others: NotRequired[list[str]]
    about: NotRequired[About]
    computed: NotRequired[str]
    over: NotRequired[str]
    over_choices: NotRequired[list[Titled]]
    lit: NotRequired[int]
    shapes: NotRequired[bool]
    across: NotRequired[float]
    corrections: NotRequired[list[Correction]]
    question: NotRequired[Question | None]
    to_look: NotRequired[list[str]]
    ruler: NotRequired[RulerOffer | None]
    ruler_sought: NotRequired[bool]


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
