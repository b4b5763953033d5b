"""Descriptor: the oriented lines of a form as a fixed vector, also under small changes of shape.

Conventions: a form's points in normal units are sorted into ``GRID`` x ``GRID`` cells over -``REACH``..``REACH`` and
``TURNS`` directions modulo pi, smoothed, square-rooted and scaled to length 1 (after Dalal and Triggs, CVPR 2005,
histograms of oriented gradients, here from points so that a change of shape is a product of matrices). Vectors are
float32.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from readaid.forms.stroke_points import Points

Floats = npt.NDArray[np.float32]
GRID, TURNS, REACH = 14, 8, 2.5
#: Name kept beside every stored descriptor, so that vectors of another making are never compared.
KIND = f"oriented-lines-{GRID}x{GRID}x{TURNS}-1"


@cache
def smoothing(size: int, blur: float) -> Floats:
    """Gaussian smoothing along one side of a grid of ``size`` cells, as a matrix (size, size)."""
    cells = np.arange(size)
    weight = np.exp(-0.5 * ((cells[:, None] - cells) / blur) ** 2)
    return np.asarray(weight / weight[size // 2].sum(), np.float32)


def maps(points: Points, changes: npt.NDArray[np.float64], blur: float = 0.8) -> Floats:
    """Direction maps of a form under each of ``changes`` (t, 2, 3): float32 (t, TURNS, GRID, GRID).

    >>> line = Points(np.array([[0, 0], [1, 0]], np.float32), np.zeros(2, np.float32), np.full(2, 0.5, np.float32))
    >>> maps(line, np.eye(2, 3)[None]).shape
    (1, 8, 14, 14)
    """
    t = len(changes)
    linear = changes[:, :, :2].astype(np.float32)
    at = points.at @ linear.transpose(0, 2, 1) + changes[:, None, :, 2].astype(np.float32)
    along = np.stack([np.cos(points.angle), np.sin(points.angle)], 1) @ linear.transpose(0, 2, 1)
    # Modulo half a turn: an edge read from the other side is the same edge.
    turn = np.arctan2(along[..., 1], along[..., 0]) % np.pi / np.pi * TURNS
    weight = (np.hypot(along[..., 0], along[..., 1]) * points.weight).astype(np.float32)
    cell = np.clip((at / REACH + 1) / 2 * (GRID - 1), 0, GRID - 1.001)
    low = np.floor(cell).astype(np.int64)
    part = cell - low
    first = np.floor(turn).astype(np.int64)
    rest = turn - first
    which = np.arange(t)[:, None]
    out = np.zeros(t * TURNS * GRID * GRID)
    for dx in (0, 1):
        wx = part[..., 0] if dx else 1 - part[..., 0]
        for dy in (0, 1):
            wxy = wx * (part[..., 1] if dy else 1 - part[..., 1]) * weight
            for do in (0, 1):
                index = ((which * TURNS + (first + do) % TURNS) * GRID + low[..., 1] + dy) * GRID + low[..., 0] + dx
                out += np.bincount(index.ravel(), (wxy * (rest if do else 1 - rest)).ravel(), minlength=len(out))
    found = out.reshape(t * TURNS, GRID, GRID).astype(np.float32)
    kernel = smoothing(GRID, blur)
    smooth = (kernel @ found @ kernel.T).reshape(t, TURNS, GRID, GRID)
    return np.asarray(smooth + 0.25 * (np.roll(smooth, 1, 1) + np.roll(smooth, -1, 1)), np.float32)


def vectors(points: Points, changes: npt.NDArray[np.float64], blur: float = 0.8) -> Floats:
    """Descriptors (t, TURNS * GRID * GRID) of a form under each of ``changes`` (t, 2, 3)."""
    # Square roots, so that one long stroke does not outweigh all the others.
    flat = np.sqrt(maps(points, changes, blur).reshape(len(changes), -1))
    return np.asarray(flat / (np.linalg.norm(flat, axis=1, keepdims=True) + 1e-9), np.float32)


def descriptor(points: Points) -> Floats:
    """The descriptor of a form as it stands, (TURNS * GRID * GRID,) float32 of length 1."""
    return np.asarray(vectors(points, np.eye(2, 3)[None])[0])
