"""Plate: the whole crop as a sheet of directed edges, for figures too dense to follow line by line.

Conventions: a plate is a grey picture of ``SIDE`` x ``SIDE``, 0..1, seen as ``CELLS`` x ``CELLS`` cells with
``TURNS`` directions modulo pi, each cell scaled by its neighbourhood so that a faint impression counts like a black
one. ``Plate.cells`` holds for each cell itself and its eight neighbours (256, 81). Two plates are compared cell by
cell, each seeking its best partner at most ``WINDOW`` cells away (image distortion model with context: Keysers,
Deselaers, Gollan and Ney, IEEE PAMI 29, 2007).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
SIDE, STEP, TURNS, WINDOW = 96, 6, 9, 2
CELLS = SIDE // STEP
#: What one cell of way costs, squared with the way (tuned on printed crests).
COST_OF_WAY = 3e-4


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """Cells with their neighbours, (256, 81) float32, and their squared lengths (256,)."""

    cells: Floats
    size: Floats


def plate(picture: Floats) -> Plate:
    """Make a plate of a grey picture (SIDE, SIDE) float32 0..1.

    >>> plate(np.zeros((96, 96), np.float32)).cells.shape
    (256, 81)
    """
    gx, gy = cv2.Sobel(picture, -1, 1, 0, scale=1 / 8), cv2.Sobel(picture, -1, 0, 1, scale=1 / 8)
    turn = (np.arctan2(gy, gx) % np.pi) / np.pi * TURNS
    first = np.floor(turn).astype(int)
    rest = turn - first
    size = np.hypot(gx, gy)
    layers = np.zeros((TURNS, SIDE, SIDE), np.float32)
    ys, xs = np.mgrid[:SIDE, :SIDE]
    layers[first % TURNS, ys, xs] += size * (1 - rest)
    layers[(first + 1) % TURNS, ys, xs] += size * rest
    rows = _rows()
    found = np.ascontiguousarray((rows @ layers @ rows.T).transpose(1, 2, 0))
    # by its neighbourhood: a plain product of cells let dark ones attract everything
    around = np.sqrt(cv2.GaussianBlur((found**2).sum(-1), (0, 0), 1.0) + 1e-4)
    # Capped: a single black line in an empty corner would else count like the whole figure.
    found = np.sqrt(np.minimum(found / around[..., None], 0.6))
    found /= np.sqrt((found**2).sum()) + 1e-9
    wide = np.pad(found, ((1, 1), (1, 1), (0, 0)))
    cells = np.concatenate([wide[y : y + CELLS, x : x + CELLS] for y in range(3) for x in range(3)], -1)
    cells = np.ascontiguousarray(cells.reshape(CELLS * CELLS, -1), np.float32)
    return Plate(cells, np.asarray((cells**2).sum(1), np.float32))


@cache
def _rows() -> Floats:
    """Smoothing and sampling of the 96 rows into 16, as a matrix."""
    kernel = cv2.getGaussianKernel(25, STEP / 2, cv2.CV_32F)
    smooth = cv2.sepFilter2D(np.eye(SIDE, dtype=np.float32), -1, np.ones((1, 1), np.float32), kernel)
    return np.asarray(smooth[STEP // 2 :: STEP], np.float32)


@cache
def _way() -> Floats:
    at = np.stack(np.divmod(np.arange(CELLS * CELLS), CELLS), 1)
    far = at[:, None] - at
    # Two cells away at most: with more room any figure can be made of any other.
    return np.where(np.abs(far).max(-1) <= WINDOW, COST_OF_WAY * (far**2).sum(-1), 1e3).astype(np.float32)


def distance(a: Plate, b: Plate) -> float:
    """Sum over the cells of both of the least difference; 0 for the same plate, about 3.8 for unrelated crests."""
    cost = a.size[:, None] + b.size - 2 * a.cells @ b.cells.T + _way()
    return float(cost.min(1).sum() + cost.min(0).sum())
