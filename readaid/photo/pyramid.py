"""The photo as an overview and tiles: what a photo board shows, and crops of zones, from one decode.

Conventions: level z is the photo reduced by 2**z (sizes rounded up); tile (z, x, y) covers TILE x TILE pixels of that
level, counted from the top-left, smaller at the right and bottom edge. Tiles and overview are JPEG bytes, sRGB.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from readaid.core.errors import PhotoError
from readaid.core.photo import ViewSetting
from readaid.photo import colour_profile, file, views
from readaid.photo.cache import CACHE
from readaid.photo.raster import Bytes, Image, eight_bit, fitted, halved, white_point

TILE = 512
OVERVIEW = 1280


class Pyramid:
    """A photo opened for the board. Opening a JPEG costs a decode at reduced size only; the full decode waits for the
    first tile or crop and is shared by all pyramids of the same file (path, size and time of change).

    Attributes: ``width``, ``height`` (pixels after EXIF rotation), ``max_z`` (coarsest level), ``overview`` (JPEG
    bytes, longer side at most 1280 px), ``white`` (below 1 where a dark 16-bit photo is shown brightened). Raises
    PhotoError.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        with file.opened(path) as picture:
            self.bits, turned = file.depth(picture), file.orientation(picture)
            self.width, self.height = file.size(picture)
            stat = self.path.stat()
            # By size and time too: a file that was exchanged must not show its former tiles.
            self._key = (str(self.path.resolve()), stat.st_size, stat.st_mtime_ns)
            self.white = 1.0
            self._wholes: dict[Any, Any] = {}
            if picture.format in ("JPEG", "MPO") and self.bits == 8:
                icc = picture.info.get("icc_profile")
                try:
                    # a JPEG can be decoded at a half, a quarter or an eighth without the whole ever being there
                    picture.draft("RGB", (OVERVIEW, OVERVIEW))
                    small = file.flat(picture)
                    small.thumbnail((OVERVIEW, OVERVIEW))
                except (OSError, SyntaxError, ValueError) as error:
                    raise PhotoError("The photo is damaged or cut off", self.path.name, "copy it again from the camera",
                                     reason=str(error)) from error
                small = colour_profile.to_srgb(small, icc)
                array: Image = file.upright(np.asarray(small.convert("RGB")), turned)
            else:
                array, _ = fitted(self.level(0), OVERVIEW)
                self.white = white_point(array)
        self._small = array
        self.max_z = 0
        # Down to about one tile: what is coarser is shown by the overview.
        while max(self.width, self.height) >> (self.max_z + 1) >= TILE:
            self.max_z += 1
        self.overview = file.jpeg(eight_bit(array, self.white), 80)

    @property
    def overview_pixels(self) -> Bytes:
        """The overview as (height, width, 3) uint8."""
        return eight_bit(self._small, self.white)

    def level(self, z: int) -> Image:
        """All pixels of level z, in the file's own depth; decoded once and kept while the cache has room."""
        if z == 0:
            pixels: Image = CACHE.made((*self._key, "level", 0), self._decoded)
        else:
            pixels = CACHE.made((*self._key, "level", z), lambda: halved(self.level(z - 1)))
        return pixels

    def tile(self, z: int, x: int, y: int, view: ViewSetting | str | None = None,
             values: Mapping[str, float] | None = None, mm_per_pixel: float | None = None) -> bytes:
        """JPEG bytes of one tile, plain or through a view (its name and slider values, or a recorded ViewSetting).

        A view works on the tile and as much round it as it reaches, so that no seams show. ``mm_per_pixel`` is that of
        the full-size photo. Raises PhotoError for a tile that is not there, OptionError for an unknown view or slider.
        """
        name, given = views.setting(view, values)
        if not 0 <= z <= self.max_z:
            raise PhotoError(f"There is no level {z}", self.path.name, f"ask for 0 to {self.max_z}")
        across, down = (math.ceil(math.ceil(side / 2**z) / TILE) for side in (self.width, self.height))
        if not (0 <= x < across and 0 <= y < down):
            raise PhotoError(f"There is no tile ({x}, {y}) at level {z}", self.path.name,
                             f"x runs from 0 to {across - 1}, y from 0 to {down - 1}")
        key = (*self._key, "tile", z, x, y, name, tuple(sorted(given.items())), mm_per_pixel)
        made: bytes = CACHE.made(key, lambda: self._tile(z, x, y, name, given, mm_per_pixel))
        return made

    def viewed(self, view: ViewSetting | str | None = None, values: Mapping[str, float] | None = None,
               mm_per_pixel: float | None = None) -> bytes:
        """The overview through a view, as JPEG bytes."""
        name, given = views.setting(view, values)
        if not name:
            return self.overview
        factor = max(self._small.shape[:2]) / max(self.width, self.height)
        key = (*self._key, "overview", name, tuple(sorted(given.items())), mm_per_pixel)
        made: bytes = CACHE.made(key, lambda: file.jpeg(views.apply(
            name, self.overview_pixels, given, mm_per_pixel and mm_per_pixel / factor, scale=factor), 80))
        return made

    def crop(self, box: tuple[float, float, float, float], margin: float = 0.0, view: ViewSetting | str | None = None,
             values: Mapping[str, float] | None = None, mm_per_pixel: float | None = None) -> Bytes:
        """Full-size pixels of ``box`` as (height, width, 3) uint8, clipped to the photo.

        ``margin`` widens the box on each side by that share of its longer side (0.1 = a tenth). The decoded photo is
        kept in the shared cache, so that the crops of many zones cost one decode. Raises ZoneError for a box without
        area or wholly outside the photo.
        """
        name, given = views.setting(view, values)
        left, top, right, bottom = file.window((self.width, self.height), box, margin)
        if not name:
            return eight_bit(np.ascontiguousarray(self.level(0)[top:bottom, left:right]), self.white)
        return self._viewed(0, left, top, right - left, bottom - top, name, given, mm_per_pixel)

    def close(self) -> None:
        """Let go of everything kept of this photo."""
        CACHE.drop(*self._key)

    def _decoded(self) -> Image:
        # before the decode, not after: for a moment it takes more than twice its pixels
        CACHE.room(self.width * self.height * 3 * (2 if self.bits > 8 else 1))
        return file.load(self.path)

    def _tile(self, z: int, x: int, y: int, name: str, given: Mapping[str, float], mm: float | None) -> bytes:
        level = self.level(z)
        left, top = x * TILE, y * TILE
        width, height = min(TILE, level.shape[1] - left), min(TILE, level.shape[0] - top)
        if not name:
            return file.jpeg(eight_bit(level[top:top + height, left:left + width], self.white))
        return file.jpeg(self._viewed(z, left, top, width, height, name, given, mm))

    def _viewed(self, z: int, left: int, top: int, width: int, height: int, name: str, given: Mapping[str, float],
                mm: float | None) -> Bytes:
        """A part of level z through a view, worked out with its surroundings and against the whole photo."""
        level, scale = self.level(z), 1 / 2**z
        rows, columns = level.shape[:2]
        if views.EVERY[name].mirrors:
            left = columns - left - width
        mm_here = mm and mm * 2**z
        reach = views.reach(name, given, mm_here, scale)
        x0, y0, x1, y1 = (max(0, left - reach), max(0, top - reach),
                          min(columns, left + width + reach), min(rows, top + height + reach))
        part = eight_bit(np.ascontiguousarray(level[y0:y1, x0:x1]), self.white)
        inner = slice(top - y0, top - y0 + height), slice(left - x0, left - x0 + width)
        if views.EVERY[name].mirrors:  # the part comes back mirrored itself
            inner = inner[0], slice(x1 - left - width, x1 - left)
        # what a view must know of the whole photo comes from the overview: found tile by tile it shows as seams
        seen = views.apply(name, part, given, mm_here, scale, whole=self._whole(name, given),
                           frame=(x0 / columns, y0 / rows, x1 / columns, y1 / rows))
        return np.ascontiguousarray(seen[inner])

    def _whole(self, name: str, given: Mapping[str, float]) -> Any:
        """What a view has to know of the whole photo, found once on the overview."""
        key = name, tuple(sorted(given.items()))
        if key not in self._wholes:
            while len(self._wholes) > 8:  # a slider that is dragged makes a new one at each stop
                self._wholes.pop(next(iter(self._wholes)), None)
            factor = max(self._small.shape[:2]) / max(self.width, self.height)
            self._wholes[key] = views.whole(name, self.overview_pixels, given, factor)
        return self._wholes[key]
