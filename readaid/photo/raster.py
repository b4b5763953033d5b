"""Checked image arrays: depth, grey, and the size that fits a job.

Conventions: an image is (height, width) grey or (height, width, 3) RGB (a fourth channel, alpha, is dropped), uint8,
uint16, bool or float; floats are taken as 0..1 when their largest value is at most 1, else as 0..255.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.core.errors import PhotoError

Image = NDArray[Any]
Floats = NDArray[np.float32]
Bytes = NDArray[np.uint8]
Mask = NDArray[np.bool_]


def checked(image: Any, what: str = "The image") -> Image:
    """Return ``image`` as an array of 2 or 3 dimensions; alpha is dropped.

    Raises PhotoError for an empty array, a wrong shape or kind of number, NaN or infinity.

    >>> checked(np.zeros((4, 5, 4), np.uint8)).shape
    (4, 5, 3)
    """
    array = np.asarray(image)
    if array.ndim == 3 and array.shape[2] == 1:
        array = array[:, :, 0]
    if array.ndim not in (2, 3) or (array.ndim == 3 and array.shape[2] not in (3, 4)):
        raise PhotoError(f"{what} has the shape {array.shape}", cure="give (height, width) or (height, width, 3)",
                         shape=array.shape)
    if array.size == 0:
        raise PhotoError(f"{what} is empty", cure="draw the zone larger, inside the photo", shape=array.shape)
    if array.dtype.kind not in "buif":
        raise PhotoError(f"{what} holds {array.dtype}, not numbers", cure="give uint8, uint16 or float")
    if array.dtype.kind == "f" and not np.isfinite(array).all():
        raise PhotoError(f"{what} holds values that are not numbers (NaN or infinity)",
                         cure="replace them, or read the file again")
    return array[:, :, :3] if array.ndim == 3 else array


def _top(array: Image) -> float:
    if array.dtype == bool:
        return 1.0
    if array.dtype == np.uint16:
        return 65535.0
    if array.dtype.kind == "f":
        return 1.0 if float(array.max()) <= 1.0 else 255.0
    # Whole numbers of another size: what never passes 255 was an 8-bit picture once.
    return 255.0 if int(array.max()) <= 255 else 65535.0


def unit(image: Any, what: str = "The image") -> Floats:
    """The image as float32 0..1, same shape.

    >>> float(unit(np.full((2, 2), 255, np.uint8))[0, 0])
    1.0
    """
    array = checked(image, what)
    return np.asarray(array, np.float32) / np.float32(_top(array))


def grey(image: Any, what: str = "The image") -> Floats:
    """Luma 0..1 as float32 (height, width); weights of ITU-R BT.601, as in OpenCV and Pillow.

    >>> grey(np.full((1, 1, 3), 255, np.uint8)).round(3).tolist()
    [[1.0]]
    """
    array = unit(image, what)
    if array.ndim == 2:
        return array
    return np.asarray(array @ np.array([0.299, 0.587, 0.114], np.float32), np.float32)


def rgb(image: Any, what: str = "The image") -> Image:
    """The image with three channels; depth is kept."""
    array = checked(image, what)
    if array.dtype == bool:
        array = array.astype(np.uint8) * 255
    return np.ascontiguousarray(np.repeat(array[:, :, None], 3, axis=2) if array.ndim == 2 else array)


def eight_bit(image: Any, white: float | None = None) -> Bytes:
    """The image as uint8; ``white`` (0..1) is the value shown as 255, for dark 16-bit frames.

    >>> eight_bit(np.array([[65535, 32768]], np.uint16)).tolist()
    [[255, 128]]
    """
    array = checked(image)
    if array.dtype == np.uint8 and white in (None, 1.0):
        return array
    scale = 255.0 / (_top(array) * (white or 1.0))
    if array.dtype in (np.uint8, np.uint16):  # one pass, no float copy of the whole photo
        return np.asarray(cv2.convertScaleAbs(np.ascontiguousarray(array), alpha=scale), np.uint8).reshape(array.shape)
    return np.clip(np.rint(np.asarray(array, np.float64) * scale), 0, 255).astype(np.uint8)


def white_point(image: Any) -> float:
    """Share of the range (0..1] worth showing as white; below 1 only for dark 16-bit frames.

    A raw frame of a coin used 4,000 of 65,535 levels and showed black; 8-bit photos are never brightened.
    """
    array = checked(image)
    if array.dtype != np.uint16:
        return 1.0
    # A sample is enough for a percentile; sorting 60 million values takes seconds.
    sample = array[:: max(1, array.shape[0] // 512), :: max(1, array.shape[1] // 512)]
    top = float(np.percentile(sample, 99.9)) / 65535.0
    return 1.0 if top >= 0.5 else max(top, 1.0 / 256.0)


def halved(array: Image) -> Image:
    """The image at half size (mean of 2 x 2, an odd last row or column averaged with itself)."""
    height, width = array.shape[:2]
    if height % 2 or width % 2:
        array = np.asarray(cv2.copyMakeBorder(array, 0, height % 2, 0, width % 2, cv2.BORDER_REPLICATE))
    return np.asarray(cv2.resize(array, (array.shape[1] // 2, array.shape[0] // 2), interpolation=cv2.INTER_AREA))


def fitted(array: Image, longest: int) -> tuple[Image, float]:
    """The image reduced so that its longer side is at most ``longest``, and the factor used (<= 1)."""
    height, width = array.shape[:2]
    factor = min(1.0, longest / max(height, width))
    if factor == 1.0:
        return array, 1.0
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    return np.asarray(cv2.resize(array, size, interpolation=cv2.INTER_AREA)), factor


def reduced_grey(image: Any, longest: int, what: str = "The image") -> tuple[Floats, float]:
    """``grey`` at a working size, and the factor used. Reduced before it is made float: a 60 MP photo in three float
    channels takes 720 MB.

    >>> reduced_grey(np.full((40, 80, 3), 255, np.uint8), 20)[0].shape
    (10, 20)
    """
    array = checked(image, what)
    if array.dtype in (np.uint8, np.uint16):
        small, factor = fitted(np.ascontiguousarray(array), longest)
        return grey(small), factor
    level, factor = fitted(grey(array), longest)
    return np.asarray(level, np.float32), factor
