"""Where evenly spaced marks may stand in a picture: stretches whose rows hold one sharp frequency, at any turn.

Conventions: grey pictures 0..1; points (x, y), pixel centres at .5. The picture is halved again and again, so that each
size of spacing is met at the level where a mark takes 3.6 to 9.5 px.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.fft import rfft

from readaid.photo.operators import blurred
from readaid.photo.raster import Floats

Numbers = NDArray[np.float64]

_WINDOW, _HOP, _ROWS = 128, 32, 3
_LEAST, _MOST = 3.6, 9.5
_SHARE = 0.5  # of a window's power that the marks' own frequency and its multiples must hold
_TURNS = 6
_WEIGHT = 2.5  # windows' shares a stretch must hold together


def runs(level: Floats) -> list[tuple[float, Numbers, Numbers]]:
    """(weight, start, end) of stretches that hold one sharp frequency, heaviest first; points of the picture."""
    found = []
    small, factor = level, 1.0
    while max(small.shape) >= 200 and min(small.shape) >= 16:
        even = _even(small, 16.0)
        for angle in _directions(even):
            found += [(w, (a + 0.5) / factor, (b + 0.5) / factor) for w, a, b in _strung(even, angle)]
        small = np.asarray(cv2.resize(small, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), np.float32)
        factor /= 2
    return sorted((c for c in found if c[0] >= _WEIGHT), key=lambda c: -c[0])


def _even(level: Floats, size: float) -> Floats:
    """Light and contrast evened out, about -3..3."""
    rest = level - blurred(level, size)
    spread = np.sqrt(np.maximum(blurred(np.asarray(rest * rest, np.float32), size), 0))
    return np.asarray(np.clip(rest / (spread + 0.02), -3, 3), np.float32)


def _directions(even: Floats) -> list[float]:
    """Angles (degrees, -90..90) along which marks may be strung: where all edges of a small place face one way."""
    smooth = cv2.GaussianBlur(even, (0, 0), 0.8)
    dx, dy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    xx, yy, xy = (cv2.resize(cv2.GaussianBlur(v, (0, 0), 5.0), None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
                  for v in (dx * dx, dy * dy, dx * dy))
    coherent = np.hypot(xx - yy, 2 * xy) / (xx + yy + 1e-3)
    angle = np.degrees(0.5 * np.arctan2(2 * xy, xx - yy))
    weight = np.where((coherent > 0.7) & (xx + yy > 0.5), coherent, 0)
    bins, _ = np.histogram(angle, bins=180, range=(-90, 90), weights=weight)
    smoothed = np.convolve(np.r_[bins[-3:], bins, bins[:3]], [0.25, 0.5, 1, 1, 1, 0.5, 0.25], "valid")
    chosen = [0.0, -90.0]
    for b in (*range(88, 93), 0, 1, 2, 178, 179):  # near those two already
        smoothed[b] = 0
    for _ in range(_TURNS):
        best = int(np.argmax(smoothed))
        if smoothed[best] < 8:
            break
        chosen.append(best - 89.5)
        for k in range(-3, 4):
            smoothed[(best + k) % 180] = 0
    return chosen


def _strung(even: Floats, angle: float) -> list[tuple[float, Numbers, Numbers]]:
    """Runs of windows with one frequency along rows turned by ``angle``, as points of ``even``."""
    height, width = even.shape
    turn = np.deg2rad(angle)
    c, s = np.cos(turn), np.sin(turn)
    corners = np.array([[0, 0], [width, 0], [0, height], [width, height]], float) @ np.array([[c, -s], [s, c]])
    low, high = corners.min(axis=0), corners.max(axis=0)
    size = (int(np.ceil(high[0] - low[0])), int(np.ceil(high[1] - low[1])))
    if size[0] < _WINDOW or size[1] < 8:
        return []
    back = np.array([[c, -s, c * low[0] - s * low[1]], [s, c, s * low[0] + c * low[1]]])  # turned to given
    turned = cv2.warpAffine(even, back, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    rows = cv2.blur(turned, (1, 5))[2::_ROWS]
    count = (size[0] - _WINDOW) // _HOP + 1
    windows = np.lib.stride_tricks.sliding_window_view(rows, _WINDOW, axis=1)[:, ::_HOP][:, :count]
    score, peak = _scores(np.asarray(windows, np.float32))
    found = []
    for _ in range(6):
        r, w = np.unravel_index(int(np.argmax(score)), score.shape)
        if score[r, w] < _SHARE:
            break
        run, weight = _followed(score, peak, int(r), int(w))
        cells = np.array(run, float)
        x = cells[:, 1] * _HOP + _WINDOW / 2
        y = cells[:, 0] * _ROWS + 2
        slope, offset = np.polyfit(x, y, 1) if len(run) > 2 else (0.0, float(y.mean()))
        ends = np.array([x.min() - _WINDOW / 2, x.max() + _WINDOW / 2])
        points = np.stack([ends, slope * ends + offset], axis=1) @ back[:, :2].T + back[:, 2]
        found.append((weight, points[0], points[1]))
        for row, window in run:
            score[max(0, row - 3):row + 4, max(0, window - 2):window + 3] = 0
    return found


def _scores(windows: Floats) -> tuple[Floats, Floats]:
    """Share of each window's power in its sharpest frequency and its multiples, and that frequency's bin."""
    taper = np.hanning(_WINDOW).astype(np.float32)
    rows = windows - windows.mean(axis=-1, keepdims=True)
    power = (np.abs(rfft(rows * taper, axis=-1)) ** 2).astype(np.float32)
    low, high = int(_WINDOW / _MOST), int(_WINDOW / _LEAST)
    three = power.copy()
    three[..., 1:-1] = power[..., :-2] + power[..., 1:-1] + power[..., 2:]
    peak = low + np.argmax(three[..., low:high], axis=-1)
    held = np.take_along_axis(three, peak[..., None], -1)[..., 0]
    second = np.minimum(2 * peak, power.shape[-1] - 2)
    held = held + np.where(2 * peak < power.shape[-1] - 1, np.take_along_axis(three, second[..., None], -1)[..., 0], 0)
    total = power[..., 3:].sum(axis=-1)
    contrast = rows.std(axis=-1)
    share = np.where((contrast > 0.25) & (total > 0), held / (total + 1e-6), 0)
    return share.astype(np.float32), peak.astype(np.float32)


def _followed(score: Floats, peak: Floats, row: int, window: int) -> tuple[list[tuple[int, int]], float]:
    """From one cell to both sides while the frequency holds; two windows may be covered."""
    run, weight = [(row, window)], float(score[row, window])
    for side in (1, -1):
        r, w, missed, frequency = row, window + side, 0, float(peak[row, window])
        while 0 <= w < score.shape[1] and missed <= 8:
            low, high = max(0, r - 2), min(score.shape[0], r + 3)
            near = np.where(np.abs(peak[low:high, w] - frequency) <= max(1.5, 0.06 * frequency), score[low:high, w], 0)
            best = int(np.argmax(near))
            if near[best] > 0.6 * _SHARE:
                r, missed = low + best, 0
                frequency += 0.3 * (float(peak[r, w]) - frequency)
                run.append((r, w))
                weight += float(score[r, w])
            else:
                missed += 1
            w += side
    return run, weight
