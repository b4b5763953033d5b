"""Learned lines: what a small trained net sees in the thinned lines of a form.

Conventions: the net takes the lines as a grey picture of ``SIDE`` x ``SIDE`` over -``REACH``..``REACH`` (middle of
the lines 0, mean square distance along each axis 1) and gives, for each of 14 x 14 places, a direction of unit
length (196, 32) and a weight (196,) summing to 1, and one vector of unit length for the whole form (128,).
``likeness`` of two forms lets each place find its best partner, the nearer the better; it needs no alignment. How
the net was made is told in ``form_model/README.md``.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.forms.stroke_points import Points

Floats = npt.NDArray[np.float32]
SIDE, REACH, CELLS = 56, 2.5, 14
#: Half width of a drawn line in the units of ``REACH``.
PEN = 0.075
#: What one cell of distance costs, as learnt with the net.
COST_OF_WAY = 0.0153
#: Kept beside stored vectors, so that those of another net are never compared.
KIND = "learned-lines-128-1"
# read by OpenCV's own reader, so that onnxruntime keeps its one door in glyphs
FILE = Path(__file__).parent / "form_model" / "forms.onnx"
_LOCK = threading.Lock()


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What the net sees: ``places`` (196, 32), ``weight`` (196,), ``whole`` (128,)."""

    places: Floats
    weight: Floats
    whole: Floats


@cache
def _net(path: Path) -> Any:
    if not path.is_file():
        raise ShapeError("The net for forms is missing", path.name, "install readaid again")
    return cv2.dnn.readNetFromONNX(str(path))


def draw(points: Points) -> Floats:
    """Lines as the net wants them: float32 (SIDE, SIDE), 1 on a line."""
    at = points.at - points.at.mean(0)
    # By the spread of the lines themselves, as the net was taught: it knows no crop and no margin.
    at = at / max(float(np.sqrt((at**2).mean())), 1e-4)
    fine = SIDE * 4
    spot = np.floor((at / REACH + 1) / 2 * fine).astype(int)
    spot = spot[((spot >= 0) & (spot < fine)).all(1)]
    ground = np.ones((fine, fine), np.uint8)
    ground[spot[:, 1], spot[:, 0]] = 0
    far = cv2.distanceTransform(ground, cv2.DIST_L2, cv2.DIST_MASK_PRECISE).reshape(SIDE, 4, SIDE, 4)
    middle = far[:, 1:3, :, 1:3].mean((1, 3)) * (2 * REACH / fine)
    return np.asarray(np.exp(-0.5 * (middle / PEN) ** 2), np.float32)


def see(points: Points, file: Path | None = None) -> Seen:
    """Run the net on the middle lines of a form."""
    with _LOCK:
        net = _net(file or FILE)
        net.setInput(draw(points)[None, None])
        local, whole = net.forward(["local", "whole"])
    values = local[0].reshape(33, CELLS * CELLS).T
    places = values[:, :32] / (np.linalg.norm(values[:, :32], axis=1, keepdims=True) + 1e-9)
    weight = 1 / (1 + np.exp(-values[:, 32])) + 1e-3
    whole = whole[0] / (np.linalg.norm(whole[0]) + 1e-9)
    return Seen(
        np.ascontiguousarray(places, np.float32),
        np.asarray(weight / weight.sum(), np.float32),
        np.asarray(whole, np.float32),
    )


@cache
def _way() -> Floats:
    """What going from each cell to each other costs, (196, 196)."""
    at = np.stack(np.divmod(np.arange(CELLS * CELLS), CELLS), 1)
    return np.asarray(COST_OF_WAY * ((at[:, None] - at) ** 2).sum(-1), np.float32)


def likeness(a: Seen, b: Seen) -> float:
    """Mean agreement of each place with its best partner, both ways; 1 for the same form, about 0.4 for unrelated
    ones."""
    agree = a.places @ b.places.T - _way()
    return float(agree.max(1) @ a.weight + agree.max(0) @ b.weight) / 2


def shares(a: Seen, b: Seen) -> Floats:
    """What each place of a and of b adds to ``likeness``, (392,); their sum is the likeness."""
    agree = a.places @ b.places.T - _way()
    return np.asarray(np.concatenate([agree.max(1) * a.weight, agree.max(0) * b.weight]) / 2, np.float32)
