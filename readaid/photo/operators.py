"""The image operators behind the views.

Conventions: uint8 RGB in and out, (height, width, 3), the same size; lengths in pixels of the array given. Blurs are
cut off where their ``reach`` says, edges are mirrored. Each operator is pure.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.photo.raster import Bytes, Floats, fitted, grey

_LUMA = np.array([0.299, 0.587, 0.114], np.float32)
_CHROMA = np.array([[-0.168736, -0.331264, 0.5], [0.5, -0.418688, -0.081312]], np.float32)  # ITU-R BT.601 Cb, Cr
_FIELD = 160  # px: the light of a whole photo changes slowly, a small field holds it


def light_field(image: Bytes, size: float) -> Floats:
    """The slowly changing light of a photo, 0..1, a small (height, width); ``size`` is the patch as share of the longer
    side. The 75th percentile of each patch, not its mean: dense writing would darken a mean."""
    small, _ = fitted(grey(image), _FIELD)
    side = max(3, int(size * max(small.shape)) | 1)
    levels = np.asarray(cv2.blur(small, (3, 3)), np.float32)
    high = _rank(levels, side, 0.75)
    return np.asarray(cv2.GaussianBlur(high, (0, 0), side / 3, borderType=cv2.BORDER_REFLECT), np.float32)


def _rank(levels: Floats, side: int, share: float) -> Floats:
    """Local percentile by interpolating box-filtered counts of 33 levels: one blur each, whatever the patch."""
    steps = np.linspace(0, 1, 33, dtype=np.float32)
    counts = np.stack([cv2.blur((levels <= s).astype(np.float32), (side, side), borderType=cv2.BORDER_REFLECT)
                       for s in steps])
    index = np.argmax(counts >= share, axis=0)
    above = np.take_along_axis(counts, index[None], 0)[0]
    below = np.where(index > 0, np.take_along_axis(counts, np.maximum(index - 1, 0)[None], 0)[0], 0.0)
    part = np.where(above > below, (share - below) / np.maximum(above - below, 1e-6), 0.0)
    return np.asarray(np.clip((index - 1 + part) / 32, 0, 1), np.float32)


def even_light(image: Bytes, field: Floats, frame: tuple[float, float, float, float], strength: float) -> Bytes:
    """Divide by the light field of the whole photo, at its mean brightness; ``frame`` is the part's place."""
    rows, columns = image.shape[:2]
    x = ((frame[0] + (frame[2] - frame[0]) * (np.arange(columns) + 0.5) / columns) * field.shape[1] - 0.5)
    y = ((frame[1] + (frame[3] - frame[1]) * (np.arange(rows) + 0.5) / rows) * field.shape[0] - 0.5)
    here = cv2.remap(field, np.tile(x.astype(np.float32), (rows, 1)),
                     np.tile(y.astype(np.float32)[:, None], (1, columns)), cv2.INTER_LINEAR,
                     borderMode=cv2.BORDER_REPLICATE)
    # Never divided by less than a fiftieth: in black corners there is only noise to brighten.
    gain = (max(float(field.mean()), 0.02) / np.maximum(here, 0.02)) ** strength
    return np.asarray(np.clip(image * gain[:, :, None] + 0.5, 0, 255), np.uint8)


def local_contrast(image: Bytes, patch: float, gain: float) -> Bytes:
    """Stretch each place by its surroundings' spread; colour is carried along."""
    level = grey(image)
    sigma = max(patch, 0.7)
    mean = blurred(level, sigma)
    spread = np.sqrt(np.maximum(blurred(level * level, sigma) - mean * mean, 0)) + 0.02
    wanted = 0.5 + 0.22 * (level - mean) / spread
    new = (1 - gain) * level + gain * wanted
    return np.asarray(np.clip((image + 255 * (new - level)[:, :, None]) + 0.5, 0, 255), np.uint8)


def blurred(level: Floats, sigma: float) -> Floats:
    """Gaussian blur cut off at three sigma; edges mirrored. Wide ones as three box blurs, a tenth of the time."""
    if sigma > 6:
        side = 2 * round((np.sqrt(4 * sigma * sigma + 1) - 1) / 2) + 1  # 3 (side**2 - 1) / 12 = sigma**2
        for _ in range(3):
            level = np.asarray(cv2.blur(level, (side, side), borderType=cv2.BORDER_REFLECT), np.float32)
        return level
    side = 2 * int(np.ceil(3 * sigma)) + 1
    return np.asarray(cv2.GaussianBlur(level, (side, side), sigma, borderType=cv2.BORDER_REFLECT), np.float32)


