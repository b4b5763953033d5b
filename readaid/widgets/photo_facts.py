"""What is known of the photographs: which surface, where the lamp stood, what kind of picture, which way round.

Conventions: the lamp's side is counted as the reader sees it (see ``piece.lamps``). What is said of several photographs
at once is one gesture. Photographs of one surface are *companions*; ``frame`` takes pixels of a companion to those of
the shown photograph: a, b, c, d, e, f of x' = a x + c y + e, y' = b x + d y + f.
"""

from __future__ import annotations

import dataclasses
from typing import Any

from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Evidence, Photo
from readaid.core.texts import plural, told, wording
from readaid.piece import lamps
from readaid.widgets.desk import short
from readaid.widgets.panel import Part

_FIELDS = ("evidence", "surface", "light", "mirrored", "swapped")


class PhotoFacts(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""


    def shown(self, photo: Photo) -> dict[str, Any]:
        """What the card of the photograph shows."""
        return {
            "evidence": photo.evidence.value,
            "kinds": [[e.value, told(e.value.capitalize())] for e in Evidence if e is not Evidence.COMPUTED],
            "computed": photo.evidence is Evidence.COMPUTED,
            "surface": photo.surface,
            "surfaces": list(dict.fromkeys(p.surface for p in self.panel.desk.contents.photos if p.surface)),
            "light": photo.light,
            "mirrored": photo.mirrored,
            "swapped": photo.swapped,
            "sides": list(lamps.SIDES),
            "heights": [[h, wording("{0}, about {1} degrees", told(h), d)] for h, d in lamps.HEIGHTS.items()],
            **lamps.words(photo, self.panel.showing.flip(photo)),
        }

    def rows(self) -> list[dict[str, Any]]:
        """Every photograph with its surface and lamp, for the choice and for what is said of several at once."""
        rows = []
        for p in self.panel.desk.contents.photos:
            stands = lamps.standing(p, p.mirrored)
            rows.append({
                "id": p.id,
                "title": short(p, p.file),
                "surface": p.surface,
                "azimuth": None if stands is None else round(stands[0]),
                "elevation": None if stands is None else round(stands[1]),
                "hint": "" if p.light_direction or p.evidence is Evidence.COMPUTED else lamps.side_in(short(p, p.file)),
                "kind": "" if p.evidence is Evidence.PHOTOGRAPH else told(p.evidence.value),
                **lamps.words(p, p.mirrored),
            })
        return rows

    def companions(self, photo: Photo) -> list[dict[str, Any]]:
        """Photographs of the shown one's surface, itself among them, with the frame that lays each on it."""
        surfaces, found = self.panel.desk.piece.surfaces, []
        for p in self.panel.desk.contents.photos:
            laid = p.id != photo.id and surfaces.together(p, photo)
            if p.id != photo.id and not laid and not (photo.surface and p.surface == photo.surface):
                continue
            corner = ((0.0, 0.0), (float(p.width), 0.0), (0.0, float(p.height)))
            there = surfaces.carried(corner, p, photo) if laid and not (p.bend or photo.bend) else None
            if there is None or len(there) != 3:
                if (p.width, p.height) != (photo.width, photo.height) and p.id != photo.id:
                    continue  # nothing tells how they lie to each other
                there = corner
            (ox, oy), (rx, ry), (dx, dy) = there
            frame = [(rx - ox) / p.width, (ry - oy) / p.width, (dx - ox) / p.height, (dy - oy) / p.height, ox, oy]
            found.append({"id": p.id, "title": short(p, p.file), "frame": [round(v, 6) for v in frame], "laid": laid,
                          "flip": p.mirrored, "swap": p.swapped})
        return found

    # --- one photograph -----------------------------------------------------------------------
    def do_about(self, name: str, value: str | bool) -> None:
        """Change one thing that is known of the shown photograph."""
        photo = self.panel.shown_photo()
        value = self._value(name, value)
        if getattr(photo, name) == value:
            return
        self._describe(photo, **{name: value})
        told = {"mirrored": wording("Left and right have changed places. Zones still point into the untouched file."),
                "swapped": wording("Dark and light have changed places; the file is as it was.")}
        self.say(told.get(name, wording("Saved.")))

    def do_lamp(self, side: str, height: str = "low") -> None:
        """Note where the lamp stood ("": not known)."""
        photo = self.panel.shown_photo()
        self._checked(side, height)
        self._describe(photo, light_direction=lamps.direction(side, height, self.panel.showing.flip(photo)))
        self.say(wording(
            "Saved. From three or more photographs with known lamps, unmoved, the surface can be worked out.")
                 if side else wording("Saved: it is not known where the lamp stood."))

    def do_sphere(self, points: list[list[float]]) -> None:
        """Read where the lamp stood from a shiny sphere: two points at opposite ends of its outline."""
        from readaid.photo.lights import from_sphere

        photo = self.panel.shown_photo()
        if len(points) != 2:
            raise OptionError("The sphere needs two points", cure="click its left and its right edge")
        (ax, ay), (bx, by) = self.panel.showing.turned_points(points, photo)
        radius = ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5 / 2
        middle = (ax + bx) / 2, (ay + by) / 2
        pixels = self.panel.desk.piece.pyramid(photo).level(0)
        self._describe(photo, light_direction=from_sphere(pixels, middle, radius))
        stands = lamps.words(self.panel.shown_photo(), self.panel.showing.flip(photo))
        self.say(wording("By the sphere the lamp stood at the {0}, {1}.", stands['side'], stands['height']))

    # --- several at once ------------------------------------------------------------------------
    def do_batch(self, photos: list[str], surface: str | None = None, sides: dict[str, str] | None = None,
                 height: str = "low") -> None:
        """Say of several photographs which surface they show, and at which side the lamp of each stood: one gesture."""
        before = self.panel.desk.contents
        known = {p.id: p for p in before.photos}
        changed = []
        for photo in (known[i] for i in dict.fromkeys([*photos, *(sides or {})]) if i in known):
            fields: dict[str, Any] = {}
            if surface is not None and photo.id in photos:
                fields["surface"] = surface.strip()
            if sides and photo.id in sides:
                self._checked(sides[photo.id], height)
                fields["light_direction"] = lamps.direction(sides[photo.id], height, photo.mirrored)
            made = dataclasses.replace(photo, **fields)
            if made != photo:
                changed.append(made)
        if not changed:
            self.say(wording("That is known already."))
            return
        self.panel.desk.gesture(wording("photographs described"),
                                lambda: self.panel.desk.piece.save(*changed, reason="photos described", base=before))
        self.say(plural(len(changed), "Saved for {0} photograph.", "Saved for {0} photographs."))

    # --- inside ---------------------------------------------------------------------------------
    @staticmethod
    def _checked(side: str, height: str) -> None:
        if side and side not in lamps.SIDES:
            raise unknown_option("side of the lamp", side, lamps.SIDES)
        if height not in lamps.HEIGHTS:
            raise unknown_option("height of the lamp", height, lamps.HEIGHTS)

    @staticmethod
    def _value(name: str, value: Any) -> Any:
        if name not in _FIELDS:
            raise unknown_option("photo field", name, _FIELDS)
        if name == "evidence":
            return Evidence(value)
        return bool(value) if name in ("mirrored", "swapped") else str(value).strip()

    def _describe(self, photo: Photo, **fields: Any) -> None:
        self.panel.desk.gesture(wording("photograph described"),
                                lambda: self.panel.desk.piece.change(photo, reason="photo described", **fields))
