"""Context: each point of a form with the lines around it, compared with the points of another.

Conventions: points and changes in normal units (see ``form``, ``transform``). A point's surroundings are 5 x 5 samples,
``STEP`` apart, of a fine map of directed lines (``TURNS``, ``CELLS``, ``CELLS``) over -``REACH``..``REACH``. The
distance of two forms is the mean, over the points of both, of the least difference of surroundings plus the way
between the points: an image distortion model (Keysers, Deselaers, Gollan and Ney, IEEE PAMI 29, 2007) on points in
place of pixels. 0 for the same form.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from readaid.forms.descriptor import smoothing
from readaid.forms.stroke_points import Points
from readaid.forms.transform import Matrix

Floats = npt.NDArray[np.float32]
CELLS, TURNS, REACH, STEP, BLUR = 24, 8, 2.6, 0.32, 1.0
#: What a way of one mean radius costs, squared with the way (tuned on drawn signs of half the scripts, checked on
#: the rest).
COST_OF_WAY = 0.03
_OFFSETS = np.stack(np.meshgrid(np.arange(-2, 3), np.arange(-2, 3)), -1).reshape(-1, 2).astype(np.float32)
_FADE = np.exp(-0.5 * (_OFFSETS**2).sum(1) / 1.5**2).astype(np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Surroundings:
    """Points ``at`` (n, 2) and the lines ``around`` each (n, 200), of unit scale for the whole form."""

    at: Floats
    around: Floats


def moved(points: Points, change: Matrix) -> Points:
    """Points under a change of shape, directions and weights with them."""
    linear = change[:, :2].astype(np.float32)
    along = np.stack([np.cos(points.angle), np.sin(points.angle)], 1) @ linear.T
    angle = np.asarray(np.arctan2(along[:, 1], along[:, 0]) % np.pi, np.float32)
    return Points(
        np.asarray(points.at @ linear.T + change[:, 2].astype(np.float32), np.float32),
        angle,
        points.weight * np.hypot(along[:, 0], along[:, 1]),
    )


def fine_map(points: Points) -> Floats:
    """Square root of the density of directed lines, (CELLS, CELLS, TURNS), of length 1 as a whole."""
    cell = np.clip((points.at / REACH + 1) / 2 * (CELLS - 1), 0, CELLS - 1.001)
    low = cell.astype(np.int64)
    part = cell - low
    turn = points.angle / np.pi * TURNS
    first = turn.astype(np.int64)
    rest = turn - first
    index = np.empty((8, len(cell)), np.int64)
    weight = np.empty((8, len(cell)), np.float32)
    row = 0
    for dx in (0, 1):
        wx = (part[:, 0] if dx else 1 - part[:, 0]) * points.weight
        for dy in (0, 1):
            wxy = wx * (part[:, 1] if dy else 1 - part[:, 1])
            for do in (0, 1):
                index[row] = (((first + do) % TURNS) * CELLS + low[:, 1] + dy) * CELLS + low[:, 0] + dx
                weight[row] = wxy * (rest if do else 1 - rest)
                row += 1
    found = np.bincount(index.ravel(), weight.ravel(), minlength=TURNS * CELLS * CELLS)
    layers: Floats = found.reshape(TURNS, CELLS, CELLS).astype(np.float32)
    kernel = smoothing(CELLS, BLUR)
    layers = np.asarray(kernel @ layers @ kernel.T, np.float32)
    # the root lets a faint hairline count beside a heavy stroke, as with histograms of gradients
    layers = np.asarray(np.sqrt(layers + 0.25 * (np.roll(layers, 1, 0) + np.roll(layers, -1, 0))), np.float32)
    size = float(np.sqrt((layers**2).sum())) + 1e-9
    return np.asarray(np.ascontiguousarray(layers.transpose(1, 2, 0)) / np.float32(size), np.float32)


def surroundings(edges: Points, middles: Points, change: Matrix | None = None) -> Surroundings:
    """Surroundings of the ``middles``, seen in a map of the ``edges``, both under ``change``."""
    if change is not None:
        edges, middles = moved(edges, change), moved(middles, change)
    flat = fine_map(edges).reshape(-1, TURNS)
    at = (middles.at[:, None] + STEP * _OFFSETS) / REACH
    cell = np.clip((at + 1) / 2 * (CELLS - 1), 0, CELLS - 1.001).astype(np.float32)
    low = cell.astype(np.int64)
    x, y = (cell - low).transpose(2, 0, 1)[..., None]
    index = low[..., 1] * CELLS + low[..., 0]
    values = (1 - y) * ((1 - x) * flat[index] + x * flat[index + 1])
    values += y * ((1 - x) * flat[index + CELLS] + x * flat[index + CELLS + 1])
    values *= _FADE[:, None]
    return Surroundings(middles.at, values.reshape(len(index), -1))


def distance(a: Surroundings, b: Surroundings) -> float:
    """Mean least difference of points of a and b, both ways summed; about 0.1 for one hand, 0.3 for unrelated forms."""
    way = ((a.at**2).sum(1)[:, None] + (b.at**2).sum(1) - 2 * a.at @ b.at.T) * np.float32(COST_OF_WAY)
    cost = (a.around**2).sum(1)[:, None] + (b.around**2).sum(1) - 2 * a.around @ b.around.T + way
    return float(cost.min(1).mean() + cost.min(0).mean())
