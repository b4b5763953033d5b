"""From a crop to what the model sees: 48 x 48, ink (or cut) high, the same size always.

Conventions: crops are grey (H, W) float32, 0..1; windows are (48, 48) float32, 0..1.
The grey range is stretched, the polarity turned so that strokes are high, and the place
and size taken from the mass of what differs from the ground (its mean and spread and
the span that holds 98 % of it), so that a speck or a neighbour's tip moves little. The
shorter side is widened (power 0.6), so that し and 一 keep some body. The training
code does the same on the GPU; ``tests/glyphs`` holds the two together.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.photo.ink import Crop, Floats, grey

SIZE = 48
#: Longer side in pixels to which larger crops are reduced before anything else; training crops are up to 64.
LONGEST = 56
#: Half the longer side of the character in the window, in pixels.
ROOM = 20.0
#: A crop must have some range of greys (0..1), else there is no stroke in it.
LEAST_RANGE = 0.04
LEAST_SIDE = 4
#: Views averaged at run time: shift in x and y (pixels of the window) and scale.
VIEWS = ((0.0, 0.0, 1.0), (1.5, 1.0, 1.06), (-1.5, -1.0, 0.94))


def values(image: Crop) -> Floats:
    """Read a crop as grey 0..1 and refuse what cannot hold a character. Raises ShapeError."""
    if isinstance(image, np.ndarray):
        if np.issubdtype(image.dtype, np.floating) and not np.isfinite(image).all():
            raise ShapeError("The crop holds values that are not numbers", f"shape {image.shape}",
                             "give a picture without NaN or infinity")
        if image.dtype.kind not in "uifb":
            raise ShapeError("The array is no picture", f"dtype {image.dtype}", "give uint8, (H, W) or (H, W, 3)")
        if image.dtype.kind in "iu" and image.dtype not in (np.uint8, np.uint16):
            if image.size and (image.min() < 0 or image.max() > 255):
                raise ShapeError("The array is no picture", f"dtype {image.dtype}",
                                 "give values from 0 to 255 as uint8")
            image = image.astype(np.uint8)
    out = grey(image)
    if min(out.shape) < LEAST_SIDE:
        raise ShapeError("The crop is too small to hold a character", f"{out.shape[1]} x {out.shape[0]} pixels",
                         "draw the zone larger")
    return out


def window(crop: npt.NDArray[Any]) -> Floats:
    """Bring a grey crop (H, W), 0..1, to the model's window (48, 48).

    Raises ShapeError when the crop is even: empty, no stroke.

    >>> page = np.ones((60, 40), np.float32); page[10:50, 18:22] = 0
    >>> seen = window(page)
    >>> seen.shape, bool(seen[24, 24] > 0.5 > seen[2, 2])
    ((48, 48), True)
    """
    x = np.asarray(crop, np.float32)
    reduce = LONGEST / max(x.shape)
    if reduce < 1:
        size = (max(2, round(x.shape[1] * reduce)), max(2, round(x.shape[0] * reduce)))
        x = np.asarray(cv2.resize(x, size, interpolation=cv2.INTER_AREA), np.float32)
    dark, low, high, light = (float(v) for v in np.quantile(x, (0.01, 0.35, 0.65, 0.99)))
    if float(x.max() - x.min()) < LEAST_RANGE:
        raise ShapeError("There is no stroke in the crop", f"grey range {float(x.max() - x.min()):.2f} of 1",
                         "move the zone, or pick a view with more contrast")
    if light - dark < 0.25 * float(x.max() - x.min()):  # a hair line or a dot fills less than 1 % of the crop
        dark, light = float(x.min()), float(x.max())
    span = light - dark
    x = np.clip((x - dark) / span, 0, 1)
    rim = (x[0].mean() + x[-1].mean() + x[:, 0].mean() + x[:, -1].mean()) / 4
    ground = (low - dark) / span
    if (x.mean() - 0.5) + 0.5 * (rim - 0.5) > 0:  # the ground is light: strokes are made high
        x, ground = 1 - x, 1 - (high - dark) / span
    ground = float(np.clip(ground, 0, 1))
    away = np.abs(x - ground)
    top = float(np.sort(away, axis=None)[int(0.98 * (away.size - 1))])
    energy = np.clip(away - 0.35 * top, 0, None).astype(np.float64) + 1e-9
    (cx, hx), (cy, hy) = _place(energy.sum(0)), _place(energy.sum(1))
    long = max(hx, hy)
    scales = [h / (ROOM * (h / long) ** 0.6) for h in (hx, hy)]
    matrix = np.array([[scales[0], 0, cx - 0.5 - scales[0] * (SIZE / 2 - 0.5)],
                       [0, scales[1], cy - 0.5 - scales[1] * (SIZE / 2 - 0.5)]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(x.astype(np.float32), matrix, (SIZE, SIZE), flags=flags,
                                     borderMode=cv2.BORDER_CONSTANT, borderValue=ground), np.float32)


def _place(mass: npt.NDArray[np.float64]) -> tuple[float, float]:
    """Centre and half extent (pixels) of a profile: between its span of 98 % and 1.85 times its spread."""
    share = mass / mass.sum()
    run = share.cumsum()
    ends = []
    for q in (0.01, 0.99):
        k = min(int(np.searchsorted(run, q)), len(run) - 1)
        before = run[k - 1] if k else 0.0
        ends.append(k + min(max((q - before) / max(share[k], 1e-9), 0.0), 1.0))
    place = np.arange(len(share)) + 0.5
    mean = float((share * place).sum())
    spread = float(np.sqrt((share * (place - mean) ** 2).sum()))
    return ((ends[0] + ends[1]) / 2 + mean) / 2, max(((ends[1] - ends[0]) / 2 + 1.85 * spread) / 2, 0.75)


def views(seen: Floats) -> Floats:
    """The window and its shifted and scaled neighbours, (n, 1, 48, 48)."""
    out = [seen]
    for dx, dy, scale in VIEWS[1:]:
        middle = (SIZE / 2 - 0.5) * (1 - scale)
        matrix = np.array([[scale, 0, middle + dx], [0, scale, middle + dy]])
        out.append(np.asarray(cv2.warpAffine(seen, matrix, (SIZE, SIZE), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                                             borderMode=cv2.BORDER_REPLICATE), np.float32))
    return np.stack(out)[:, None]
