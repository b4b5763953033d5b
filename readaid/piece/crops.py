"""Crops of a sign: from the untouched photo, from another photo of the surface, through a view, or from its tracing.

Conventions: pixels are (H, W, 3) uint8. Without a look a crop comes from the photo its zone was drawn on, as taken.
On another photo the zone lies where the alignment puts it; the crop is turned by whole quarters and mirrored back, so
that the sign stands as on its own photo. A *sheet* is laid back altogether: its pixels lie where those of the zone's
own photo do. A tracing is drawn dark on white.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from readaid.core.character import Character
from readaid.core.errors import OptionError, PhotoError, ShapeError, unknown_option
from readaid.core.photo import Photo, Tracing, Zone

if TYPE_CHECKING:
    from readaid.piece.holding import Holding
    from readaid.piece.surfaces import Surfaces

Pixels = NDArray[np.uint8]
#: Margin round a zone, as a share of its longer side, where letters are looked for.
MARGIN = 0.08


@dataclass(frozen=True, slots=True)
class Look:
    """What a crop is taken from: ``photo`` (id, "": the zone's own), ``view`` ("": as photographed), or the tracing."""

    photo: str = ""
    view: str = ""
    tracing: bool = False


#: The untouched photo.
PLAIN = Look()


class Crops:
    """Crops of the signs of one opened piece."""

    def __init__(self, piece: Holding, surfaces: Surfaces) -> None:
        self._piece = piece
        self._surfaces = surfaces
        self._known: tuple[int, dict[tuple[Zone, bool], list[Photo]]] = (-1, {})  # of one revision of the register

    def zone(self, character: Character) -> Zone:
        """The character's first zone. Raises OptionError if it has none."""
        if not character.zones:
            raise OptionError("This character has no zone", character.id, "draw a zone round it first")
        return self._piece.find(Zone, character.zones[0])

    def photos(self, zone: Zone, flat: bool = False) -> list[Photo]:
        """The photos on which a zone can be seen, the one it was drawn on first; ``flat``: those without a bend
        between, which can lie under a tracing."""
        surfaces, contents = self._surfaces, self._piece.contents
        # Which photos show a zone is asked for every sign at every gesture; it changes with the register only.
        if self._known[0] != contents.revision:
            self._known = (contents.revision, {})
        found = self._known[1].get((zone, flat))
        if found is None:
            others = [p for p in contents.photos if p.id != zone.photo and surfaces.zone_on(zone, p) is not None]
            if flat:
                others = [p for p in others if surfaces.mapping(zone.photo, p) is not None]
            found = [p for p in contents.photos if p.id == zone.photo] + others
            self._known[1][zone, flat] = found
        return list(found)

    def tracing(self, zone: Zone | str) -> Tracing | None:
        """The tracing kept for a zone: the reader's before one proposed by the computer; None without one."""
        id = zone if isinstance(zone, str) else zone.id
        kept = sorted((t for t in self._piece.contents.tracings if t.zone == id), key=lambda t: t.by != "reader")
        return kept[0] if kept else None

    def pixels(self, zone: Zone | Sequence[Zone], look: Look = PLAIN, margin: float = MARGIN) -> Pixels:
        """The crop of a zone (or of several of one photo together) as ``look`` says.

        Raises PhotoError where the zone does not show on that photo, ShapeError where no tracing is kept.
        """
        zones = [zone] if isinstance(zone, Zone) else list(zone)
        if look.tracing:
            kept = self.tracing(zones[0])
            if kept is None:
                raise ShapeError("No tracing of this sign is kept", cure="trace it and keep the tracing first")
            from readaid.forms.tracing_picture import drawn

            return np.repeat(drawn(kept.strokes)[:, :, None], 3, axis=2)
        photo, first = self._on(zones[0], look)
        rest = [self._surfaces.zone_on(z, photo) for z in zones[1:]]
        x, y, width, height = Zone(photo.id, tuple(p for z in (first, *rest) if z for p in z.outline)).box
        if look.view and _mirrors(look.view):
            x = photo.width - x - width
        pixels = self._piece.pyramid(photo).crop((x, y, width, height), margin, **self.view(photo, look.view))
        matrix = None if photo.id == zones[0].photo else self._surfaces.mapping(zones[0].photo, photo)
        if matrix is not None:
            pixels = upright(pixels, matrix)
        home = photo if matrix is None else self._piece.find(Photo, zones[0].photo)
        return np.ascontiguousarray(pixels[:, ::-1]) if home.mirrored else pixels  # as it is read, not as it was taken

    def sheet(self, zone: Zone, look: Look = PLAIN, margin: float = MARGIN) -> Pixels:
        """As :meth:`pixels`, turned and stretched back so that it lies over the crop of the untouched photo."""
        from readaid.photo.file import window
        from readaid.photo.rectify import Plane, sampled
        from readaid.piece.ways import moved

        photo, _ = self._on(zone, look)
        if look.view and _mirrors(look.view):
            raise OptionError("A mirrored view cannot lie under a tracing", look.view, "choose another view")
        options, pyramid = self.view(photo, look.view), self._piece.pyramid(photo)
        if photo.id == zone.photo:
            return pyramid.crop(zone.box, margin, **options)
        home = self._piece.find(Photo, zone.photo)
        left, top, right, bottom = window((home.width, home.height), zone.box, margin)
        matrix = self._surfaces.mapping(home, photo)
        around = [(left, top), (right, top), (right, bottom), (left, bottom)]
        corners = None if matrix is None else moved(matrix, around)
        if matrix is None or corners is None:
            raise PhotoError("The zone does not show on that photo", photo.title or photo.file, "choose another photo")
        xs, ys = [p[0] for p in corners], [p[1] for p in corners]
        # Two pixels more on each side for the cubic that samples between them.
        box = (min(xs) - 2, min(ys) - 2, max(xs) - min(xs) + 4, max(ys) - min(ys) + 4)
        x, y, _, _ = window((photo.width, photo.height), box)
        there, here = np.eye(3), np.eye(3)
        there[:2, 2], here[:2, 2] = (-x, -y), (left, top)
        plane = Plane(np.asarray(there @ matrix @ here, np.float64), (right - left, bottom - top))
        return np.asarray(sampled(pyramid.crop(box, **options), plane), np.uint8)

    def view(self, photo: Photo, view: str) -> dict[str, Any]:
        """Options of ``Pyramid.crop`` for a view, its sliders as they were last set on that photo."""
        from readaid.photo.views import EVERY, SURFACE_VIEWS
        from readaid.piece.renditions import is_shape

        if not view and is_shape(photo):  # a picture of normals is for no eye: the lamp as it was last moved
            view = next(iter(SURFACE_VIEWS))
        if not view:
            return {}
        if view not in EVERY:
            raise unknown_option("view", view, EVERY)
        kept = [v for v in self._piece.contents.views if v.photo == photo.id and v.view == view]
        values: Mapping[str, float] = dict(kept[-1].values) if kept else {}
        return {"view": view, "values": values, "mm_per_pixel": photo.scale.mm_per_pixel if photo.scale else None}

    def words(self, zone: Zone, look: Look) -> str:
        """What was looked at, for the register: "" for the untouched photo."""
        if look.tracing:
            kept = self.tracing(zone)
            return "the tracing" if kept is None or kept.by == "reader" else "the tracing proposed by computer"
        photo = self._piece.find(Photo, look.photo or zone.photo)
        title = photo.title or Path(photo.file).stem
        if look.view:
            return f"{title}, view {look.view}"
        return "" if photo.id == zone.photo else title

    def check(self, zone: Zone, look: Look) -> None:
        """Raise PhotoError where the zone does not show on the photo looked at, OptionError for an unknown view."""
        self.view(self._on(zone, look)[0], look.view)

    def _on(self, zone: Zone, look: Look) -> tuple[Photo, Zone]:
        photo = self._piece.find(Photo, look.photo or zone.photo)
        shown = self._surfaces.zone_on(zone, photo)
        if shown is None:
            raise PhotoError("The zone does not show on that photo", photo.title or photo.file, "choose another photo")
        return photo, shown


def upright(pixels: Pixels, matrix: NDArray[np.float64]) -> Pixels:
    """A crop of another photo, mirrored back and turned by quarters so that it stands as on the photo which ``matrix``
    leads from.

    >>> page = np.zeros((2, 3, 3), np.uint8); page[0, 0] = 255
    >>> quarter = np.array([[0, -1, 2], [1, 0, 0], [0, 0, 1.0]])     # turned clockwise
    >>> bool((upright(np.rot90(page, -1), quarter) == page).all())
    True
    """
    (a, b), (c, d) = matrix[:2, :2]
    # A negative determinant turns left and right round: a rubbing, or a photo through a mirror.
    if a * d - b * c < 0:
        pixels, a = pixels[:, ::-1], -a
    return np.ascontiguousarray(np.rot90(pixels, round(float(np.arctan2(c, a)) / (np.pi / 2))))


def _mirrors(view: str) -> bool:
    from readaid.photo.views import VIEWS

    return view in VIEWS and VIEWS[view].mirrors
