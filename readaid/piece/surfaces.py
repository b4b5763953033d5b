"""Photos of one surface: laid over each other so that zones hold in all of them, and pictures computed from them.

Conventions: full-size pixels. ``Photo.to_reference`` takes a photo's pixels to those of the photo named by
``reference``, which may itself be laid over a third (see ``ways``). A computed picture (relief, squared up, a column
straightened; see ``renditions``) points by ``to_reference`` or ``bend`` into the untouched photo. A zone drawn on a
computed picture is kept on the untouched photo.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from readaid.core.errors import PhotoError, ZoneError
from readaid.core.photo import Evidence, Photo, Point, Zone
from readaid.piece import ways
from readaid.piece.renditions import Computed, Pictures, Step
from readaid.piece.ways import Matrix, moved

if TYPE_CHECKING:
    from readaid.piece.holding import Holding

__all__ = ["LEAST_SHOWN", "Computed", "Step", "Surfaces", "moved"]

#: Where a zone's outline shows less of itself than this on another photo, it is not shown there.
LEAST_SHOWN = 0.5
#: Longest side at which photos are compared (see ``photo.alignment``).
ALIGNED = 1400
_TAKEN_OFF = (Evidence.RUBBING, Evidence.TRACING, Evidence.SCAN)


class Surfaces:
    """What the photos of one opened piece have to do with each other."""

    def __init__(self, piece: Holding) -> None:
        self._piece = piece
        self._pictures = Pictures(piece)

    # -- laying over ---------------------------------------------------------------------------------
    def align(self, photo: Photo | str, reference: Photo | str) -> Photo:
        """Lay ``photo`` over ``reference``: its zones then hold there, and the other way round (one revision).

        Raises PhotoError where the two are one photo, of surfaces named differently, the reference already lies over
        this one, or they do not fit (see :func:`readaid.photo.alignment.align`).
        """
        return self.keep_alignment(self.find_alignment(photo, reference))

    def find_alignment(self, photo: Photo | str, reference: Photo | str) -> Photo:
        """As :meth:`align`, nothing saved: the photo's record as it would be.

        A rubbing, tracing or catalogue scan is also tried mirrored and with dark and light exchanged; the record says
        how it fits best.
        """
        mine, base = self._photo(photo), self._photo(reference)
        if mine.evidence is Evidence.COMPUTED:
            raise PhotoError("A computed picture lies over its photo already", mine.title,
                             "lay the photo itself over another one")
        if mine.surface and base.surface and mine.surface != base.surface:  # plate and card alike would pass for one
            raise PhotoError("The photos are of different surfaces", f"{mine.surface}, {base.surface}",
                             "correct the surface in the list of photographs")
        if any(p.id == mine.id for p in ways.chain(base, self._known())):
            raise PhotoError("The photo cannot be laid over itself" if mine.id == base.id else
                             "The other photo already lies over this one", mine.title or mine.file,
                             "choose another photo of the same surface")
        tries = [mine]
        if mine.evidence in _TAKEN_OFF:
            tries += [dataclasses.replace(mine, mirrored=m, swapped=s) for m in (False, True) for s in (False, True)
                      if (m, s) != (mine.mirrored, mine.swapped)]
        best: tuple[float, Photo] | None = None
        refused: PhotoError | None = None
        for turn in tries:  # all of them: the outline of a plate fits its mirror image too, the writing does not
            try:
                quality, matrix = self._fitted(turn, base)
            except PhotoError as error:
                refused = refused or error
                continue
            # The photo as it is marked comes first and wins unless another way fits clearly better.
            if best is None or quality > best[0] + 0.02:
                best = quality, dataclasses.replace(turn, to_reference=matrix, reference=base.id)
        if best is None:
            assert refused is not None
            raise refused
        return best[1]

    def _fitted(self, mine: Photo, base: Photo) -> tuple[float, tuple[float, ...]]:
        """How well a photo, read as it is marked, lies on another, and by which homography."""
        from readaid.photo.alignment import align
        from readaid.photo.raster import eight_bit, fitted

        def pixels(photo: Photo) -> tuple[Any, float]:
            pyramid = self._piece.pyramid(photo)
            small, factor = fitted(pyramid.level(0), 2 * ALIGNED)  # the whole of 60 MP in grey floats takes 240 MB
            return eight_bit(small, pyramid.white), factor

        (below, f), (above, g) = pixels(base), pixels(mine)
        if mine.swapped != base.swapped:
            above = 255 - above
        flip = np.eye(3)
        if mine.mirrored != base.mirrored:
            above = np.ascontiguousarray(above[:, ::-1])
            flip = np.array([[-1.0, 0, above.shape[1]], [0, 1, 0], [0, 0, 1]])
        fit = align(below, above)
        found = np.diag([1 / f, 1 / f, 1]) @ fit.matrix @ flip @ np.diag([g, g, 1])
        return fit.quality, tuple(float(v) for v in (found / found[2, 2]).ravel())

    def keep_alignment(self, found: Photo) -> Photo:
        """Save what :meth:`find_alignment` found."""
        base = self._photo(found.reference or "")
        return self._piece.change(self._photo(found.id), reason=f"laid over {base.title or base.file}",
                                  to_reference=found.to_reference, reference=found.reference, mirrored=found.mirrored,
                                  swapped=found.swapped)

    def release(self, photo: Photo | str) -> Photo:
        """Take an alignment back, where it turned out wrong."""
        return self._piece.change(self._photo(photo), reason="no longer laid over another photo", to_reference=None,
                                  reference=None)

    # -- zones in all photos -------------------------------------------------------------------------
    def mapping(self, source: Photo | str, target: Photo | str) -> Matrix | None:
        """Homography (3, 3) from pixels of ``source`` to pixels of ``target``; None where neither lies over the other,
        nor both over a third, or where a bend lies between them (then only :meth:`carried` helps)."""
        return ways.matrix(self._photo(source), self._photo(target), self._known())

    def carried(self, outline: Sequence[Point], source: Photo | str, target: Photo | str) -> tuple[Point, ...] | None:
        """An outline on ``source`` as it lies on ``target``, through bends as well; None where it has no place there.

        A side that a bend makes round gets points between its ends.
        """
        return ways.carried(outline, self._photo(source), self._photo(target), self._known())

    def together(self, one: Photo | str, other: Photo | str) -> bool:
        """Whether zones of one photo hold on the other: one lies over the other, or both over a third."""
        known = self._known()
        mine = {p.id for p in ways.chain(self._photo(one), known)}
        return any(p.id in mine for p in ways.chain(self._photo(other), known))

    def zone_on(self, zone: Zone | str, photo: Photo | str) -> Zone | None:
        """The same zone (same id) as it lies on another photo of the surface, cut off at the edge; nothing is saved.

        None where the photos are not laid over each other, or less than half of the zone lies inside the photo.
        """
        record = self._piece.find(Zone, zone) if isinstance(zone, str) else zone
        return self._shown(record, self._photo(photo), self._known())

    def zones_on(self, photo: Photo | str) -> list[Zone]:
        """All zones that can be shown on a photo: its own and those of the photos it is laid with."""
        target, known = self._photo(photo), self._known()
        over = {p.id for p in ways.chain(target, known)}
        near = {p.id for p in known.values() if any(q.id in over for q in ways.chain(p, known))}
        zones = self._piece.contents.zones
        if near <= {target.id}:  # nothing lies over it: its zones are as they were drawn
            return [z for z in zones if z.photo == target.id]
        found = [self._shown(z, target, known) for z in zones if z.photo in near]
        return [z for z in found if z is not None]

    @staticmethod
    def _shown(record: Zone, target: Photo, known: dict[str, Photo]) -> Zone | None:
        if record.photo == target.id:
            return record
        home = known.get(record.photo)
        points = None if home is None else ways.carried(record.outline, home, target, known)
        if points is None:
            return None
        inside = tuple((min(max(x, 0.0), float(target.width)), min(max(y, 0.0), float(target.height)))
                       for x, y in points)
        whole, shown = Zone(target.id, points).box, Zone(target.id, inside).box
        # A strip of a sign at the edge would be tagged there as if it were the sign.
        if shown[2] * shown[3] < LEAST_SHOWN * whole[2] * whole[3] or min(shown[2:]) < 1:
            return None
        return dataclasses.replace(record, photo=target.id, outline=inside)

    def untouched(self, photo: Photo, outline: Sequence[Point]) -> tuple[Photo, tuple[Point, ...]]:
        """The untouched photo behind a computed picture, and the outline there; a photo as taken gives itself.

        Raises ZoneError where the outline has no place on the photo.
        """
        # A relief may have been squared up, and that laid straight: down to the picture that a camera took.
        while photo.evidence is Evidence.COMPUTED and photo.reference and (photo.to_reference or photo.bend):
            points = ways.up(photo, outline)
            if points is None:
                raise ZoneError("The zone has no place on the photo behind this picture", photo.title,
                                "draw it nearer to the middle")
            photo, outline = self._photo(photo.reference), points
        return photo, tuple(outline)

    # -- computed pictures ---------------------------------------------------------------------------
    def lit(self, photo: Photo | str) -> list[Photo]:
        """The photos a relief of this one's surface can be made from: plain photographs of it, this one first.

        Where the surface has no name, only those laid over this one count: photos without a name may show anything.
        """
        first = self._photo(photo)
        while first.evidence is Evidence.COMPUTED and first.reference:
            first = self._photo(first.reference)
        return [first] + [p for p in self._piece.contents.photos if p.id != first.id
                          and p.evidence is Evidence.PHOTOGRAPH and p.surface == first.surface
                          and (first.surface or self.mapping(p, first) is not None)]

    def relief(self, photos: Sequence[Photo | str], stroke: float | None = None) -> Photo:
        """Compute the picture that shows cuts and hides colour, and keep it as a photo of the piece.

        Three or more photos under different lights give the surface itself (recorded light directions, else
        four or more to estimate them from); one alone the second best, and its note says so. ``stroke`` is the usual
        width of a cut in pixels of the first photo. Raises PhotoError for two photos, photos that do not lie over each
        other, and lights that do not match.
        """
        return self.keep(self.find_relief(photos, stroke))

    def find_relief(self, photos: Sequence[Photo | str], stroke: float | None = None,
                    step: Step = lambda _words, _share: None, show: str = "cuts") -> Computed:
        """As :meth:`relief`, nothing saved; ``step`` is told the progress and may raise to stop.

        ``show`` is "cuts" (cuts dark, colour gone), "shape" (normals, to be lit from anywhere by the view "lamp moved")
        or "tone" (how light the surface itself is, shadows gone); the last two need three lights.
        """
        records = [self._photo(p) for p in photos]
        width = stroke or (self.usual_stroke(records[0]) if records else 0.0)
        return self._pictures.find_relief(records, width, step, show)

    def usual_stroke(self, photo: Photo) -> float:
        """Usual width of a cut in pixels: a fourteenth of the signs' height, else 0.5 mm, else 8."""
        heights = sorted(z.box[3] for z in self.zones_on(photo))
        if heights:
            return heights[len(heights) // 2] / 14
        return 0.5 / photo.scale.mm_per_pixel if photo.scale else 8.0

    def square_up(self, photo: Photo | str, corners: Sequence[Point]) -> Photo:
        """Lay the quadrangle ``corners`` (clockwise from top-left) square; the picture becomes a photo of the piece.

        Raises ZoneError where the corners make no convex quadrangle.
        """
        return self.keep(self.find_square(photo, corners))

    def find_square(self, photo: Photo | str, corners: Sequence[Point]) -> Computed:
        """As :meth:`square_up`, nothing saved."""
        return self._pictures.find_square(self._photo(photo), corners)

    def straighten(self, photo: Photo | str, line: Sequence[Point], width: float | None = None) -> Photo:
        """Lay a curved column straight; the picture becomes a photo of the piece, zones drawn on it go to ``photo``.

        ``line`` runs down the middle of the column (two or more points, top to bottom), ``width`` is how much to take
        across it in pixels; left out, twice the usual width of a zone there, else a sixth of the line's length.
        Raises ZoneError for a line without length or outside the photo.
        """
        return self.keep(self.find_straight(photo, line, width))

    def find_straight(self, photo: Photo | str, line: Sequence[Point], width: float | None = None) -> Computed:
        """As :meth:`straighten`, nothing saved."""
        record = self._photo(photo)
        return self._pictures.find_straight(record, line, width or self.usual_across(record, line))

    def usual_across(self, photo: Photo, line: Sequence[Point]) -> float:
        """How much to take across a column where nobody has said it: see :meth:`straighten`."""
        widths = sorted(z.box[2] for z in self.zones_on(photo))
        points = np.asarray(line, float).reshape(-1, 2)
        length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum()) if len(points) > 1 else 0.0
        return max(8.0, 2.0 * widths[len(widths) // 2] if widths else length / 6)

    def keep(self, made: Computed) -> Photo:
        """Write a computed picture into ``photos/`` and its record into the register, in one gesture."""
        return self._pictures.keep(made)

    # -- inside --------------------------------------------------------------------------------------
    def _photo(self, photo: Photo | str) -> Photo:
        record = photo if isinstance(photo, str) else photo.id
        known = next((p for p in self._piece.contents.photos if p.id == record), None)
        return known or self._piece.find(Photo, record)  # which says that there is none

    def _known(self) -> dict[str, Photo]:
        return {p.id: p for p in self._piece.contents.photos}
