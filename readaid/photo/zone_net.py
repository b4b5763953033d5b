"""Signs found by a small net: a fully convolutional one, trained on made-up pieces of freely licensed fonts.

Conventions: images are float RGB or grey 0..1 at a working size where a usual sign is about UNIT pixels; boxes (left,
top, right, bottom) in pixels of that image. The net answers for each cell of STRIDE pixels. ``data/train_zones`` says
how it was trained; ``maps`` must stay equal to ``prepared`` there. It runs through OpenCV's own reader.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.photo.raster import Floats
from readaid.photo.strips import Sides

FILE = Path(__file__).parent / "zone_model" / "zones.onnx"
STRIDE, UNIT, STEP = 4, 32, 32
#: A middle less likely than this is not looked at.
LEAST = 0.12
_KERNEL, _SIGMA = 25, 4.0
_LOCK = threading.Lock()


@dataclass(frozen=True, slots=True)
class Spot(Sides):
    """One sign as the net sees it, and how sure it is of its middle."""

    left: float
    top: float
    right: float
    bottom: float
    sure: float


def there(file: Path | None = None) -> bool:
    """Whether the net is installed."""
    return (file or FILE).is_file()


@cache
def _net(path: Path) -> Any:
    return cv2.dnn.readNetFromONNX(str(path))


def _around(x: Floats) -> Floats:
    """Smooth surroundings, worked out at quarter size."""
    small = cv2.resize(x, (x.shape[1] // 4, x.shape[0] // 4), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (_KERNEL, _KERNEL), _SIGMA, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(cv2.resize(small, (x.shape[1], x.shape[0]), interpolation=cv2.INTER_LINEAR), np.float32)


def maps(image: Floats) -> Floats:
    """Grey and redness less their surroundings: float32 (2, h, w), sides filled up to whole STEPs with the edge."""
    h, w = image.shape[:2]
    full: Floats = np.asarray(cv2.copyMakeBorder(image.astype(np.float32), 0, -h % STEP, 0, -w % STEP,
                                                 cv2.BORDER_REPLICATE), np.float32)
    if full.ndim == 2:
        level, red = full, np.zeros_like(full)
    else:
        level = np.asarray(full @ np.array([0.299, 0.587, 0.114], np.float32), np.float32)
        red = np.asarray(full[..., 0] - (full[..., 1] + full[..., 2]) / 2, np.float32)
        red = np.asarray(8 * (red - _around(red)), np.float32)
    away = np.asarray(level - _around(level), np.float32)
    spread = np.sqrt(_around(np.asarray(away * away, np.float32)) + 1e-4)
    return np.stack([np.clip(away / (spread + 0.01), -4, 4), np.clip(red, -3, 3)]).astype(np.float32)


def cells(image: Floats, file: Path | None = None) -> Floats:
    """What the net says of each cell, (6, h, w) / STRIDE: see ``data/train_zones/net.py``."""
    with _LOCK:
        net = _net(file or FILE)
        net.setInput(maps(image)[None])
        out = net.forward()[0]
    return np.asarray(out[:, :-(-image.shape[0] // STRIDE), :-(-image.shape[1] // STRIDE)], np.float32)


def spots(image: Floats, file: Path | None = None) -> list[Spot]:
    """Signs in the image, the surest first, none over another."""
    out = cells(image, file)
    sure = 1 / (1 + np.exp(-out[0]))
    # Of neighbouring cells the surest one answers for the sign; equal ones both, and one of them goes below.
    peak = (sure >= cv2.dilate(sure, np.ones((3, 3), np.uint8)) - 1e-7) & (sure > LEAST)
    rows, columns = np.where(peak)
    x = (columns + 0.5 + out[1, rows, columns]) * STRIDE
    y = (rows + 0.5 + out[2, rows, columns]) * STRIDE
    w = UNIT * np.exp(np.clip(out[3, rows, columns], -4, 3))
    h = UNIT * np.exp(np.clip(out[4, rows, columns], -4, 3))
    boxes = np.stack([x - w / 2, y - h / 2, x + w / 2, y + h / 2], 1)
    boxes[:, 0::2] = np.clip(boxes[:, 0::2], 0, image.shape[1])
    boxes[:, 1::2] = np.clip(boxes[:, 1::2], 0, image.shape[0])
    value = sure[rows, columns]
    keep = alone(boxes, value)
    return [Spot(float(a), float(b), float(c), float(d), float(v))
            for (a, b, c, d), v in zip(boxes[keep], value[keep], strict=True)]


def alone(boxes: NDArray[Any], value: NDArray[Any], most: float = 0.4, within: float = 0.7) -> list[int]:
    """Numbers of the boxes left when, of two over one another, the surer stays."""
    left = list(np.argsort(-value, kind="stable"))
    out: list[int] = []
    area = np.maximum(1e-3, boxes[:, 2] - boxes[:, 0]) * np.maximum(1e-3, boxes[:, 3] - boxes[:, 1])
    rest = np.array(left, int)
    while len(rest):
        i, rest = int(rest[0]), rest[1:]
        out.append(i)
        w = np.minimum(boxes[i, 2], boxes[rest, 2]) - np.maximum(boxes[i, 0], boxes[rest, 0])
        h = np.minimum(boxes[i, 3], boxes[rest, 3]) - np.maximum(boxes[i, 1], boxes[rest, 1])
        both = np.maximum(0, w) * np.maximum(0, h)
        # The second is for a part inside a sign: by overlap alone a dot within 国 would stay beside it.
        clash = (both > most * (area[i] + area[rest] - both)) | (both > within * np.minimum(area[i], area[rest]))
        rest = rest[~clash]
    return out
