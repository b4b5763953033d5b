"""The way from the pixels of one photo to those of another: through a homography, or along a curved column.

Conventions: full-size pixels, (x, y). A photo lies over the one it names as ``reference`` by ``to_reference`` (a
homography) or by ``bend`` (this picture is a curved column of the reference laid straight); that one may lie over a
third. Outlines that go through a bend get points between their corners where a straight side would miss it by more
than a pixel.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from readaid.core.photo import Photo, Point

if TYPE_CHECKING:
    from readaid.photo.rectify import Ribbon

Matrix = NDArray[np.float64]
Points = NDArray[np.float64]
#: A point that comes back from a bend this many pixels away from where it began has no place there.
_ASTRAY = 2.0
_DEEP = 3  # times a side is halved at most


def moved(matrix: Matrix, outline: Sequence[Point]) -> tuple[Point, ...] | None:
    """Points through a homography; None where one of them lies beyond the horizon.

    >>> moved(np.diag([2.0, 2.0, 1.0]), [(1, 2)])
    ((2.0, 4.0),)
    """
    points = np.c_[np.asarray(outline, float), np.ones(len(outline))] @ matrix.T
    # Beyond the horizon a corner comes back on the other side, and the zone would lie across the whole photo.
    if (points[:, 2] <= 1e-9).any():
        return None
    return tuple((float(x), float(y)) for x, y in points[:, :2] / points[:, 2:])


def square(values: Sequence[float]) -> Matrix:
    """Nine numbers, row-major, as a matrix (3, 3)."""
    return np.asarray(values, np.float64).reshape(3, 3)


def up(photo: Photo, outline: Sequence[Point]) -> tuple[Point, ...] | None:
    """Points of a photo on the photo it lies over; None where they have no place there."""
    if photo.bend:
        ribbon = ribbon_of(photo)
        return _bent(outline, ribbon.to_original)
    return moved(square(photo.to_reference), outline) if photo.to_reference else None


def down(photo: Photo, outline: Sequence[Point]) -> tuple[Point, ...] | None:
    """Points of the photo that ``photo`` lies over, on ``photo`` itself; None where they have no place there."""
    if photo.bend:
        ribbon = ribbon_of(photo)
        return _bent(outline, lambda points: _laid(ribbon, points))
    if not photo.to_reference:
        return None
    return moved(np.asarray(np.linalg.inv(square(photo.to_reference)), np.float64), outline)


def chain(photo: Photo, photos: Mapping[str, Photo]) -> list[Photo]:
    """The photo and all it lies over, itself first."""
    found = [photo]
    while True:
        at = found[-1]
        if not at.reference or not (at.to_reference or at.bend) or at.reference not in photos:
            return found
        # Two photos that name each other, as a merge may make them: the way ends instead of going round for ever.
        if any(p.id == at.reference for p in found):
            return found
        found.append(photos[at.reference])


def carried(outline: Sequence[Point], source: Photo, target: Photo,
            photos: Mapping[str, Photo]) -> tuple[Point, ...] | None:
    """Points of ``source`` on ``target``; None where neither lies over the other, nor both over a third."""
    mine, theirs = chain(source, photos), chain(target, photos)
    over = {p.id: i for i, p in enumerate(theirs)}
    points: tuple[Point, ...] | None = tuple((float(x), float(y)) for x, y in outline)
    for photo in mine:
        if photo.id in over:
            for under in reversed(theirs[: over[photo.id]]):
                points = None if points is None else down(under, points)
            return points
        if points is None or photo is mine[-1]:
            return None
        points = up(photo, points)
    return None


def matrix(source: Photo, target: Photo, photos: Mapping[str, Photo]) -> Matrix | None:
    """The homography (3, 3) from ``source`` to ``target``; None where there is no way, or a bend lies on it."""
    mine, theirs = chain(source, photos), chain(target, photos)
    common = next((p.id for p in mine if any(p.id == q.id for q in theirs)), None)
    if common is None:
        return None
    a, b = _climbed(mine, common), _climbed(theirs, common)
    if a is None or b is None:
        return None
    found = np.linalg.inv(b) @ a
    return np.asarray(found / found[2, 2], np.float64)


def _climbed(photos: Sequence[Photo], end: str) -> Matrix | None:
    found: Matrix = np.eye(3)
    for photo in photos:
        if photo.id == end:
            return found
        if photo.bend or not photo.to_reference:
            return None
        found = np.asarray(square(photo.to_reference) @ found, np.float64)
    return None


def ribbon_of(photo: Photo) -> Ribbon:
    """The mapping of a picture that is a curved column laid straight."""
    return _ribbon(photo.bend, photo.bend_width)


@functools.lru_cache(maxsize=32)
def _ribbon(line: tuple[Point, ...], width: float) -> Ribbon:
    from readaid.photo.rectify import ribbon

    return ribbon(line, width)


def _laid(ribbon: Ribbon, points: Points) -> Points | None:
    """Points of the photo on the straightened column; beyond its ends it goes on straight."""
    picture = ribbon.from_original(points)
    rows = len(ribbon.line)
    at = np.clip(np.rint(picture[:, 1] - 0.5), 0, rows - 1).astype(int)
    along = np.stack([-ribbon.across[at, 1], ribbon.across[at, 0]], axis=1)
    rest = points - ribbon.to_original(picture)
    ahead = (rest * along).sum(axis=1)
    # Only past the ends: beside the line a point that is not met has no place on the column.
    over = ((picture[:, 1] <= 0.51) & (ahead < 0)) | ((picture[:, 1] >= rows - 0.51) & (ahead > 0))
    ahead = np.where(over, ahead, 0.0)
    picture[:, 1] += ahead
    rest = rest - along * ahead[:, None]
    return picture if (np.linalg.norm(rest, axis=1) <= _ASTRAY).all() else None


def _bent(outline: Sequence[Point], through: object) -> tuple[Point, ...] | None:
    """A closed outline through a bend, halving the sides that would miss it."""
    assert callable(through)
    given = np.asarray(outline, float)
    for _ in range(_DEEP + 1):
        found = through(given)
        if found is None:
            return None
        if len(given) < 3:
            break
        middles = (given + np.roll(given, -1, axis=0)) / 2
        truth = through(middles)
        if truth is None:
            return None
        off = np.linalg.norm(truth - (found + np.roll(found, -1, axis=0)) / 2, axis=1) > 1.0
        # Sixty-four corners are enough for any bend, and an outline must not grow with each way it is carried.
        if not off.any() or len(given) > 64:
            break
        given = np.insert(given, np.flatnonzero(off) + 1, middles[off], axis=0)
    found = through(given)
    return None if found is None else tuple((float(x), float(y)) for x, y in found)
