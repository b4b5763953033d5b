"""The condition of a piece as it bears on reading: layers, marked regions and the signs they touch, measured strokes.

Conventions: outlines are in full-size pixels of their photo; a region touches the zones of its own photo and those
that lie on it by the alignment of the surface. Lengths in mm; a stroke is measured at the photo's scale, and the error
of the scale is part of its error.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from readaid.core.character import Character
from readaid.core.condition import ADVICE, CAUSES, LAYERS, Layer, Region, StrokeMeasure, touches
from readaid.core.errors import PhotoError, unknown_option
from readaid.core.photo import Evidence, Photo, Point, Zone
from readaid.piece.moment import gesture

if TYPE_CHECKING:
    from readaid.piece.holding import Holding
    from readaid.piece.surfaces import Surfaces


class Survey:
    """Layers, regions and measures of one piece."""

    def __init__(self, piece: Holding, surfaces: Surfaces) -> None:
        self._piece = piece
        self._surfaces = surfaces

    @gesture
    def add_layer(self, kind: str, text: str, surface: str = "", later: bool = False) -> Layer:
        """Write down a layer: ``kind`` one of ``LAYERS``, in the reader's words."""
        if kind not in LAYERS:
            raise unknown_option("layer", kind, LAYERS)
        made = Layer(kind, text, surface, later)
        self._piece.save(made, reason="layer described")
        return made

    @gesture
    def mark(self, photo: Photo | str, outline: Sequence[Point], cause: str = "not known", advice: str = "leave alone",
             note: str = "") -> Region:
        """Mark a region of a photo with its cause and what to do about it."""
        _checked(cause=cause, advice=advice)
        id = photo if isinstance(photo, str) else photo.id
        self._piece.find(Photo, id)
        made = Region(id, tuple((float(x), float(y)) for x, y in outline), cause, advice, note)
        self._piece.save(made, reason="region marked")
        return made

    @gesture
    def change(self, region: Region | str, **fields: Any) -> Region:
        """Change cause, advice or note of a region."""
        _checked(**fields)
        record = self._piece.find(Region, region if isinstance(region, str) else region.id)
        return self._piece.change(record, reason="region described", **fields)

    @gesture
    def remove(self, region: Region | str) -> None:
        """Take a region back; it stays in the history."""
        record = self._piece.find(Region, region if isinstance(region, str) else region.id)
        self._piece.save(withdraw=[record.id], reason="region taken back")

    def touched(self, region: Region) -> list[Character]:
        """The signs whose zones a region touches, also those on other photos of the surface."""
        zones = {z.id for z in self._surfaces.zones_on(region.photo) if touches(z.outline, region.outline)}
        return [c for c in self._piece.contents.characters if zones & set(c.zones)]

    @gesture
    def measure(self, zone: Zone | str, note: str = "") -> StrokeMeasure:
        """Measure the stroke width in a zone at the photo's scale; its depth too, where the surface was computed.

        A new measure takes the place of the zone's former one. Raises PhotoError where the photo has no scale.
        """
        from readaid.photo import stroke_width

        record = self._piece.find(Zone, zone if isinstance(zone, str) else zone.id)
        photo = self._piece.find(Photo, record.photo)
        if photo.scale is None:
            raise PhotoError("The photo has no scale, so nothing on it can be measured", photo.title or photo.file,
                             "mark a known length on it first")
        crop = self._piece.crop(record, 0.05)
        found = stroke_width.measure(crop)
        mm, off = photo.scale.mm_per_pixel, abs(photo.scale.disagreement or 0.0)
        width = found.width * mm
        error = ((found.error * mm) ** 2 + (width * off) ** 2) ** 0.5
        deep = self._depth(record, crop, mm)
        made = StrokeMeasure(record.id, round(width, 4), round(error, 4), found.places, *deep, note=note)
        former = [m for m in self._piece.contents.measures if m.zone == record.id]
        if former:
            made = dataclasses.replace(made, id=former[0].id)
        self._piece.save(made, reason="stroke measured")
        return made

    def _depth(self, zone: Zone, crop: Any, mm: float) -> tuple[float | None, float | None]:
        """Depth and its error from a picture of the surface's normals that lies on the zone's photo; None without."""
        import numpy as np

        from readaid.photo import relief, stroke_width

        for photo in self._piece.contents.photos:
            normals = photo.evidence is Evidence.COMPUTED and "normals" in photo.file
            if normals and photo.reference == zone.photo and (photo.width, photo.height) == self._size(zone.photo):
                held = self._piece.pyramid(photo).crop(zone.box, 0.05).astype(np.float32) / 127.5 - 1.0
                if held.shape[:2] == crop.shape[:2]:
                    deep, error = stroke_width.depth(crop, relief.heights(held, mm))
                    return (round(deep, 4), round(error, 4)) if deep > 0 else (None, None)
        return None, None

    def _size(self, photo: str) -> tuple[int, int]:
        record = self._piece.find(Photo, photo)
        return record.width, record.height


def _checked(**fields: Any) -> None:
    if fields.get("cause", CAUSES[0]) not in CAUSES:
        raise unknown_option("cause", fields["cause"], CAUSES)
    if fields.get("advice", ADVICE[0]) not in ADVICE:
        raise unknown_option("advice", fields["advice"], ADVICE)
