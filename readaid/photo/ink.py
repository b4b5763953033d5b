"""Ink: where a crop holds strokes, whatever its size, lighting and polarity.

Conventions: images are a path, a Pillow image or an array, grey (H, W) or RGB
(H, W, 3), uint8 or uint16; ink comes back as float32 (h, w) in 0..1, 1 = stroke,
on a canvas cut close to the form and reduced so that its longer side is at most
``SIDE`` pixels. ``Ink.place`` is the row-major 2 x 3 matrix that maps
canvas pixels (x, y) to pixels of the crop as given. Incised, chiselled and inlaid
lines may be darker or lighter than their ground: the ground is what fills most of the
crop's rim, the ink is the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from readaid.core.errors import ShapeError
from readaid.photo.file import header

Floats = npt.NDArray[np.float32]
#: A crop as users hand it in.
Crop = str | Path | Image.Image | npt.NDArray[Any]
#: Longer side of the canvas in pixels; a photo of 60 megapixels and a thumbnail end alike.
SIDE = 112
#: Side of a sheet, see ``plate``.
SHEET = 96
#: Empty rim of the canvas in pixels, so that blurring does not reach the edge.
RIM = 8
#: Ink and ground must differ by this much of the grey range, else the crop counts as empty.
LEAST_CONTRAST = 0.06
#: More than this is no crop of one sign: pixels in all, and along the longer side (OpenCV's own limit is 32,767).
MOST_PIXELS, MOST_SIDE = 64_000_000, 32_000
#: Pixels turned grey at once.
STRIP = 4_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Ink:
    """Strokes of one crop: ``soft`` (h, w) float32 0..1, ``mask`` (h, w) bool, ``place`` 2 x 3, ``dark`` on light."""

    soft: Floats
    mask: npt.NDArray[np.bool_]
    place: npt.NDArray[np.float64]
    dark: bool
    size: tuple[int, int]  # width, height of the crop as given
    sheets: tuple[Floats, Floats]  # grey, 96 x 96: the crop as a whole, and cut close to its ink
    grain: float  # unevenness of the ground, 0 for a clean drawing, about 0.02 for old paper


def grey(image: Crop) -> Floats:
    """Read a crop as grey, float32 (H, W) in 0..1.

    Raises ShapeError for a file that is missing or no picture and for arrays of another shape.

    >>> grey(np.full((2, 3), 255, np.uint8)).max()
    np.float32(1.0)
    """
    if isinstance(image, str | Path):
        try:
            with header(image) as opened:  # never PostScript, which starts a program
                _one_sign(opened.size)  # before a pixel is decoded: 178 million in a line took 27 s and 2.6 GB
                opened.load()
                return grey(opened)
        except FileNotFoundError:
            raise ShapeError("The picture was not found", str(image), "check the name and folder") from None
        except (Image.DecompressionBombError, MemoryError):
            raise _too_large("more than can be opened") from None
        except ShapeError:
            raise
        except Exception as error:  # on damaged bytes Pillow's readers divide by nought, run out of buffer, miss a key
            raise ShapeError(
                "The file is no picture that can be opened", str(image), "save it as PNG or JPEG", reason=str(error)
            ) from error
    if isinstance(image, Image.Image):
        _one_sign(image.size)
        return _pillow_grey(image)
    try:
        array = np.asarray(image)
    except (TypeError, ValueError) as error:  # rows of several lengths
        raise ShapeError("This is no picture", type(image).__name__, "give a file, a picture or an array") from error
    if array.ndim not in (2, 3) or (array.ndim == 3 and array.shape[2] not in (1, 3, 4)) or 0 in array.shape[:2]:
        raise ShapeError(
            "The array is no grey or RGB picture", f"shape {array.shape}", "give (H, W) or (H, W, 3), uint8 or uint16"
        )
    _one_sign((array.shape[1], array.shape[0]))
    if array.dtype.kind not in "buif":
        raise ShapeError("The array is no picture", f"dtype {array.dtype}", "give uint8, (H, W) or (H, W, 3)")
    if array.dtype == np.bool_:
        # a tracing mask: True is the stroke, so it is drawn dark on light
        return np.where(array if array.ndim == 2 else array[..., 0], 0, 1).astype(np.float32)
    top = 65535.0 if array.dtype == np.uint16 else 255.0
    if np.issubdtype(array.dtype, np.floating):
        # Computed pictures may have no number where there was nothing to compute from.
        array = np.nan_to_num(array, posinf=0.0, neginf=0.0)
        top = 1.0 if float(array.max()) <= 1.0 else 255.0
    values = np.clip(array.astype(np.float32) / top, 0, 1)
    if values.ndim == 2:
        return np.asarray(values, np.float32)
    if values.shape[2] == 4:
        # A tracing on a clear sheet is black where it is clear, too: it is laid on white first.
        values = values[..., :3] * values[..., 3:] + (1 - values[..., 3:])
    weights = np.array([0.299, 0.587, 0.114], np.float32)[: values.shape[2]]
    return np.asarray(values @ (weights / weights.sum()), np.float32)


def _one_sign(size: tuple[int, int]) -> None:
    """Refuse a picture (width, height) that is none of one sign, by its number of pixels and its longer side."""
    if size[0] * size[1] > MOST_PIXELS or max(size) > MOST_SIDE:
        raise _too_large(f"{size[0]} x {size[1]} pixels")


def _too_large(what: str) -> ShapeError:
    return ShapeError("The crop is too large for one character", what,
                      f"crop one character from the photo first, at most {MOST_PIXELS // 1_000_000} million pixels and "
                      f"{MOST_SIDE:,} along a side")


def _pillow_grey(image: Image.Image) -> Floats:
    """By strips: all at once a picture of 60 million pixels is held in five copies, 1.3 GB."""
    if image.mode in ("I;16", "I", "F") or image.width * image.height <= STRIP:
        return grey(_pillow_array(image))
    high = max(1, STRIP // image.width)
    strips = (image.crop((0, top, image.width, min(top + high, image.height))) for top in range(0, image.height, high))
    return np.concatenate([grey(_pillow_array(strip)) for strip in strips])


def _pillow_array(image: Image.Image) -> npt.NDArray[Any]:
    if image.mode in ("I;16", "I", "F"):
        array = np.asarray(image, np.float32)
        return (array / max(float(array.max()), 1.0) * 255).astype(np.float32)
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        return np.asarray(image.convert("RGBA"))
    return np.asarray(image.convert("L" if image.mode in ("1", "L") else "RGB"))


def find_ink(image: Crop) -> Ink:
    """Find the strokes of a crop.

    Raises ShapeError if the crop is empty (ink and ground do not differ) or all of one speck.

    >>> page = np.full((60, 80), 240, np.uint8); page[20:24, 10:70] = 30
    >>> ink = find_ink(page)
    >>> bool(ink.dark), bool(ink.mask.any())
    (True, True)
    """
    values = grey(image)
    height, width = values.shape
    first = min(1.0, 3 * SIDE / max(height, width))
    small: Floats = values
    if first < 1:
        smaller = (max(1, round(width * first)), max(1, round(height * first)))
        small = np.asarray(cv2.resize(values, smaller, interpolation=cv2.INTER_AREA), np.float32)
    step = np.array([width / small.shape[1], height / small.shape[0]])
    strength, dark = _strength(small)
    mask = _clean(strength > 0.5)
    if not mask.any():
        raise ShapeError("The crop holds no form", "", "crop closer, or pick a photo with more contrast")
    ys, xs = np.nonzero(mask)
    x0, x1, y0, y1 = xs.min(), xs.max() + 1, ys.min(), ys.max() + 1
    strength = np.where(cv2.dilate(mask.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0, strength, 0)
    part = np.ascontiguousarray(strength[y0:y1, x0:x1], np.float32)
    scale = (SIDE - 2 * RIM) / max(part.shape)
    matrix = np.array([[scale, 0, RIM + 0.5 * scale - 0.5], [0, scale, RIM + 0.5 * scale - 0.5]])
    shape = (int(np.ceil(part.shape[0] * scale)) + 2 * RIM, int(np.ceil(part.shape[1] * scale)) + 2 * RIM)
    if scale < 1:  # shrinking by sampling would drop hair lines
        part = np.asarray(cv2.GaussianBlur(part, (0, 0), 0.5 / scale), np.float32)
    soft = np.asarray(cv2.warpAffine(part, matrix, (shape[1], shape[0]), flags=cv2.INTER_LINEAR), np.float32)
    if scale < 1:
        soft = np.clip(soft * np.float32(1.3), 0, 1)
    place = np.array([[step[0] / scale, 0, 0], [0, step[1] / scale, 0]])
    place[0, 2] = (x0 + 0.5 - (RIM + 0.5 * scale) / scale) * step[0] - 0.5 + 0.5 * step[0] / scale
    place[1, 2] = (y0 + 0.5 - (RIM + 0.5 * scale) / scale) * step[1] - 0.5 + 0.5 * step[1] / scale
    sheets = (_sheet(small, 0, 0, small.shape[1], small.shape[0]), _sheet(small, x0, y0, x1, y1, 0.06))
    steps = np.abs(np.diff(small[:: max(1, len(small) // 64)], axis=1))
    grain = float(np.median(steps)) if steps.size else 0.0  # a crop of one column has no neighbours
    return Ink(soft.astype(np.float32), soft > 0.45, place, dark, (width, height), sheets, grain)


def _sheet(values: Floats, x0: int, y0: int, x1: int, y1: int, margin: float = 0.0) -> Floats:
    """A part of a grey picture as 96 x 96, with a margin (share of the longer side) round it."""
    rim = margin * max(x1 - x0, y1 - y0)
    left, top, wide, high = x0 - rim, y0 - rim, x1 - x0 + 2 * rim, y1 - y0 + 2 * rim
    shrink = max(wide, high) / SHEET
    if shrink > 1.2:  # shrinking by sampling would drop hair lines
        values = np.asarray(cv2.GaussianBlur(values, (0, 0), 0.4 * shrink), np.float32)
    sx, sy = SHEET / wide, SHEET / high
    matrix = np.array([[sx, 0, (0.5 - left) * sx - 0.5], [0, sy, (0.5 - top) * sy - 0.5]])
    return np.asarray(
        cv2.warpAffine(values, matrix, (SHEET, SHEET), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE),
        np.float32,
    )


def _strength(values: Floats) -> tuple[Floats, bool]:
    """Stroke strength 0..1 (0.5 at the threshold) and whether strokes are dark, of a grey picture 0..1."""
    low, high = np.percentile(values, (0.5, 99.5))
    if high - low < LEAST_CONTRAST:
        low, high = float(values.min()), float(values.max())
        if high - low < LEAST_CONTRAST:
            raise ShapeError(
                "The crop is empty: ink and ground do not differ", "", "crop a form, or pick a photo with more contrast"
            )
    byte = (np.clip((values - low) / (high - low), 0, 1) * 255).astype(np.uint8)
    level, _ = cv2.threshold(byte, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    rim = np.concatenate([byte[0], byte[-1], byte[:, 0], byte[:, -1]])
    # What fills the rim is the ground: strokes of a light inlay on black iron are the lighter part.
    dark = bool(np.mean(rim > level) > 0.5)
    shown = byte if dark else 255 - byte
    if np.count_nonzero(np.bincount(byte.ravel())) > 8:  # np.unique takes 3 ms for the same
        # stained paper and oxidised metal: divide by the local ground, a maximum filter smoothed
        # the ground changes slowly: it is found on a small copy, or closing with a wide disc takes most of the time
        high, wide = shown.shape
        shrink = max(1.0, max(shown.shape) / 96)
        copy = cv2.resize(
            shown, (max(1, round(wide / shrink)), max(1, round(high / shrink))), interpolation=cv2.INTER_AREA
        )
        size = max(9, int(max(copy.shape) / 5) | 1)
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
        ground = cv2.morphologyEx(cv2.GaussianBlur(copy, (0, 0), 1.0), cv2.MORPH_CLOSE, disc)
        ground = cv2.resize(cv2.GaussianBlur(ground, (0, 0), size / 3), (wide, high)).astype(np.float32)
        shown = np.clip(shown / np.maximum(ground, 32) * 255, 0, 255).astype(np.uint8)
    level, _ = cv2.threshold(shown, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    below = shown[shown <= level]
    above = shown[shown > level]
    if not len(below) or not len(above):
        raise ShapeError(
            "The crop is empty: ink and ground do not differ", "", "crop a form, or pick a photo with more contrast"
        )
    width = max(6.0, 0.5 * (float(np.median(above)) - float(np.median(below))))
    return np.clip(0.5 + (level + 0.5 - shown.astype(np.float32)) / width, 0, 1).astype(np.float32), dark


def _clean(mask: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Drop specks, and lines that hug the rim (a neighbouring column, the frame of a printed page)."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    if count <= 2:
        return mask
    height, width = mask.shape
    area = stats[1:, cv2.CC_STAT_AREA]
    keep = area >= max(3, 0.004 * area.sum())
    for i in range(count - 1):
        x, y, w, h, size = (int(v) for v in stats[i + 1])
        # A stroke that the crop cuts through lies at the rim as well, so only thin ones of little area go.
        at_rim = x == 0 or y == 0 or x + w == width or y + h == height
        thin = min(w, h) <= 0.12 * max(width, height)
        if at_rim and thin and size < 0.5 * area.sum() and (max(w, h) > 4 * min(w, h) or size < 0.03 * area.sum()):
            keep[i] = False
    if not keep.any():
        return mask
    return np.asarray(np.concatenate([[False], keep])[labels])
