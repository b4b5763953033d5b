"""Photos, zones on them, scale and view settings.

Conventions: pixel origin top-left, (x, y) in full-size image pixels *after*
EXIF rotation; lengths in millimetres; outlines are closed polygons without
the repeated last point.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from readaid.core.errors import ZoneError
from readaid.core.identity import new_id

Point = tuple[float, float]


class Evidence(StrEnum):
    """What kind of picture it is."""

    PHOTOGRAPH = "photograph"
    RUBBING = "rubbing"
    TRACING = "tracing"
    SCAN = "catalogue scan"
    INFRARED = "infrared photograph"
    ULTRAVIOLET = "ultraviolet photograph"
    COMPUTED = "computed picture"  # made by the program from photos of the piece, see its note and ``reference``


@dataclass(frozen=True, slots=True)
class Scale:
    """Millimetres per pixel from a known length between two points, and an optional second one.

    >>> s = Scale((0, 0), (300, 400), 50.0)
    >>> s.mm_per_pixel
    0.1
    """

    a: Point
    b: Point
    millimetres: float
    what: str = ""
    check_a: Point | None = None
    check_b: Point | None = None
    check_millimetres: float | None = None
    check_what: str = ""

    @property
    def mm_per_pixel(self) -> float:
        """Millimetres per full-size pixel; raises ZoneError if both points coincide."""
        length = _distance(self.a, self.b)
        if length <= 0 or self.millimetres <= 0:
            raise ZoneError("The scale has no length", cure="click two points that lie apart")
        return self.millimetres / length

    @property
    def disagreement(self) -> float | None:
        """Relative difference of the second known length as measured with the first (0.1 = 10 % longer)."""
        if self.check_a is None or self.check_b is None or not self.check_millimetres:
            return None
        measured = _distance(self.check_a, self.check_b) * self.mm_per_pixel
        return measured / self.check_millimetres - 1.0


def _distance(a: Point, b: Point) -> float:
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)


@dataclass(frozen=True, slots=True)
class Photo:
    """One picture in the piece folder; the file itself is never changed.

    ``file`` is relative to the piece folder with forward slashes; ``sha256``
    is of the file's bytes; ``width`` and ``height`` are after EXIF rotation.
    """

    file: str
    sha256: str
    width: int
    height: int
    id: str = field(default_factory=new_id)
    title: str = ""
    surface: str = ""
    light: str = ""
    #: unit vector towards the lamp: x right, y down, z to the camera
    light_direction: tuple[float, float, float] | None = None
    evidence: Evidence = Evidence.PHOTOGRAPH
    mirrored: bool = False
    swapped: bool = False  # dark and light exchanged, as in a rubbing
    bits: int = 8
    scale: Scale | None = None
    #: 9 numbers, row-major homography to the reference photo of the surface, whose id is ``reference``
    to_reference: tuple[float, ...] | None = None
    reference: str | None = None
    #: middle line of a curved column on the reference photo, top to bottom; this picture is that column laid straight
    bend: tuple[Point, ...] = ()
    bend_width: float = 0.0  # pixels of the reference photo taken across the line
    taken: str = ""
    rights: str = ""
    note: str = ""


#: What a zone may hold. The last four stand outside every text: a monogram is described, never read as kana.
ZONE_KINDS = ("writing", "signature", "monogram", "seal", "figure", "not writing")
OUTSIDE_TEXT = ZONE_KINDS[2:]


@dataclass(frozen=True, slots=True)
class Zone:
    """The outline of a sign on a photo (TEI's word), full-size pixels."""

    photo: str
    outline: tuple[Point, ...]
    id: str = field(default_factory=new_id)
    confidence: float | None = None  # of an automatic proposal; None when drawn by hand
    note: str = ""
    kind: str = ""  # what it holds, one of ZONE_KINDS, as proposed or said; "" where nobody asked
    kind_share: float | None = None  # probability 0..1 of a proposed kind; None where the reader said it

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Bounding rectangle (x, y, width, height).

        >>> Zone("p", rectangle(10, 20, 30, 40)).box
        (10.0, 20.0, 30.0, 40.0)
        >>> Zone("p", [[0, 0], [5, 0], [5, 9]]).box  # not as it is typed, yet as a list of points is often written
        (0.0, 0.0, 5.0, 9.0)
        """
        return _bounds(tuple(map(tuple, self.outline)))


@functools.lru_cache(maxsize=16384)
def _bounds(outline: tuple[Point, ...]) -> tuple[float, float, float, float]:
    # Kept: a column's place, the usual size of a sign and a row of the list each ask it of every zone.
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    x, y = float(min(xs)), float(min(ys))
    return x, y, float(max(xs)) - x, float(max(ys)) - y


def rectangle(x: float, y: float, width: float, height: float) -> tuple[Point, ...]:
    """Outline of an upright rectangle, clockwise from top-left."""
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


@dataclass(frozen=True, slots=True)
class ViewSetting:
    """A non-destructive view that was used on a photo: its name and its sliders."""

    photo: str
    view: str
    values: tuple[tuple[str, float], ...] = ()
    id: str = field(default_factory=new_id)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Tracing:
    """Strokes traced over a zone; points in millimetres (or pixels where the photo has no scale)."""

    zone: str
    strokes: tuple[tuple[Point, ...], ...]
    unit: str = "mm"
    id: str = field(default_factory=new_id)
    by: str = "reader"  # or "skeleton"
    note: str = ""


def kept_tracing(tracings: Iterable[Tracing], zone: str) -> Tracing | None:
    """The tracing that counts for a zone: the reader's before one proposed by the computer; None without one."""
    return min((t for t in tracings if t.zone == zone), key=lambda t: t.by != "reader", default=None)
