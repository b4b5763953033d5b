"""The condition that explains what cannot be read: layers of a surface, marked regions, measured strokes.

Conventions: an outline is a closed polygon in full-size pixels of its photo, as a zone's is; lengths in millimetres.
A region says a cause, never a blame; ``advice`` says what to do about it, and "leave alone" is the rule. Layers,
causes and advice are words of the trade (common practice, no source); "not stated" is not "none".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from readaid.core.identity import new_id
from readaid.core.photo import Point

#: What a layer may be, from the ground up.
LAYERS = ("ground metal", "ground", "ground texture", "inlay", "patina", "plating", "coating", "other")
#: Why a stroke may be lost or hidden.
CAUSES = ("handling", "corrosion", "sulphide stain", "chloride stain", "residue", "filled", "re-patinated", "erased",
          "hole", "hidden", "crack", "flaking", "not known")
ADVICE = ("leave alone", "for the conservator", "watch", "not stated")


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a surface as it was seen: ``kind`` one of ``LAYERS``, ``text`` in the reader's words."""

    kind: str
    text: str
    surface: str = ""
    later: bool = False  # put on after the piece was made, as a later plating
    id: str = field(default_factory=new_id)


@dataclass(frozen=True, slots=True)
class Region:
    """A marked region of a photo: why what lies there cannot be seen as it was cut, and what to do about it."""

    photo: str
    outline: tuple[Point, ...]
    cause: str = "not known"
    advice: str = "leave alone"
    note: str = ""
    id: str = field(default_factory=new_id)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Bounding rectangle (x, y, width, height).

        >>> Region("p", ((0, 0), (4, 0), (4, 2))).box
        (0.0, 0.0, 4.0, 2.0)
        """
        xs, ys = [float(p[0]) for p in self.outline], [float(p[1]) for p in self.outline]
        return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)


@dataclass(frozen=True, slots=True)
class StrokeMeasure:
    """Width, and depth where the lamps allow it, of a stroke in a zone; each with its standard error, in mm."""

    zone: str
    width: float
    width_error: float
    places: int = 1  # how many places along the stroke were measured
    depth: float | None = None
    depth_error: float | None = None
    note: str = ""
    id: str = field(default_factory=new_id)


def touches(a: Iterable[Point], b: Iterable[Point]) -> bool:
    """Whether two outlines have a point in common, however little.

    >>> touches(((0, 0), (4, 0), (4, 4), (0, 4)), ((3, 3), (9, 3), (9, 9)))
    True
    >>> touches(((0, 0), (4, 0), (4, 4), (0, 4)), ((5, 5), (9, 5), (9, 9)))
    False
    """
    one, other = list(a), list(b)
    if not one or not other:
        return False
    if _inside(one[0], other) or _inside(other[0], one):
        return True
    sides = [list(zip(p, p[1:] + p[:1], strict=True)) for p in (one, other)]
    return any(_cross(*s, *t) for s in sides[0] for t in sides[1])


def _inside(point: Point, outline: list[Point]) -> bool:
    x, y = point
    found = False
    for (x1, y1), (x2, y2) in zip(outline, outline[1:] + outline[:1], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            found = not found
    return found


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def turn(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    if any(max(a[k], b[k]) < min(c[k], d[k]) or max(c[k], d[k]) < min(a[k], b[k]) for k in (0, 1)):
        return False  # on one line, but apart
    return turn(a, b, c) * turn(a, b, d) <= 0 and turn(c, d, a) * turn(c, d, b) <= 0
