"""A tracing as a picture, so that letters can be looked for and forms compared in what the reader's hand drew.

Conventions: strokes are lists of (x, y) in any one unit (mm or pixels), y down; a stroke of one point is a dot. The
picture is uint8 (H, W), dark on white, the longer side of the points drawn about ``SIDE`` pixels long.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError

SIDE = 200
#: The pen's width as a share of the longer side. From 3 % to 12 % the right letter of 240 thinned reference forms
#: stayed first (kana 98-99 %, kanji 96-98 %), so the width hardly matters.
PEN = 0.06


def drawn(strokes: Sequence[Sequence[tuple[float, float]]]) -> npt.NDArray[np.uint8]:
    """Draw a tracing. Raises ShapeError where it holds no point, or one that is no number.

    >>> drawn([[(0, 0), (10, 0)], [(5, 3)]]).shape
    (92, 232)
    """
    lines = [np.asarray(stroke, float).reshape(-1, 2) for stroke in strokes if len(stroke)]
    if not lines:
        raise ShapeError("The tracing holds no stroke", cure="draw at least one line")
    every = np.concatenate(lines)
    if not np.isfinite(every).all():
        raise ShapeError("The tracing holds a point that is no number", cure="trace the sign again")
    low, side = every.min(0), float(np.ptp(every, axis=0).max())
    pen = max(2, round(PEN * SIDE))
    scale = SIDE / side if side > 0 else 1.0  # a single dot is a dot, whatever the unit
    wide, high = (np.ceil(np.ptp(every, axis=0) * scale).astype(int) + 2 * pen + 8).tolist()
    page = np.full((high, wide), 255, np.uint8)
    for line in lines:
        at = np.round((line - low) * scale + pen + 4).astype(np.int32)
        cv2.polylines(page, [np.repeat(at, 2, 0) if len(at) == 1 else at], False, 0, pen, cv2.LINE_AA)
    return page
