"""Squaring up: perspective, turning, a curved column laid straight, and the way back to the untouched photo.

Conventions: points are (x, y) pixels, arrays of shape (n, 2); pixel i covers [i, i + 1), its centre lies at i + 0.5. A
mapping leads from the new picture to the original; zones drawn on the new one are stored as original pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from readaid.core.errors import PhotoError, ZoneError
from readaid.core.photo import Point
from readaid.photo.raster import Image, checked

Points = NDArray[np.float64]
MOST_SIDE = 20_000


class Mapping(Protocol):
    """Where a picture made from a photo lies in that photo. ``size`` is (width, height) of the picture made."""

    @property
    def size(self) -> tuple[int, int]: ...

    def to_original(self, points: ArrayLike) -> Points: ...

    def from_original(self, points: ArrayLike) -> Points: ...


@dataclass(frozen=True)
class Plane:
    """A mapping by one homography: perspective, turning, mirroring. ``matrix`` takes picture points to the original."""

    matrix: NDArray[np.float64]
    size: tuple[int, int]

    def to_original(self, points: ArrayLike) -> Points:
        """Points of the picture, (n, 2), in the original photo."""
        return _projected(self.matrix, _points(points))

    def from_original(self, points: ArrayLike) -> Points:
        """Points of the original photo, (n, 2), in the picture."""
        return _projected(np.asarray(np.linalg.inv(self.matrix), np.float64), _points(points))


@dataclass(frozen=True)
class Ribbon:
    """A mapping along a curved line: x across it, y down it. ``line`` (n, 2) is one point per row of the picture, in
    original pixels; ``across`` (n, 2) the unit vector to the right there."""

    line: Points
    across: Points
    size: tuple[int, int]

    def to_original(self, points: ArrayLike) -> Points:
        """Points of the picture, (n, 2), in the original photo."""
        given = _points(points)
        rows = np.clip(given[:, 1] - 0.5, 0, len(self.line) - 1)
        low = np.minimum(rows.astype(int), max(len(self.line) - 2, 0))
        part = (rows - low)[:, None]
        high = np.minimum(low + 1, len(self.line) - 1)
        base = self.line[low] * (1 - part) + self.line[high] * part
        side = self.across[low] * (1 - part) + self.across[high] * part
        return np.asarray(base + side * (given[:, :1] - self.size[0] / 2), np.float64)

    def from_original(self, points: ArrayLike) -> Points:
        """Points of the original photo, (n, 2), in the picture; each goes to the nearest place of the ribbon.

        Exact within the ribbon (Newton steps from the nearest row); outside it the nearest end row is taken.
        """
        given = _points(points)
        rows = np.empty(len(given))
        for i, point in enumerate(given):
            rows[i] = float(np.argmin(((self.line - point) ** 2).sum(axis=1)))
        along = np.stack([-self.across[:, 1], self.across[:, 0]], axis=1)
        picture = np.stack([np.full(len(given), self.size[0] / 2), rows + 0.5], axis=1)
        # The nearest row is exact only on the line itself; beside a bend the way across leads to another row.
        for _ in range(12):
            low = np.clip(np.rint(picture[:, 1] - 0.5), 0, len(self.line) - 1).astype(int)
            rest = given - self.to_original(picture)
            picture[:, 0] += (rest * self.across[low]).sum(axis=1)
            picture[:, 1] = np.clip(picture[:, 1] + 0.8 * (rest * along[low]).sum(axis=1), 0.5, len(self.line) - 0.5)
        return picture


def perspective(image: Any, corners: Sequence[Point], size: tuple[int, int] | None = None) -> tuple[Image, Plane]:
    """Lay the quadrangle ``corners`` (top-left, top-right, bottom-right, bottom-left) square.

    ``size`` is (width, height) of the result; left out, the longer of each pair of sides. Raises ZoneError where the
    corners do not make a convex quadrangle in that order, PhotoError for a wrong image.

    >>> picture, mapping = perspective(np.zeros((100, 100), np.uint8), [(10, 10), (60, 10), (60, 90), (10, 90)])
    >>> picture.shape, mapping.to_original([[0, 0]]).round(6).tolist()
    ((80, 50), [[10.0, 10.0]])
    """
    pixels = checked(image)
    quad = _points(corners)
    if quad.shape != (4, 2):
        raise ZoneError(f"{len(quad)} corners are given",
                        cure="click four: top-left, top-right, bottom-right, bottom-left")
    sides = np.roll(quad, -1, axis=0) - quad
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    # Clicked the other way round, the picture would come out mirrored and every zone on it with it.
    if not (turns > 1e-6).all():
        raise ZoneError("The four corners make no convex quadrangle",
                        cure="click them in order, clockwise from top-left")
    lengths = np.linalg.norm(sides, axis=1)
    if size is None:
        size = (max(1, round(max(lengths[0], lengths[2]))), max(1, round(max(lengths[1], lengths[3]))))
    width, height = _side(size[0]), _side(size[1])
    square = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    # Only a first answer: it is worked out once more in double precision below.
    matrix = cv2.getPerspectiveTransform(square, quad.astype(np.float32)).astype(float)
    mapping = Plane(_exact(matrix, square.astype(float), quad), (width, height))
    return sampled(pixels, mapping), mapping


def turned(image: Any, degrees: float) -> tuple[Image, Plane]:
    """Turn clockwise by ``degrees``; the result is large enough to hold all of the photo, white round it."""
    pixels = checked(image)
    if not np.isfinite(degrees):
        raise PhotoError("The angle is not a number", cure="give degrees, such as 2.5")
    height, width = pixels.shape[:2]
    a = np.deg2rad(degrees)
    c, s = np.cos(a), np.sin(a)
    new_w = _side(max(1, int(np.ceil(abs(width * c) + abs(height * s) - 1e-6))))
    new_h = _side(max(1, int(np.ceil(abs(width * s) + abs(height * c) - 1e-6))))
    back = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1.0]])
    shift = np.array([[1, 0, -new_w / 2], [0, 1, -new_h / 2], [0, 0, 1.0]])
    home = np.array([[1, 0, width / 2], [0, 1, height / 2], [0, 0, 1.0]])
    mapping = Plane(home @ back @ shift, (new_w, new_h))
    return sampled(pixels, mapping), mapping


def mirrored(image: Any) -> tuple[Image, Plane]:
    """Left and right exchanged, as for a rubbing read from the back, with the way back."""
    pixels = checked(image)
    width = pixels.shape[1]
    return np.ascontiguousarray(pixels[:, ::-1]), Plane(
        np.array([[-1.0, 0, width], [0, 1, 0], [0, 0, 1]]), (width, pixels.shape[0]))


def straightened(image: Any, line: Sequence[Point], width: float) -> tuple[Image, Ribbon]:
    """Lay a curved column straight: ``line`` runs down its middle (two or more points, top to bottom), ``width`` is how
    much to take across it, in pixels.

    The line is rounded between the points (monotone cubic over its length), so a few clicks are enough. Raises
    ZoneError for fewer than two different points or a width below 1, PhotoError for a wrong image.
    """
    pixels = checked(image)
    mapping = ribbon(line, width)
    return sampled(pixels, mapping), mapping


def ribbon(line: Sequence[Point], width: float) -> Ribbon:
    """The mapping of :func:`straightened` alone, made from the clicked points again wherever it is needed.

    >>> ribbon([(50, 0), (50, 80)], 20).to_original([[0, 10], [20, 10]]).round(6).tolist()
    [[40.0, 10.0], [60.0, 10.0]]
    """
    from scipy.interpolate import PchipInterpolator

    points = _points(line)
    if not np.isfinite(width) or width < 1:
        raise ZoneError(f"A column {width:g} px wide cannot be laid straight", cure="give at least 1 px")
    keep = np.r_[True, np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-9] if len(points) else np.zeros(0, bool)
    points = points[keep]
    if len(points) < 2:
        raise ZoneError("The line has no length", cure="click at least two points down the middle of the column")
    at = np.r_[0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
    # Monotone, so that the line never swings out between two clicks, as an ordinary cubic does at an uneven distance.
    curve = PchipInterpolator(at, points, axis=0)
    fine = curve(np.linspace(0, at[-1], max(64, int(at[-1]) * 2)))
    length = np.r_[0, np.cumsum(np.linalg.norm(np.diff(fine, axis=0), axis=1))]
    rows = _side(max(2, round(length[-1])))
    wanted = (np.arange(rows) + 0.5) * length[-1] / rows
    path = np.stack([np.interp(wanted, length, fine[:, k]) for k in (0, 1)], axis=1)
    # The direction from a smoothed path: at a clicked corner the rows would else cross each other.
    along = np.gradient(cv2.GaussianBlur(path, (1, 15), 0, sigmaY=3, borderType=cv2.BORDER_REPLICATE), axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    return Ribbon(path, np.stack([along[:, 1], -along[:, 0]], axis=1), (_side(round(width)), rows))


def sampled(pixels: Image, mapping: Mapping) -> Image:
    """The picture that ``mapping`` takes out of ``pixels``; white outside the photo. Cubic where it enlarges or keeps
    the size."""
    width, height = mapping.size
    out = np.empty((height, width, *pixels.shape[2:]), pixels.dtype)
    white = float(np.iinfo(pixels.dtype).max) if pixels.dtype.kind in "ui" else 1.0
    border = (white,) * 4
    xs = np.arange(width) + 0.5
    for top in range(0, height, 256):  # by strips: the coordinates take eight times the photo's memory
        bottom = min(top + 256, height)
        grid = np.stack(np.meshgrid(xs, np.arange(top, bottom) + 0.5), axis=-1).reshape(-1, 2)
        source = (mapping.to_original(grid) - 0.5).astype(np.float32).reshape(bottom - top, width, 2)
        out[top:bottom] = np.asarray(cv2.remap(
            pixels, source[..., 0], source[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_CONSTANT,
            borderValue=border)).reshape(bottom - top, width, *pixels.shape[2:])
    return out


def _points(points: ArrayLike) -> Points:
    array = np.asarray(points, float)
    if array.size == 0:
        return np.zeros((0, 2))
    if array.ndim != 2 or array.shape[1] != 2 or not np.isfinite(array).all():
        raise ZoneError(f"Points of shape {array.shape} cannot be used", cure="give (x, y) pairs of numbers")
    return array


def _side(length: int) -> int:
    if not 1 <= length <= MOST_SIDE:
        raise PhotoError(f"A picture side of {length} px cannot be made", cure=f"choose 1 to {MOST_SIDE} px")
    return int(length)


def _projected(matrix: NDArray[np.float64], points: Points) -> Points:
    moved = np.c_[points, np.ones(len(points))] @ matrix.T
    return np.asarray(moved[:, :2] / moved[:, 2:], float)


def _exact(matrix: NDArray[np.float64], source: Points, target: Points) -> NDArray[np.float64]:
    """Redo OpenCV's float32 solution in double precision, so that there and back again ends where it began."""
    rows, right = [], []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    try:
        return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3)
    except np.linalg.LinAlgError:
        return matrix
