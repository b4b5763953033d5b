"""Scale, and what the photos of a piece lack.

Conventions: millimetres per full-size pixel; warnings and advice are plain sentences for the screen, an empty list
where nothing is amiss. The limits are common practice, no source, unless one is named.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from statistics import median
from typing import TYPE_CHECKING, Any

from readaid.core.errors import ZoneError
from readaid.core.photo import Evidence, Photo, Point, Scale, Zone
from readaid.core.piece import Piece

if TYPE_CHECKING:
    from readaid.photo.ruler import Ruler

#: A second known length may differ by this much before the scale is doubted.
TOLERANCE = 0.03
#: Pixels a sign: below FEW strokes run together, below SCANT candidates by shape suffer.
FEW, SCANT = 32, 60
#: Where the user says that the piece is one of these: usual length, least and most in mm (common practice, no source).
USUAL = {"knife handle": (95.0, 88.0, 103.0)}


def millimetres(scale: Scale, a: Point, b: Point) -> float:
    """Distance of two full-size pixels in mm.

    >>> millimetres(Scale((0, 0), (100, 0), 10.0), (0, 0), (30, 40))
    5.0
    """
    return math.dist(a, b) * scale.mm_per_pixel


def to_millimetres(points: Iterable[Point], scale: Scale, origin: Point = (0.0, 0.0)) -> tuple[Point, ...]:
    """Full-size pixels as mm from ``origin``, x right, y down.

    >>> to_millimetres([(10, 20)], Scale((0, 0), (100, 0), 10.0))
    ((1.0, 2.0),)
    """
    mm = scale.mm_per_pixel
    return tuple(((x - origin[0]) * mm, (y - origin[1]) * mm) for x, y in points)


def pixels_per_millimetre(scale: Scale) -> float:
    """The other way round; raises ZoneError where the two points coincide."""
    return 1.0 / scale.mm_per_pixel


def ruler(image: Any) -> Ruler | None:
    """The surest ruler in a photo, found by its graduations, as a proposal to show and ask about; None without one.

    ``image``: (height, width[, 3]), any depth. Marks are looked for 3.6 px apart or more (in a photo reduced to
    2,800 px), 21 of them at least, on a straight ruler whose longest marks are seen twice. The result holds px per mm,
    how far that may be off, two end points a known length apart, the marks' outline, and how sure it is; its ``scale``
    is a :class:`readaid.core.photo.Scale`. Figures are not read, so the unit rests on the lengths of the marks: let the
    reader confirm it. Raises PhotoError for a wrong or empty image.

    >>> import numpy as np
    >>> ruler(np.full((300, 400), 200, np.uint8)) is None
    True
    """
    from readaid.photo.ruler import find

    return find(image)


def carried(scale: Scale, homography: Sequence[float], back: bool = False) -> Scale:
    """The scale of one photo as another photo of the same surface shows it, through a 3 x 3 homography (row-major).

    ``homography`` takes this photo's pixels to the other's (``back``: the other way). Raises ZoneError for one that
    cannot be turned round.
    """
    import numpy as np

    matrix = np.asarray(homography, float).reshape(3, 3)
    if back:
        if abs(np.linalg.det(matrix)) < 1e-12:
            raise ZoneError("The two photos are not aligned", cure="align them again")
        matrix = np.linalg.inv(matrix)

    def moved(point: Point | None) -> Point | None:
        if point is None:
            return None
        x, y, w = matrix @ np.array([point[0], point[1], 1.0])
        return float(x / w), float(y / w)

    a, b = moved(scale.a), moved(scale.b)
    assert a is not None
    assert b is not None
    return Scale(a, b, scale.millimetres, scale.what, moved(scale.check_a), moved(scale.check_b),
                 scale.check_millimetres, scale.check_what)


def warnings(photo: Photo, piece: Piece | None = None) -> list[str]:
    """What is doubtful about a photo's scale: none, a second length that disagrees, a piece that comes out too long.

    >>> warnings(Photo("a.jpg", "", 100, 100))
    ['No scale: click two points a known distance apart. Without it nothing can be measured in mm.']
    """
    if photo.scale is None:
        return ["No scale: click two points a known distance apart. Without it nothing can be measured in mm."]
    scale, out = photo.scale, []
    mm = scale.mm_per_pixel
    apart = math.dist(scale.a, scale.b)
    # A short known length on a large photo: a slip of one pixel then changes every measure.
    if apart < 0.1 * max(photo.width, photo.height):
        out.append(f"The known length spans only {apart:.0f} px; one pixel's slip changes it by {100 / apart:.1f} %. "
                   "Take a longer one.")
    off = scale.disagreement
    if off is not None and abs(off) > TOLERANCE:
        measured = (1 + off) * (scale.check_millimetres or 0)
        out.append(f"The second length should be {scale.check_millimetres:g} mm and measures {measured:.1f} mm "
                   f"({off:+.0%}): the photo is not square to the surface, or one length is wrong.")
    if piece is not None:
        out += _piece(photo, piece, mm)
    return out


def _piece(photo: Photo, piece: Piece, mm: float) -> list[str]:
    out = []
    words = f"{piece.kind} {piece.title}".lower()
    longest = max(photo.width, photo.height) * mm
    sides = [s for s in (piece.width, piece.height) if s]
    for kind, (usual, least, most) in USUAL.items():
        if kind in words and sides and not least <= max(sides) <= most:
            out.append(f"A {kind} of the usual kind is about {usual:g} mm long; this one is entered as "
                       f"{max(sides):g} mm. Check the scale.")
        elif kind in words and longest < least and photo.evidence is Evidence.PHOTOGRAPH:
            out.append(f"The whole photo spans {longest:.0f} mm by this scale; a {kind} of the usual kind is about "
                       f"{usual:g} mm long. Check the scale, unless the photo shows a part only.")
    # Centimetres entered for millimetres, or bu for mm: a photograph shows no sixty times its piece.
    if sides and longest > 60 * max(sides):
        out.append(f"By this scale the photo spans {longest:.0f} mm, the piece {max(sides):g} mm. Check the unit.")
    return out


def sign_height(zones: Iterable[Zone]) -> float | None:
    """Median height of the zones in pixels, None without zones."""
    heights = [z.box[3] for z in zones]
    return float(median(heights)) if heights else None


def advice(photos: Iterable[Photo], zones: Iterable[Zone] = ()) -> list[str]:
    """What is missing or too coarse, one sentence each with the photo's name; works without zones.

    Per photo: scale, pixels a sign. Per surface: how many lights and from which sides, a photo under even light, an
    alignment between them. Empty where all is well.
    """
    photos, zones = list(photos), list(zones)
    if not photos:
        return ["No photo yet: take one square to the surface, with a scale in its plane, before anything else."]
    out = []
    for photo in photos:
        name = photo.title or photo.file
        height = sign_height(z for z in zones if z.photo == photo.id)
        if height is not None and height < SCANT:
            worst = "strokes run together" if height < FEW else "fine strokes are lost"
            out.append(f"{name}: the signs are about {height:.0f} px high; below {SCANT} px {worst}. "
                       "Take it nearer, or with a longer lens.")
        if photo.scale is None and photo.evidence in (Evidence.PHOTOGRAPH, Evidence.INFRARED, Evidence.ULTRAVIOLET):
            out.append(f"{name}: no scale. Lay a scale beside the piece, not on it, in the plane of the writing.")
        elif photo.scale is not None:
            out += [f"{name}: {w}" for w in warnings(photo)]
    for surface in dict.fromkeys(p.surface for p in photos):
        here = [p for p in photos if p.surface == surface and p.evidence is Evidence.PHOTOGRAPH]
        if here:
            out += _lights(surface, here)
    return out


def _lights(surface: str, photos: list[Photo]) -> list[str]:
    name = surface or "The surface"
    lit = [p.light_direction for p in photos if p.light_direction is not None]
    out = []
    if not lit:
        if len(photos) == 1:
            out.append(f"{name}: one light only. Take at least four more with the lamp low at each side (raking "
                       "light), camera and piece unmoved; eight give the surface shape.")
        else:
            out.append(f"{name}: {len(photos)} photos without a light direction. Note where the lamp stood in each.")
        return out
    sides = {"right": (1, 0), "bottom": (0, 1), "left": (-1, 0), "top": (0, -1)}
    # Within sixty degrees of a side counts as from that side: lamps are put where there is room.
    missing = [side for side, (x, y) in sides.items()
               if not any(d[0] * x + d[1] * y > 0.5 * math.hypot(d[0], d[1]) > 0 for d in lit)]
    if missing:
        out.append(f"{name}: no light from {_listed(missing)}. A cut that runs along the light does not show.")
    if len(lit) < 4:
        out.append(f"{name}: {len(lit)} raking light{'s' if len(lit) > 1 else ''}. "
                   "Surface shape needs four, and eight where it shines.")
    steep = [d for d in lit if d[2] > 0.85 * math.hypot(*d)]
    if len(steep) == len(lit):
        out.append(f"{name}: all lights stand high. Bring the lamp down to 15 to 40 degrees above the surface.")
    if len(photos) > 1 and sum(p.to_reference is None for p in photos) > 1:
        out.append(f"{name}: the photos are not aligned to each other yet, so a zone holds in one of them only.")
    return out


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
