"""Photos of one surface: laid over each other so that zones hold in all of them, and pictures computed from them.

Conventions: full-size pixels. ``Photo.to_reference`` takes a photo's pixels to those of the photo named by
``reference``, which may itself be laid over a third. A computed picture (relief, squared up) is a PNG in ``photos/``
whose name begins with "computed-"; its record has the evidence ``COMPUTED``, names its sources in ``note`` and
points by ``to_reference`` into the untouched photo. A zone drawn on a computed picture is kept on the untouched photo.
"""

from __future__ import annotations

import dataclasses
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from readaid.core.contents import Record
from readaid.core.errors import PhotoError, ReadaidError, ZoneError
from readaid.core.photo import Evidence, Photo, Point, Scale, Zone
from readaid.piece import folder as places

if TYPE_CHECKING:
    from readaid.piece.opened import OpenPiece

Matrix = NDArray[np.float64]
#: Told between the steps of long work: what is done now and the share done; it may raise to stop the work.
Step = Callable[[str, float], None]
#: A relief is computed on at most this many pixels: eight lights then take about 1 GB.
MOST_PIXELS = 6_000_000
#: Where a zone's outline shows less of itself than this on another photo, it is not shown there.
LEAST_SHOWN = 0.5
_SURE = 1e-3  # a matrix nearer to the identity than this moves no pixel


@dataclasses.dataclass(frozen=True)
class Computed:
    """A picture computed and not yet kept: pixels (H, W, 3) uint8, the homography (9 numbers, row-major) to ``source``,
    its words, and the photos that were laid over ``source`` on the way."""

    pixels: NDArray[np.uint8]
    to_source: tuple[float, ...]
    source: Photo
    name: str
    title: str
    light: str
    note: str
    aligned: tuple[Photo, ...] = ()


