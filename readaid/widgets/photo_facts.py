"""What is known of the shown photograph: what kind of picture it is, of which surface, where the lamp stood, whether it
is mirrored or has dark and light exchanged.

Conventions: the lamp's side is counted as the reader sees it: clockwise from "right", 0 to 315 degrees in eight steps;
its height in degrees above the surface. The record keeps a unit vector (see ``core.photo``), or none.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Evidence, Photo
from readaid.widgets.desk import Desk

if TYPE_CHECKING:
    from readaid.widgets.photo_display import Showing
else:
    Showing = object

#: Where a lamp may stand, as azimuth in degrees (see ``photo.lights``).
SIDES = {"left": 180, "top left": 225, "top": 270, "top right": 315, "right": 0, "bottom right": 45, "bottom": 90,
         "bottom left": 135}
#: Usual heights of a lamp in words (common practice, no source).
HEIGHTS = {"low": 20, "middle": 40, "high": 65}
_FIELDS = ("evidence", "surface", "light", "mirrored", "swapped")


def lamp_words(photo: Photo, flip: bool = False) -> dict[str, str]:
    """The recorded lamp as the nearest side and height in words, as seen on the screen; empty words for none.

    >>> lamp_words(Photo("a.jpg", "", 9, 9, light_direction=(-0.94, 0.0, 0.34)))
    {'side': 'left', 'height': 'low'}
    """
    from readaid.photo.lights import angles

    if photo.light_direction is None:
        return {"side": "", "height": ""}
    azimuth, elevation = angles(photo.light_direction)
    azimuth = 180 - azimuth if flip else azimuth
    side = min(SIDES, key=lambda s: abs((azimuth - SIDES[s] + 180) % 360 - 180))
    return {"side": side, "height": min(HEIGHTS, key=lambda h: abs(elevation - HEIGHTS[h]))}


class AboutPhoto(Showing):
    """Part of :class:`readaid.widgets.photo_board.PhotoBoard`."""

    desk: Desk

    def about_state(self, photo: Photo) -> dict[str, Any]:
        """What the card of the photograph shows."""
        surfaces = dict.fromkeys(p.surface for p in self.desk.contents.photos if p.surface)
        return {
            "evidence": photo.evidence.value,
            "kinds": [e.value for e in Evidence if e is not Evidence.COMPUTED],
            "computed": photo.evidence is Evidence.COMPUTED,
            "surface": photo.surface,
            "surfaces": list(surfaces),
            "light": photo.light,
            "mirrored": photo.mirrored,
            "swapped": photo.swapped,
            "sides": list(SIDES),
            "heights": [[h, f"{h}, about {d} degrees"] for h, d in HEIGHTS.items()],
            **lamp_words(photo, self.flip(photo)),
        }

    def do_about(self, name: str, value: Any) -> None:
        """Change one thing that is known of the photograph."""
        if name not in _FIELDS:
            raise unknown_option("photo field", name, _FIELDS)
        photo = self._here()
        if name == "evidence":
            value = Evidence(value)
        elif name in ("mirrored", "swapped"):
            value = bool(value)
        else:
            value = str(value).strip()
        if getattr(photo, name) == value:
            return
        self._describe(photo, **{name: value})
        words = {"mirrored": "Left and right have changed places. Zones still point into the untouched file.",
                 "swapped": "Dark and light have changed places; the file is as it was."}
        self.say(words.get(name, "Saved."))

    def do_lamp(self, side: str, height: str = "low") -> None:
        """Note where the lamp stood ("": not known)."""
        from readaid.photo.lights import from_angles

        photo = self._here()
        if side and side not in SIDES:
            raise unknown_option("side of the lamp", side, SIDES)
        if height not in HEIGHTS:
            raise unknown_option("height of the lamp", height, HEIGHTS)
        azimuth = SIDES[side] if side else 0
        if self.flip(photo):  # what the reader sees at the left lies at the right of the file
            azimuth = (180 - azimuth) % 360
        direction = from_angles(azimuth, HEIGHTS[height]) if side else None
        self._describe(photo, light_direction=direction)
        self.say("Saved. From three or more photographs with known lamps, unmoved, the surface can be worked out."
                 if side else "Saved: it is not known where the lamp stood.")

    def do_sphere(self, points: list[list[float]]) -> None:
        """Read where the lamp stood from a shiny sphere: two points at opposite ends of its outline."""
        from readaid.photo.lights import from_sphere

        photo = self._here()
        if len(points) != 2:
            raise OptionError("The sphere needs two points", cure="click its left and its right edge")
        (ax, ay), (bx, by) = self.turned_points(points, photo)
        radius = ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5 / 2
        middle = (ax + bx) / 2, (ay + by) / 2
        pixels = self.desk.piece.pyramid(photo).level(0)
        self._describe(photo, light_direction=from_sphere(pixels, middle, radius))
        words = lamp_words(self._here(), self.flip(photo))
        self.say(f"By the sphere the lamp stood at the {words['side']}, {words['height']}.")

    def _here(self) -> Photo:
        photo = self.desk.find(Photo, self.desk.photo)
        if photo is None:
            raise OptionError("No photograph is shown", cure="add one first")
        return photo

    def _describe(self, photo: Photo, **fields: Any) -> None:
        known = {f.name for f in dataclasses.fields(Photo)}
        assert set(fields) <= known
        self.desk.gesture("photograph described",
                          lambda: self.desk.piece.change(photo, reason="photo described", **fields))