def stain_model(image: Bytes) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Straight-line fit of log brightness on log colour ratios over the whole photo: (mean colour, weights)."""
    small, _ = fitted(image, 320)
    logs, chroma = _log_colour(small)
    middle = np.concatenate([[logs.mean()], chroma.reshape(-1, 2).mean(axis=0)])
    a = chroma.reshape(-1, 2) - middle[1:]
    b = logs.ravel() - middle[0]
    keep = np.abs(b) < 2.5 * b.std() + 1e-6  # strokes and highlights are not stain
    weights = np.linalg.solve(a[keep].T @ a[keep] + 1e-3 * keep.sum() * np.eye(2) * 0.01, a[keep].T @ b[keep])
    return middle, weights


def _log_colour(image: Bytes) -> tuple[Floats, Floats]:
    channels = np.log((image.astype(np.float32) + 4) / 259)
    mean = channels.mean(axis=2)
    return mean, np.stack([channels[..., 0] - mean, channels[..., 2] - mean], axis=-1)


def stain_off(image: Bytes, model: tuple[NDArray[np.float64], NDArray[np.float64]], strength: float) -> Bytes:
    """Grey image: log brightness less the share that the colour predicts."""
    middle, weights = model
    logs, chroma = _log_colour(image)
    rest = logs - strength * ((chroma - middle[1:]) @ weights)
    level = np.clip(np.exp(rest) * 259 - 4 + 0.5, 0, 255).astype(np.uint8)
    return np.repeat(level[:, :, None], 3, axis=2)


def colour_model(image: Bytes) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean and whitening matrix of the colours of the whole photo, from the eigenvectors of their covariance."""
    values = fitted(image, 320)[0].reshape(-1, 3).astype(np.float64)
    spread, axes = np.linalg.eigh(np.cov(values.T) if len(values) > 1 else np.zeros((3, 3)))
    return values.mean(axis=0), (axes / np.sqrt(np.maximum(spread, 0.5))) @ axes.T


def colours_apart(image: Bytes, model: tuple[NDArray[np.float64], NDArray[np.float64]], spread: float) -> Bytes:
    """Decorrelation stretch: every principal colour axis is given the same spread round mid grey."""
    mean, matrix = model
    moved = (image.astype(np.float32) - mean.astype(np.float32)) @ (matrix * spread).astype(np.float32)
    return np.asarray(np.clip(moved + 128 + 0.5, 0, 255), np.uint8)


def ridges(level: Floats, width: float) -> tuple[Floats, Floats]:
    """Strength of dark and of light lines of about ``width`` pixels, from the eigenvalues of the Hessian.

    Scaled by sigma squared, sigma = width / (2 sqrt 3): a bar of that width answers most strongly there
    (Lindeberg 1998, ridge strength). The same as scikit-image's ``sato`` at one sigma.
    """
    sigma = max(width / (2 * np.sqrt(3)), 0.5)
    smooth = blurred(level, sigma)
    dy, dx = np.gradient(smooth)
    yy, yx = np.gradient(dy)
    _, xx = np.gradient(dx)
    half = (yy + xx) / 2
    root = np.sqrt(((yy - xx) / 2) ** 2 + yx**2)
    return (np.maximum(half + root, 0) * sigma**2).astype(np.float32), (
        np.maximum(-(half - root), 0) * sigma**2).astype(np.float32)


def fine_cut(image: Bytes, width: float, kind: float, gain: float, _whole: object = None) -> Bytes:
    """Lines of one width drawn dark on light; ``kind`` -1 dark lines only, 1 light lines only, 0 both."""
    dark, light = ridges(grey(image), width)
    strength = np.maximum(dark * min(1.0, 1.0 - kind), light * min(1.0, 1.0 + kind))
    level = np.clip(245 - 255 * strength * (2.0 + 38.0 * gain), 0, 255).astype(np.uint8)
    return np.repeat(level[:, :, None], 3, axis=2)


def tracing(image: Bytes, patch: float, threshold: float, light_writing: bool) -> Bytes:
    """Black writing on white by Sauvola's rule: threshold = mean (1 + k (deviation / R - 1)), R half the range.

    Source: Sauvola and Pietikainen 2000; as scikit-image's ``threshold_sauvola``.
    """
    level = grey(image)
    if light_writing:
        level = 1 - level
    return np.repeat(np.where(level > sauvola(level, patch, threshold), 255, 0).astype(np.uint8)[:, :, None], 3, axis=2)


def sauvola(level: Floats, patch: float, k: float) -> Floats:
    """Sauvola's threshold for a grey image 0..1 over a square of ``patch`` pixels."""
    side = max(3, int(patch) | 1)
    mean = cv2.blur(level.astype(np.float64), (side, side), borderType=cv2.BORDER_REFLECT)
    square = cv2.blur(level.astype(np.float64) ** 2, (side, side), borderType=cv2.BORDER_REFLECT)
    deviation = np.sqrt(np.maximum(square - mean**2, 0))
    return np.asarray(mean * (1 + k * (deviation / 0.5 - 1)), np.float32)


def colour_strength(image: Bytes, gain: float) -> Bytes:
    """Distance from grey in the blue and red difference (ITU-R BT.601), black where there is no colour."""
    chroma = np.linalg.norm(image.astype(np.float32) @ _CHROMA.T, axis=2)
    return np.repeat(np.clip(chroma * gain + 0.5, 0, 255).astype(np.uint8)[:, :, None], 3, axis=2)


def relit(normals: Bytes, azimuth: float, elevation: float, depth: float = 1.0) -> Bytes:
    """A picture of normals (red right, green up, blue to the camera) as a matt grey surface under one lamp.

    ``azimuth`` clockwise from "right", ``elevation`` above the surface, degrees; slopes are made ``depth`` times as
    steep. Brightness by Lambert's cosine law, level ground mid grey.
    """
    n = (normals.astype(np.float32) - 127.5) / 127.5
    a, e = np.deg2rad(azimuth), np.deg2rad(elevation)
    slope = n[..., :2] * np.float32(depth)
    upright = np.maximum(n[..., 2], 0.02)
    towards = slope[..., 0] * np.cos(e) * np.cos(a) - slope[..., 1] * np.cos(e) * np.sin(a) + upright * np.sin(e)
    level = towards / np.sqrt((slope**2).sum(axis=-1) + upright**2) / np.sin(e)
    return np.repeat(np.clip(127.5 * level + 0.5, 0, 255).astype(np.uint8)[:, :, None], 3, axis=2)
