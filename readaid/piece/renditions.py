"""Pictures computed from photos of a piece - relief, squared up, a curved column laid straight - kept as its photos.

Conventions: full-size pixels. A computed picture is a PNG in ``photos/`` whose name begins with "computed-"; its record
has the evidence ``COMPUTED``, names its sources in ``note`` and points into the photo it was made from by
``to_reference`` or ``bend``. What is found is kept nowhere until :meth:`Pictures.keep`.
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
from readaid.core.errors import PhotoError, ReadaidError, ZoneError, unknown_option
from readaid.core.photo import Evidence, Photo, Point, Scale
from readaid.piece import folder as places
from readaid.piece import ways
from readaid.piece.ways import moved, square

if TYPE_CHECKING:
    from readaid.piece.holding import Holding

#: Told between the steps of long work: what is done now and the share done; it may raise to stop the work.
Step = Callable[[str, float], None]
#: A relief is computed on at most this many pixels: eight lights then take about 1 GB.
MOST_PIXELS = 6_000_000
#: A picture squared up or straightened has at most this many pixels: a PNG of 60 MP takes a minute to write.
MOST_SQUARED = 24_000_000
#: Pictures of a surface worked out from several lights: name of the file, words of the title.
SHOWN = {"cuts": ("relief", "Relief"), "shape": ("normals", "Surface shape"), "tone": ("tone", "Tone without shadows")}
_SURE = 1e-3  # a matrix nearer to the identity than this moves no pixel


@dataclasses.dataclass(frozen=True)
class Computed:
    """A picture computed and not yet kept: pixels (H, W, 3) uint8, the homography (9 numbers, row-major) to ``source``
    or the bend (middle line and width there), its words, and the photos that were laid over ``source`` on the way."""

    pixels: NDArray[np.uint8]
    to_source: tuple[float, ...]
    source: Photo
    name: str
    title: str
    light: str
    note: str
    aligned: tuple[Photo, ...] = ()
    bend: tuple[Point, ...] = ()
    bend_width: float = 0.0


class Pictures:
    """Computing pictures for one opened piece."""

    def __init__(self, piece: Holding) -> None:
        self._piece = piece
        self._solved: tuple[Any, Any, Any, Any, float, str, list[Photo]] | None = None  # the last surface: 100 MB

    def find_relief(self, photos: Sequence[Photo], stroke: float,
                    step: Step = lambda _words, _share: None, show: str = "cuts") -> Computed:
        """See :meth:`readaid.piece.surfaces.Surfaces.relief`."""
        from readaid.photo import relief

        if show not in SHOWN:
            raise unknown_option("picture of the surface", show, SHOWN)
        records = list({p.id: p for p in photos}.values())
        if not records or len(records) == 2:
            raise PhotoError("The surface shape needs photos under three lights at least", f"{len(records)} given",
                             "take four or more with the lamp low at each side, camera and piece unmoved, or choose "
                             "one photo alone for the second best")
        first = records[0]
        if show != "cuts" and len(records) < 3:
            raise PhotoError("One photo gives no surface shape", named(first), "take four or more under other lights")
        width = stroke  # of a cut, in pixels of the first photo
        if len(records) == 1:
            step("Looking for lines in one photo", 0.1)
            pixels, factor = self._pixels(first)
            best = relief.single(pixels, first.light_direction, max(1.5, width * factor))
            return Computed(best.picture, _shrunk(factor), first, "lines", f"Lines in {named(first)}",
                            "computed from one photo", f"computed from {first.file}. {best.note}")
        # The surface is worked out once for its three pictures; a lamp corrected since makes it anew.
        key = tuple((p.id, p.light_direction, p.to_reference, p.reference) for p in records)
        if self._solved is None or self._solved[0] != key:
            self._solved = key, *self._shape(records, step)
        _, normals, albedo, there, factor, told, aligned = self._solved
        step("Drawing the picture", 0.9)
        if show == "cuts":
            picture = relief.cuts(normals, max(1.5, width * factor), strength=2.0)  # the plate's edge takes half
            picture[~there] = 128
        elif show == "shape":
            picture = relief.colours(normals)
            picture[~there] = (128, 128, 255)
        else:
            # Not by the very brightest pixel: a spark on the metal would leave the rest black.
            level = np.clip(albedo / (float(np.percentile(albedo[there], 99.5)) + 1e-6), 0, 1) ** (1 / 2.2)
            picture = np.repeat(np.rint(255 * level).astype(np.uint8)[:, :, None], 3, axis=2)
        name, title = SHOWN[show]
        note = f"computed from {', '.join(p.file for p in records)}; {told}".strip()
        if factor < 1:
            note += f" Computed at {factor:.0%} of the photo's size."
        return Computed(picture, _shrunk(factor), first, name, f"{title} of {first.surface or named(first)}",
                        f"relief from {len(records)} lights", note, tuple(aligned))

    def _shape(self, records: list[Photo], step: Step) -> tuple[Any, Any, Any, float, str, list[Photo]]:
        """Normals, albedo, where all photos reach, the scale factor, words about the lights, photos newly laid over."""
        from readaid.photo import relief
        from readaid.photo.lights import estimated

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
        return found.normals, found.albedo, there, factor, f"{told}. {found.note}".strip(), aligned

    def find_square(self, photo: Photo, corners: Sequence[Point]) -> Computed:
        """The quadrangle ``corners`` (clockwise from top-left) laid square; raises ZoneError for no convex one."""
        from readaid.photo.rectify import perspective

        points = [(float(x), float(y)) for x, y in corners]
        part, (left, top) = self._around(photo, points, 2.0)
        there = [(x - left, y - top) for x, y in points]
        size, factor = None, 1.0
        if len(points) == 4:
            sides = np.linalg.norm(np.roll(points, -1, axis=0) - np.asarray(points), axis=1)
            size, factor = _within(max(sides[0], sides[2]), max(sides[1], sides[3]))
        made, plane = perspective(part, there, size)
        matrix = np.array([[1.0, 0, left], [0, 1, top], [0, 0, 1]]) @ plane.matrix
        told = ", ".join(f"({x:.0f}, {y:.0f})" for x, y in points)
        return Computed(self._eight(photo, made), tuple(float(v) for v in matrix.ravel()), photo, "square",
                        f"{named(photo)}, squared up", f"{photo.light}, squared up".strip(", "),
                        f"computed from {photo.file}; corners {told}{_smaller(factor)}")

    def find_straight(self, photo: Photo, line: Sequence[Point], width: float) -> Computed:
        """A curved column laid straight: ``line`` runs down its middle, ``width`` is how much to take across it."""
        from readaid.photo.rectify import ribbon, sampled

        points = tuple((float(x), float(y)) for x, y in line)
        whole = ribbon(points, width)
        if whole.size[0] * whole.size[1] > MOST_SQUARED:
            raise ZoneError(f"A column of {whole.size[0]} x {whole.size[1]} pixels is too large to be laid straight",
                            photo.title or photo.file, "take less across, or mark it in two parts")
        edge = np.concatenate([whole.line + whole.across * side * width / 2 for side in (-1, 1)])
        if (edge.max(axis=0) < 0).any() or (edge.min(axis=0) > (photo.width, photo.height)).any():
            raise ZoneError("The line lies outside the photo", photo.title or photo.file, "mark it on the photo")
        part, (left, top) = self._around(photo, [(float(x), float(y)) for x, y in edge], 4.0)
        made = sampled(part, dataclasses.replace(whole, line=whole.line - np.array([left, top], float)))
        told = ", ".join(f"({x:.0f}, {y:.0f})" for x, y in points)
        return Computed(self._eight(photo, made), (), photo, "straight",
                        self._new_title(f"{named(photo)}, column straightened"),
                        f"{photo.light}, column straightened".strip(", "),
                        f"computed from {photo.file}; middle line {told}, {width:.0f} px across",
                        bend=points, bend_width=float(width))

    def _new_title(self, title: str) -> str:
        """The title, numbered where a picture of the piece has it already: a page has several bent columns."""
        taken = {p.title for p in self._piece.contents.photos}
        return next(t for t in (title, *(f"{title} {n}" for n in range(2, len(taken) + 3))) if t not in taken)

    def _around(self, photo: Photo, points: Sequence[Point], margin: float) -> tuple[Any, tuple[int, int]]:
        """The part of a photo that holds these points, not copied, and its corner."""
        from readaid.photo.file import window

        xs, ys = [p[0] for p in points], [p[1] for p in points]
        box = (min(xs) - margin, min(ys) - margin, max(xs) - min(xs) + 2 * margin, max(ys) - min(ys) + 2 * margin)
        left, top, right, bottom = window((photo.width, photo.height), box)
        return self._piece.pyramid(photo).level(0)[top:bottom, left:right], (left, top)

    def _eight(self, photo: Photo, pixels: Any) -> NDArray[np.uint8]:
        """Pixels of a photo as they are shown: a dark 16-bit one brightened."""
        from readaid.photo.raster import eight_bit

        return np.asarray(eight_bit(np.ascontiguousarray(pixels), self._piece.pyramid(photo).white), np.uint8)

    def keep(self, made: Computed) -> Photo:
        """Write a computed picture into ``photos/`` and its record into the register, in one gesture."""
        from PIL import Image

        from readaid.photo.file import describe

        with tempfile.TemporaryDirectory(prefix="readaid-") as place:
            path = Path(place) / f"computed-{made.name}-{Path(made.source.file).stem}.png"
            Image.fromarray(made.pixels).save(path, compress_level=3)  # level 6 takes four times as long
            facts = describe(path)
            # Computed again from the same photographs it is the same picture, byte for byte, and is not kept twice.
            same = next((p for p in self._piece.contents.photos if p.sha256 == facts.sha256), None)
            if same is not None:
                return same
            file = places.take_in(path, self._piece.folder, facts.sha256)
        source = made.source
        photo = Photo(file, facts.sha256, facts.width, facts.height, title=made.title, surface=source.surface,
                      light=made.light, evidence=Evidence.COMPUTED, scale=_scale(made),
                      to_reference=made.to_source or None, reference=source.id, bend=made.bend,
                      bend_width=made.bend_width, mirrored=source.mirrored, swapped=source.swapped,
                      rights=source.rights, note=made.note)
        self._piece.once(lambda: self._piece.save(photo, *_unchanged(self._piece, made.aligned),
                                                  reason=f"{made.name} computed"))
        return photo

    def _pixels(self, photo: Photo) -> tuple[Any, float]:
        from readaid.photo.raster import fitted

        longest = max(photo.width, photo.height)
        most = (MOST_PIXELS * longest / min(photo.width, photo.height)) ** 0.5
        return fitted(self._piece.pyramid(photo).level(0), max(1, int(min(longest, most))))

    def _stack(self, records: list[Photo], step: Step) -> tuple[list[Any], list[Photo], NDArray[np.bool_], float]:
        """Photos as the first one sees them, those newly laid over it, where all of them reach, the scale factor."""
        from readaid.photo.alignment import align
        from readaid.photo.rectify import Plane, sampled

        first = records[0]
        base, factor = self._pixels(first)
        height, width = base.shape[:2]
        stack, aligned, there = [base], [], np.ones((height, width), bool)
        for n, record in enumerate(records[1:], start=1):
            step(f"Laying photo {n + 1} of {len(records)} over the first", 0.4 * n / len(records))
            pixels, mine = self._pixels(record)
            matrix = ways.matrix(record, first, {p.id: p for p in self._piece.contents.photos})
            if matrix is None:
                try:
                    found = align(base, pixels)
                except PhotoError as error:
                    raise PhotoError(f"{named(record)} cannot be laid over {named(first)}", error.where,
                                     error.cure) from error
                matrix = np.diag([1 / factor, 1 / factor, 1]) @ found.matrix @ np.diag([mine, mine, 1])
                # A photo that lies over another one already keeps that: its zones hang on it.
                if record.reference is None:
                    values = tuple(float(v) for v in (matrix / matrix[2, 2]).ravel())
                    aligned.append(dataclasses.replace(record, to_reference=values, reference=first.id))
            small = np.diag([factor, factor, 1]) @ matrix @ np.diag([1 / mine, 1 / mine, 1])
            # The camera stood still: taken as it is, since sampling anew softens every stroke.
            if pixels.shape == base.shape and np.abs(small / small[2, 2] - np.eye(3)).max() < _SURE:
                stack.append(pixels)
                continue
            plane = Plane(np.asarray(np.linalg.inv(small), np.float64), (width, height))
            laid = sampled(pixels, plane)
            beyond = np.asarray(sampled(np.zeros(pixels.shape[:2], np.uint8), plane)) > 127
            if laid.dtype == base.dtype:  # white there would pass for an overexposed photo and mislead the lights
                laid[beyond] = base[beyond]
            stack.append(laid)
            there &= ~beyond
        return stack, aligned, there, factor


def _within(width: float, height: float) -> tuple[tuple[int, int], float]:
    """Whole pixels for a picture of this size, made smaller where it would be too large, and the factor."""
    factor = min(1.0, (MOST_SQUARED / max(1.0, width * height)) ** 0.5)
    return (max(1, round(width * factor)), max(1, round(height * factor))), factor


def _smaller(factor: float) -> str:
    return f"; made at {factor:.0%} of the photo's size" if factor < 1 else ""


def _shrunk(factor: float) -> tuple[float, ...]:
    return (1 / factor, 0.0, 0.0, 0.0, 1 / factor, 0.0, 0.0, 0.0, 1.0)


def _scale(made: Computed) -> Scale | None:
    """The source's scale as the computed picture shows it; none where its ends lie beyond the horizon.

    A column laid straight keeps its lengths along the middle line and across it, so the line itself carries the scale.
    """
    from readaid.photo.scale import carried

    scale = made.source.scale
    if scale is None:
        return None
    if made.bend:
        height, width = made.pixels.shape[:2]
        return Scale((width / 2, 0.0), (width / 2, float(height)), height * scale.mm_per_pixel,
                     f"{scale.what}, carried along the column".strip(", "))
    try:
        if moved(np.asarray(np.linalg.inv(square(made.to_source)), np.float64), [scale.a, scale.b]) is None:
            return None
        return carried(scale, made.to_source, back=True)
    except (ReadaidError, np.linalg.LinAlgError):
        return None


def _unchanged(piece: Holding, aligned: Sequence[Photo]) -> list[Record]:
    """Alignments found on the way, for the photos that nobody has laid over another one meanwhile."""
    now = {p.id: p for p in piece.contents.photos}
    return [dataclasses.replace(now[p.id], to_reference=p.to_reference, reference=p.reference) for p in aligned
            if p.id in now and now[p.id].reference is None]


def named(photo: Photo) -> str:
    """What a photo is called."""
    return photo.title or Path(photo.file).stem


def is_shape(photo: Photo) -> bool:
    """Whether a photo is a computed picture of normals, to be looked at under a lamp."""
    return photo.evidence is Evidence.COMPUTED and photo.file.rpartition("/")[2].startswith("computed-normals")