class Surfaces:
    """What the photos of one opened piece have to do with each other."""

    def __init__(self, piece: OpenPiece) -> None:
        self._piece = piece

    # -- laying over ---------------------------------------------------------------------------------
    def align(self, photo: Photo | str, reference: Photo | str) -> Photo:
        """Lay ``photo`` over ``reference``: its zones then hold there, and the other way round (one revision).

        Raises PhotoError where the two are one photo, of surfaces named differently, the reference already lies over
        this one, or they do not fit (see :func:`readaid.photo.align.align`).
        """
        return self.keep_alignment(self.find_alignment(photo, reference))

    def find_alignment(self, photo: Photo | str, reference: Photo | str) -> Photo:
        """As :meth:`align`, nothing saved: the photo's record as it would be."""
        from readaid.photo.align import align
        from readaid.photo.file import load

        mine, base = self._photo(photo), self._photo(reference)
        if mine.evidence is Evidence.COMPUTED:
            raise PhotoError("A computed picture lies over its photo already", mine.title,
                             "lay the photo itself over another one")
        if mine.surface and base.surface and mine.surface != base.surface:  # plate and card alike would pass for one
            raise PhotoError("The photos are of different surfaces", f"{mine.surface}, {base.surface}",
                             "correct the surface in the list of photographs")
        if mine.id in self._chain(base):
            raise PhotoError("The photo cannot be laid over itself" if mine.id == base.id else
                             "The other photo already lies over this one", mine.title or mine.file,
                             "choose another photo of the same surface")
        found = align(load(self._piece.path(base)), load(self._piece.path(mine)))
        return dataclasses.replace(mine, to_reference=found.values, reference=base.id)

    def keep_alignment(self, found: Photo) -> Photo:
        """Save what :meth:`find_alignment` found."""
        base = self._photo(found.reference or "")
        return self._piece.change(self._photo(found.id), reason=f"laid over {base.title or base.file}",
                                  to_reference=found.to_reference, reference=found.reference)

    def release(self, photo: Photo | str) -> Photo:
        """Take an alignment back, where it turned out wrong."""
        return self._piece.change(self._photo(photo), reason="no longer laid over another photo", to_reference=None,
                                  reference=None)

    # -- zones in all photos -------------------------------------------------------------------------
    def mapping(self, source: Photo | str, target: Photo | str) -> Matrix | None:
        """Homography (3, 3) from pixels of ``source`` to pixels of ``target``; None where neither lies over the other,
        nor both over a third."""
        mine, theirs = self._chain(self._photo(source)), self._chain(self._photo(target))
        common = next((p for p in mine if p in theirs), None)
        if common is None:
            return None
        matrix = np.linalg.inv(theirs[common]) @ mine[common]
        return np.asarray(matrix / matrix[2, 2], np.float64)

    def zone_on(self, zone: Zone | str, photo: Photo | str) -> Zone | None:
        """The same zone (same id) as it lies on another photo of the surface, cut off at the edge; nothing is saved.

        None where the photos are not laid over each other, or less than half of the zone lies inside the photo.
        """
        record = self._piece.find(Zone, zone) if isinstance(zone, str) else zone
        target = self._photo(photo)
        return self._shown(record, target, self.mapping(record.photo, target))

    def zones_on(self, photo: Photo | str) -> list[Zone]:
        """All zones that can be shown on a photo: its own and those of the photos it is laid with."""
        target, zones = self._photo(photo), self._piece.contents.zones
        matrices = {p: self.mapping(p, target) for p in {z.photo for z in zones}}
        return [z for z in (self._shown(z, target, matrices[z.photo]) for z in zones) if z is not None]

    @staticmethod
    def _shown(record: Zone, target: Photo, matrix: Matrix | None) -> Zone | None:
        if record.photo == target.id:
            return record
        points = None if matrix is None else moved(matrix, record.outline)
        if points is None:
            return None
        inside = tuple((min(max(x, 0.0), float(target.width)), min(max(y, 0.0), float(target.height)))
                       for x, y in points)
        whole, shown = Zone(target.id, points).box, Zone(target.id, inside).box
        if shown[2] * shown[3] < LEAST_SHOWN * whole[2] * whole[3] or min(shown[2:]) < 1:
            return None
        return dataclasses.replace(record, photo=target.id, outline=inside)

    def untouched(self, photo: Photo, outline: Sequence[Point]) -> tuple[Photo, tuple[Point, ...]]:
        """The untouched photo behind a computed picture, and the outline there; a photo as taken gives itself.

        Raises ZoneError where the outline has no place on the photo.
        """
        while photo.evidence is Evidence.COMPUTED and photo.reference and photo.to_reference:
            points = moved(_matrix(photo.to_reference), outline)
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
                    step: Step = lambda _words, _share: None) -> Computed:
        """As :meth:`relief`, nothing saved; ``step`` is told the progress and may raise to stop."""
        from readaid.photo import relief
        from readaid.photo.lights import estimated

        records = list({p.id: p for p in map(self._photo, photos)}.values())
        if not records or len(records) == 2:
            raise PhotoError("The surface shape needs photos under three lights at least", f"{len(records)} given",
                             "take four or more with the lamp low at each side, camera and piece unmoved, or choose "
                             "one photo alone for the second best")
        first = records[0]
        width = stroke or self._stroke(first)
        if len(records) == 1:
            step("Looking for lines in one photo", 0.1)
            pixels, factor = self._pixels(first)
            best = relief.single(pixels, first.light_direction, max(1.5, width * factor))
            return Computed(best.picture, _shrunk(factor), first, "lines", f"Lines in {_title(first)}",
                            "computed from one photo", f"computed from {first.file}. {best.note}")
        stack, aligned, there, factor = self._stack(records, step)
        recorded = [p.light_direction for p in records]
        if all(d is not None for d in recorded):
            lights: Any = recorded
            told = "light directions as recorded"
        else:
            step("Estimating the lights", 0.45)
            guess = estimated(stack)
            lights, told = guess.lights, f"light directions estimated ({guess.note})"
        step("Working out the surface", 0.5)
        found = relief.solve(stack, lights)
        step("Drawing the cuts", 0.9)
        picture = relief.cuts(found.normals, max(1.5, width * factor), strength=2.0)  # the plate's edge takes half
        picture[~there] = 128
        note = f"computed from {', '.join(p.file for p in records)}; {told}. {found.note}".strip()
        if factor < 1:
            note += f" Computed at {factor:.0%} of the photo's size."
        return Computed(picture, _shrunk(factor), first, "relief", f"Relief of {first.surface or _title(first)}",
                        f"relief from {len(records)} lights", note, tuple(aligned))

    def square_up(self, photo: Photo | str, corners: Sequence[Point]) -> Photo:
        """Lay the quadrangle ``corners`` (clockwise from top-left) square; the picture becomes a photo of the piece.

        Raises ZoneError where the corners make no convex quadrangle.
        """
        return self.keep(self.find_square(photo, corners))

    def find_square(self, photo: Photo | str, corners: Sequence[Point]) -> Computed:
        """As :meth:`square_up`, nothing saved."""
        from readaid.photo.file import load
        from readaid.photo.raster import eight_bit, white_point
        from readaid.photo.rectify import perspective

        record = self._photo(photo)
        whole = load(self._piece.path(record))
        pixels, plane = perspective(eight_bit(whole, white_point(whole)), corners)
        told = ", ".join(f"({x:.0f}, {y:.0f})" for x, y in corners)
        return Computed(np.asarray(pixels, np.uint8), tuple(float(v) for v in plane.matrix.ravel()), record, "square",
                        f"{_title(record)}, squared up", f"{record.light}, squared up".strip(", "),
                        f"computed from {record.file}; corners {told}")

    def keep(self, made: Computed) -> Photo:
        """Write a computed picture into ``photos/`` and its record into the register, in one gesture."""
        from PIL import Image

        from readaid.photo.file import describe

        with tempfile.TemporaryDirectory(prefix="readaid-") as place:
            path = Path(place) / f"computed-{made.name}-{Path(made.source.file).stem}.png"
            Image.fromarray(made.pixels).save(path)
            facts = describe(path)
            same = next((p for p in self._piece.contents.photos if p.sha256 == facts.sha256), None)
            if same is not None:
                return same
            file = places.take_in(path, self._piece.folder, facts.sha256)
        source = made.source
        photo = Photo(file, facts.sha256, facts.width, facts.height, title=made.title, surface=source.surface,
                      light=made.light, evidence=Evidence.COMPUTED, scale=_scale(source.scale, made.to_source),
                      to_reference=made.to_source, reference=source.id, rights=source.rights, note=made.note)
        self._piece.save(photo, *_unchanged(self._piece, made.aligned), reason=f"{made.name} computed")
        return photo

    # -- inside --------------------------------------------------------------------------------------
    def _photo(self, photo: Photo | str) -> Photo:
        record = photo if isinstance(photo, str) else photo.id
        known = next((p for p in self._piece.contents.photos if p.id == record), None)
        return known or self._piece.find(Photo, record)  # which says that there is none

    def _chain(self, photo: Photo) -> dict[str, Matrix]:
        """Every photo this one lies over, itself first, with the homography to it."""
        by_id = {p.id: p for p in self._piece.contents.photos}
        found: dict[str, Matrix] = {photo.id: np.eye(3)}
        matrix, at = np.eye(3), photo
        while at.reference and at.to_reference and at.reference in by_id and at.reference not in found:
            matrix = _matrix(at.to_reference) @ matrix
            at = by_id[at.reference]
            found[at.id] = matrix
        return found

    def _stroke(self, photo: Photo) -> float:
        """Usual width of a cut in pixels: a fourteenth of the signs' height, else 0.5 mm, else 8."""
        heights = sorted(z.box[3] for z in self.zones_on(photo))
        if heights:
            return heights[len(heights) // 2] / 14
        return 0.5 / photo.scale.mm_per_pixel if photo.scale else 8.0

    def _pixels(self, photo: Photo) -> tuple[Any, float]:
        from readaid.photo.file import load
        from readaid.photo.raster import fitted

        longest = max(photo.width, photo.height)
        most = (MOST_PIXELS * longest / min(photo.width, photo.height)) ** 0.5
        return fitted(load(self._piece.path(photo)), max(1, int(min(longest, most))))

    def _stack(self, records: list[Photo], step: Step) -> tuple[list[Any], list[Photo], NDArray[np.bool_], float]:
        """Photos as the first one sees them, those newly laid over it, where all of them reach, the scale factor."""
        from readaid.photo.align import align
        from readaid.photo.rectify import Plane, sampled

        first = records[0]
        base, factor = self._pixels(first)
        height, width = base.shape[:2]
        stack, aligned, there = [base], [], np.ones((height, width), bool)
        for n, record in enumerate(records[1:], start=1):
            step(f"Laying photo {n + 1} of {len(records)} over the first", 0.4 * n / len(records))
            pixels, mine = self._pixels(record)
            matrix = self.mapping(record, first)
            if matrix is None:
                try:
                    found = align(base, pixels)
                except PhotoError as error:
                    raise PhotoError(f"{_title(record)} cannot be laid over {_title(first)}", error.where,
                                     error.cure) from error
                matrix = np.diag([1 / factor, 1 / factor, 1]) @ found.matrix @ np.diag([mine, mine, 1])
                if record.reference is None:
                    values = tuple(float(v) for v in (matrix / matrix[2, 2]).ravel())
                    aligned.append(dataclasses.replace(record, to_reference=values, reference=first.id))
            small = np.diag([factor, factor, 1]) @ matrix @ np.diag([1 / mine, 1 / mine, 1])
            if pixels.shape == base.shape and np.abs(small / small[2, 2] - np.eye(3)).max() < _SURE:
                stack.append(pixels)
                continue
            plane = Plane(np.asarray(np.linalg.inv(small), np.float64), (width, height))
            stack.append(sampled(pixels, plane))
            there &= np.asarray(sampled(np.zeros(pixels.shape[:2], np.uint8), plane)) < 128
        return stack, aligned, there, factor


def moved(matrix: Matrix, outline: Sequence[Point]) -> tuple[Point, ...] | None:
    """Points through a homography; None where one of them lies beyond the horizon.

    >>> moved(np.diag([2.0, 2.0, 1.0]), [(1, 2)])
    ((2.0, 4.0),)
    """
    points = np.c_[np.asarray(outline, float), np.ones(len(outline))] @ matrix.T
    if (points[:, 2] <= 1e-9).any():
        return None
    return tuple((float(x), float(y)) for x, y in points[:, :2] / points[:, 2:])


def _matrix(values: Sequence[float]) -> Matrix:
    return np.asarray(values, np.float64).reshape(3, 3)


def _shrunk(factor: float) -> tuple[float, ...]:
    return (1 / factor, 0.0, 0.0, 0.0, 1 / factor, 0.0, 0.0, 0.0, 1.0)


def _scale(scale: Scale | None, to_source: tuple[float, ...]) -> Scale | None:
    """The source's scale as the computed picture shows it; none where its ends lie beyond the horizon."""
    from readaid.photo.scale import carried

    if scale is None or moved(np.asarray(np.linalg.inv(_matrix(to_source)), np.float64), [scale.a, scale.b]) is None:
        return None
    try:
        return carried(scale, to_source, back=True)
    except ReadaidError:
        return None


def _unchanged(piece: OpenPiece, aligned: Sequence[Photo]) -> list[Record]:
    """Alignments found on the way, for the photos that nobody has laid over another one meanwhile."""
    now = {p.id: p for p in piece.contents.photos}
    return [dataclasses.replace(now[p.id], to_reference=p.to_reference, reference=p.reference) for p in aligned
            if p.id in now and now[p.id].reference is None]


def _title(photo: Photo) -> str:
    return photo.title or Path(photo.file).stem
