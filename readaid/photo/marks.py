"""Marks: where a photo may bear writing, whatever it is made of, and what among the marks is not writing.

Conventions: maps are float32 0..1, (height, width), at a working size where a character is about CHARACTER pixels
across, so that every length below is one of those pixels. A *kind* is "dark" (darker than its surroundings), "light",
or "cut" (a groove under raking light: a bright and a dark flank side by side).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.photo.raster import Floats, Image, Mask, unit

CHARACTER = 32
KINDS = ("dark", "light", "cut")


@dataclass(frozen=True, slots=True)
class Mark:
    """One connected mark: label in the label image, box (left, top, right, bottom), pixels, mean strength, redness."""

    label: int
    left: int
    top: int
    right: int
    bottom: int
    area: int
    strength: float
    red: float

    @property
    def width(self) -> int:
        return self.right - self.left

    @property
    def height(self) -> int:
        return self.bottom - self.top


def at_size(image: Image, character: float) -> Floats:
    """The image as float RGB or grey, resized so that characters of ``character`` pixels become CHARACTER."""
    factor = CHARACTER / character
    size = (max(1, round(image.shape[1] * factor)), max(1, round(image.shape[0] * factor)))
    small = cv2.resize(image, size, interpolation=cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC)
    return np.clip(unit(small), 0, 1)


def strengths(level: Floats) -> tuple[Floats, Floats]:
    """How much each pixel stands out as a dark and as a light stroke, 0..1, relative to the light around it.

    Closing and opening with a disc wider than a stroke (a fifth of a character is a broad one) leave the ground.
    """
    smooth = cv2.GaussianBlur(level, (0, 0), 0.8)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (11, 11))
    quarter = cv2.resize(level, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    # The light around a stroke changes slowly: at a quarter of the size it is the same.
    wide = cv2.GaussianBlur(quarter, (0, 0), CHARACTER / 8)
    ground = cv2.resize(wide, (level.shape[1], level.shape[0]), interpolation=cv2.INTER_LINEAR) + 0.04
    dark = (cv2.morphologyEx(smooth, cv2.MORPH_CLOSE, disc) - smooth) / ground
    light = (smooth - cv2.morphologyEx(smooth, cv2.MORPH_OPEN, disc)) / ground
    return np.asarray(np.clip(dark, 0, 1), np.float32), np.asarray(np.clip(light, 0, 1), np.float32)


def of_kind(dark: Floats, light: Floats, kind: str) -> Floats:
    """The map for one kind of writing; for cuts both flanks, joined over the groove between them."""
    if kind != "cut":
        return dark if kind == "dark" else light
    return np.asarray(cv2.morphologyEx(np.maximum(dark, light), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8)), np.float32)


def without_lines(found: Floats, length: float = 1.7) -> Floats:
    """Take out straight thin lines longer than ``length`` characters: frames, rulings, scratches, edges of a plate.

    A line is what survives a running minimum along it; no stroke inside one sign is as straight and long.
    """
    reach = int(length * CHARACTER / 2)  # at half size: an eighth of the work
    wide = cv2.dilate(found, np.ones((3, 3), np.uint8))[::2, ::2]
    if min(wide.shape) < reach:
        return found
    lines = np.zeros_like(wide)
    for step in range(24):
        angle = np.pi * step / 24
        dx, dy = np.cos(angle), np.sin(angle)
        side = int(np.ceil(reach / 2)) * 2 + 1
        kernel = np.zeros((side, side), np.uint8)
        c = side // 2
        cv2.line(kernel, (round(c - dx * reach / 2), round(c - dy * reach / 2)),
                 (round(c + dx * reach / 2), round(c + dy * reach / 2)), 1, 1)
        lines = np.maximum(lines, cv2.morphologyEx(wide, cv2.MORPH_OPEN, kernel))
    lines = cv2.resize(lines, (found.shape[1], found.shape[0]), interpolation=cv2.INTER_LINEAR)
    # A little more than was found is taken off, or the edge of the line would stay as dust.
    return np.clip(found - 1.15 * cv2.dilate(lines, np.ones((3, 3), np.uint8)), 0, 1)


def mask(found: Floats) -> tuple[Mask, float]:
    """Pixels of marks by two thresholds, and how far the marks stand above the ground's own noise.

    The upper threshold is a share of the strength that strong strokes reach near by (worn places have weaker ones);
    weaker pixels count where they hang together with stronger ones.
    """
    sample = found[::2, ::2]
    middle = float(np.median(sample))
    noise = middle + 2.5 * float(np.median(np.abs(sample - middle))) + 1e-3
    near = cv2.resize(found, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    near = cv2.dilate(near, np.ones((CHARACTER // 4, CHARACTER // 4), np.uint8))
    near = cv2.GaussianBlur(near, (0, 0), CHARACTER / 4)
    peak = float(np.percentile(sample, 99.5))
    # Never below a third of the strongest: on an empty part of the plate grain would be the strongest there is.
    local = np.clip(cv2.resize(near, (found.shape[1], found.shape[0])) * 1.6, 0.35 * peak, peak)
    strong = found > np.maximum(0.42 * local, 2.2 * noise)
    weak = found > np.maximum(0.25 * local, 1.4 * noise)
    _, labels = cv2.connectedComponents(weak.astype(np.uint8), connectivity=8)
    keep = np.zeros(labels.max() + 1, bool)
    keep[np.unique(labels[strong])] = True
    keep[0] = False
    return keep[labels], peak / noise


def marks(found: Floats, where: Mask, colour: Floats | None) -> tuple[NDArray[Any], list[Mark]]:
    """Connected marks that may be strokes or whole signs, and the label image."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(where.astype(np.uint8), connectivity=8)
    flat = labels.ravel()
    sums = np.bincount(flat, found.ravel(), count)
    red: NDArray[Any] = np.zeros(count)
    if colour is not None and colour.ndim == 3:
        red = np.bincount(flat, (colour[..., 0] - colour[..., 1:].mean(axis=2)).ravel(), count)
    out = []
    for label in range(1, count):
        x, y, w, h, area = (int(v) for v in stats[label])
        # Tall ones stay, since a column in running writing may be one mark; wide ones are none.
        if area < 6 or w > 2.6 * CHARACTER or h > 7 * CHARACTER or (w > 1.9 * CHARACTER and h > 1.9 * CHARACTER):
            continue  # dust; pictures, patches and frames
        if area > 0.75 * w * h and area > 0.35 * CHARACTER**2:
            continue  # a filled patch, not strokes
        out.append(Mark(label, x, y, x + w, y + h, area, float(sums[label] / area), float(red[label] / area)))
    return labels, _without_specks(out)


def _without_specks(found: list[Mark]) -> list[Mark]:
    """Leave out pits and dust: small marks with no larger one within a quarter of a character."""
    large = [m for m in found if max(m.width, m.height) >= 0.3 * CHARACTER]
    if not large:
        return []
    boxes = np.array([(m.left, m.top, m.right, m.bottom) for m in large], float)
    near = 0.25 * CHARACTER
    out = []
    for mark in found:
        if max(mark.width, mark.height) < 0.3 * CHARACTER:
            x = np.maximum(0, np.maximum(boxes[:, 0] - mark.right, mark.left - boxes[:, 2]))
            y = np.maximum(0, np.maximum(boxes[:, 1] - mark.bottom, mark.top - boxes[:, 3]))
            if float(np.hypot(x, y).min()) > near:
                continue
        out.append(mark)
    return out
