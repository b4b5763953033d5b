"""State of the photo board, as types; ``states`` says what they are for.

Conventions: as in ``states``. Coordinates are full-size pixels of the picture as it is read.
"""

from __future__ import annotations

from typing import NotRequired, TypedDict

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
    elsewhere: NotRequired[Titled | None]
