"""Strokes: the middle lines and edges of ink, as points with a direction.

Conventions: masks are bool (h, w); points are float32 (n, 2) as (x, y) in canvas pixels; directions are
angles in radians of the line's tangent, taken modulo pi (a stroke has no sense of travel).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Points on strokes: ``at`` (n, 2), ``angle`` (n,) radians modulo pi, ``weight`` (n,) summing to 1."""

    at: Floats
    angle: Floats
    weight: Floats


def some(points: Points, most: int) -> Points:
    """At most ``most`` of the points, evenly taken."""
    if len(points.at) <= most:
        return points
    step = np.linspace(0, len(points.at) - 1, most).astype(int)
    weight = points.weight[step]
    return Points(points.at[step], points.angle[step], np.asarray(weight / weight.sum(), np.float32))


def _tables() -> tuple[Mask, Mask]:
    """The two deletion tables of thinning, one entry per pattern of eight neighbours."""
    first, second = np.zeros(256, bool), np.zeros(256, bool)
    for pattern in range(256):
        n = [(pattern >> i) & 1 for i in range(8)]  # north, then clockwise
        rises = sum(n[i] == 0 and n[(i + 1) % 8] == 1 for i in range(8))
        if 2 <= sum(n) <= 6 and rises == 1:
            first[pattern] = not (n[0] and n[2] and n[4]) and not (n[2] and n[4] and n[6])
            second[pattern] = not (n[0] and n[2] and n[6]) and not (n[0] and n[4] and n[6])
    return first, second


_DELETE = _tables()
_CODE = np.array([[128, 1, 2], [64, 0, 4], [32, 16, 8]], np.float32)


def neighbour_code(mask: Mask) -> npt.NDArray[np.uint8]:
    """Pattern of the eight neighbours of each pixel, bit 0 north, then clockwise."""
    code = cv2.filter2D(mask.astype(np.float32), -1, _CODE, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(code.astype(np.uint8))


def thin(mask: Mask) -> Mask:
    """Thin strokes to lines one pixel wide (Zhang and Suen, Communications of the ACM 27, 1984, 236-239).

    >>> bar = np.zeros((7, 12), bool); bar[2:5, 2:10] = True
    >>> int(thin(bar).sum(axis=0).max())
    1
    """
    lines = np.pad(mask, 1)
    changed = True
    while changed:
        changed = False
        for table in _DELETE:
            gone = table[neighbour_code(lines)] & lines
            if gone.any():
                lines = lines & ~gone
                changed = True
    return lines[1:-1, 1:-1]


def _directions(image: Floats, reach: float) -> tuple[Floats, Floats]:
    """Tangent angle of the grey structure around each pixel, and how much of one direction it has (0..1)."""
    gx, gy = cv2.Sobel(image, -1, 1, 0), cv2.Sobel(image, -1, 0, 1)
    xx, yy, xy = (cv2.GaussianBlur(v, (0, 0), reach) for v in (gx * gx, gy * gy, gx * gy))
    angle = 0.5 * np.arctan2(2 * xy, xx - yy) + np.pi / 2
    return np.asarray(angle % np.pi), np.asarray(np.hypot(2 * xy, xx - yy) / (xx + yy + 1e-9))


def middle_points(lines: Mask) -> Points:
    """One point per pixel of thinned ``lines``, with the direction of the line there."""
    smooth = np.asarray(cv2.GaussianBlur(lines.astype(np.float32), (0, 0), 1.5), np.float32)
    angle, _ = _directions(smooth, 2.0)
    ys, xs = np.nonzero(lines)
    at = np.stack([xs, ys], 1).astype(np.float32)
    return Points(at, angle[ys, xs], np.full(len(at), 1 / max(len(at), 1), np.float32))


def edge_points(soft: Floats, most: int = 600) -> Points:
    """Points where ink begins or ends, weighted by the strength of the edge; at most ``most`` of them."""
    smooth = cv2.GaussianBlur(soft, (0, 0), 1.0)
    gx, gy = cv2.Sobel(smooth, -1, 1, 0), cv2.Sobel(smooth, -1, 0, 1)
    size = np.hypot(gx, gy)
    ys, xs = np.nonzero(size > 0.15 * size.max())
    if len(xs) > most:
        step = np.linspace(0, len(xs) - 1, most).astype(int)
        ys, xs = ys[step], xs[step]
    weight = size[ys, xs]
    return Points(
        np.stack([xs, ys], 1).astype(np.float32),
        np.asarray((np.arctan2(gy[ys, xs], gx[ys, xs]) + np.pi / 2) % np.pi, np.float32),
        np.asarray(weight / weight.sum(), np.float32),
    )
