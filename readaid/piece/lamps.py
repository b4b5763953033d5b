"""Where the lamp stood for each photograph of a surface: as ticks round it, as words, from a file's name.

Conventions: azimuth in degrees as in ``photo.lights``: 0 at the right, clockwise; elevation above the surface. The
side is what stands in the file; who shows a mirrored photograph turns it. A file's name is a hint and never taken
unasked.
"""

from __future__ import annotations

import re

from readaid.core.photo import Photo

#: Where a lamp may stand, as azimuth in degrees.
SIDES = {"left": 180, "top left": 225, "top": 270, "top right": 315, "right": 0, "bottom right": 45, "bottom": 90,
         "bottom left": 135}
#: Usual heights of a lamp in words (common practice, no source).
HEIGHTS = {"low": 20, "middle": 40, "high": 65}
_WORDS = {"left": "left", "right": "right", "top": "top", "upper": "top", "above": "top", "bottom": "bottom",
          "lower": "bottom", "below": "bottom", "左": "left", "右": "right", "上": "top", "下": "bottom"}


def standing(photo: Photo, flip: bool = False) -> tuple[float, float] | None:
    """Azimuth and elevation of the recorded lamp in degrees, as seen; None where it is not known.

    >>> standing(Photo("a.jpg", "", 9, 9, light_direction=(-0.8, 0.0, 0.6))) == (180.0, 36.86989764584402)
    True
    """
    from readaid.photo.lights import angles

    if photo.light_direction is None:
        return None
    azimuth, elevation = angles(photo.light_direction)
    return float((180 - azimuth if flip else azimuth) % 360), float(elevation)


def words(photo: Photo, flip: bool = False) -> dict[str, str]:
    """The recorded lamp as the nearest side and height in words; empty words for none.

    >>> words(Photo("a.jpg", "", 9, 9, light_direction=(-0.94, 0.0, 0.34)))
    {'side': 'left', 'height': 'low'}
    """
    found = standing(photo, flip)
    if found is None:
        return {"side": "", "height": ""}
    azimuth, elevation = found
    side = min(SIDES, key=lambda s: abs((azimuth - SIDES[s] + 180) % 360 - 180))
    return {"side": side, "height": min(HEIGHTS, key=lambda h: abs(elevation - HEIGHTS[h]))}


def direction(side: str, height: str = "low", flip: bool = False) -> tuple[float, float, float] | None:
    """The unit vector towards a lamp at a side and height in words; None for no side."""
    from readaid.photo.lights import from_angles

    if not side:
        return None
    azimuth = (180 - SIDES[side]) % 360 if flip else SIDES[side]  # what is seen at the left lies at the file's right
    return from_angles(azimuth, HEIGHTS[height])


def side_in(name: str) -> str:
    """The side that a file's name tells, "" for none or for more than fit together.

    >>> side_in("verse_left"), side_in("IMG 12 top-right"), side_in("上左"), side_in("left and right"), side_in("front")
    ('left', 'top right', 'top left', '', '')
    """
    parts = re.findall(r"[a-z]+|[左右上下]", name.lower())
    told = {_WORDS[p] for p in parts if p in _WORDS}
    side = " ".join(s for s in ("top", "bottom", "left", "right") if s in told)
    return side if side in SIDES else ""
