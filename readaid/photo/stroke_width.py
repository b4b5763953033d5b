"""How wide a cut stroke is on a photograph, and how deep where its surface was computed; each with its error.

Conventions: a crop is (H, W, 3) or (H, W) uint8 of one sign; widths are in pixels of it, "error" is a standard error.
A width is twice the distance from a stroke's middle to its edge, taken at every place of the middle line; neighbouring
places tell the same, so the number of independent places is the length of the middle line in widths. Under one raking
lamp a cut shows one wall lit and one in shade: the edge is where the ground's grey begins again, on both sides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.core.errors import ShapeError

#: Pixels by which every edge may be off the same way, whatever the number of places: the threshold lies somewhere on a
#: slope (drawn strokes of 5 to 20 px came out 0.2 to 0.6 px too narrow).
EDGE = 0.5


@dataclass(frozen=True, slots=True)
class StrokeWidth:
    """Width in pixels, its standard error, and at how many independent places it was measured."""

    width: float
    error: float
    places: int


def measure(crop: NDArray[Any]) -> StrokeWidth:
    """The median width of the strokes on a crop. Raises ShapeError where no stroke stands out from the ground."""
    inside, middle = _stroke(crop)
    distance = cv2.distanceTransform(inside, cv2.DIST_L2, 5)
    widths = 2 * distance[middle] - 1
    width = float(np.median(widths))
    places = max(1, round(len(widths) / max(width, 1.0)))
    spread = float(1.4826 * np.median(np.abs(widths - width)))  # robust: crossings are wider than any stroke
    return StrokeWidth(width, float(np.hypot(spread / places ** 0.5, EDGE)), places)


def depth(crop: NDArray[Any], heights: NDArray[Any]) -> tuple[float, float]:
    """Median depth of the strokes below the ground round them and its standard error, in the unit of ``heights``.

    ``heights``: (H, W), the same place as the crop, growing towards the camera.
    """
    inside, middle = _stroke(crop)
    width = measure(crop)
    far = cv2.dilate(inside, np.ones((3, 3), np.uint8), iterations=max(2, round(width.width)))
    ground = cv2.blur(np.where(inside > 0, 0, heights).astype(np.float32), (31, 31))
    share = cv2.blur((inside == 0).astype(np.float32), (31, 31))
    level = ground / np.maximum(share, 1e-3)
    below = (level - heights)[middle & (far > 0)]
    found = float(np.median(below))
    spread = float(1.4826 * np.median(np.abs(below - found)))
    return found, spread / max(1, width.places) ** 0.5


def _stroke(crop: NDArray[Any]) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """The strokes' area as 0 and 1, and their middle line."""
    values = crop.astype(np.float32)
    grey = values.mean(axis=2) if values.ndim == 3 else values
    side = max(grey.shape) // 3 | 1
    ground = cv2.blur(cv2.medianBlur(np.clip(grey, 0, 255).astype(np.uint8), 5).astype(np.float32), (side, side))
    differs = cv2.GaussianBlur(np.abs(grey - ground), (0, 0), 0.8)
    if float(differs.max()) < 12:
        raise ShapeError("No stroke stands out from the ground", cure="measure under a lower lamp, or draw it")
    _level, mask = cv2.threshold(np.clip(differs, 0, 255).astype(np.uint8), 0, 1, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    closed = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    inside: NDArray[np.uint8] = np.asarray(closed, np.uint8)
    distance = cv2.distanceTransform(inside, cv2.DIST_L2, 5)
    ridge = (distance >= cv2.dilate(distance, np.ones((3, 3), np.uint8)) - 1e-3) & (distance >= 1.5)
    border = np.zeros_like(ridge)
    border[3:-3, 3:-3] = True
    if not (ridge & border).any():
        raise ShapeError("No stroke stands out from the ground", cure="measure under a lower lamp, or draw it")
    return inside, ridge & border
