"""Turn and size of one picture against another from the spectra of their edges, whatever their grey values.

Conventions: edge pictures (height, width), float32; degrees clockwise on the picture (y down); a size is pixels of b
for one pixel of a. Fourier-Mellin: the magnitude of a spectrum does not move with the picture, and on a logarithmic
polar grid turn and size become a shift (Reddy and Chatterji 1996).
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.photo.raster import Floats

_SIDE = 512
_ANGLES = 360  # steps over half a turn would be 180; the spectrum repeats after it


def turns(edges_a: Floats, edges_b: Floats, count: int = 4) -> list[tuple[float, float]]:
    """The ``count`` likeliest (degrees, size) that take a to b, likeliest first; half a turn more is as likely each.

    >>> y, x = np.mgrid[0:300, 0:400]
    >>> a = ((x > 90) & (x < 210) & (y > 60) & (y < 200) & (x + y > 200)).astype(np.float32)
    >>> turns(a, a, 1)
    [(0.0, 1.0)]
    """
    factor = _SIDE / max(*edges_a.shape, *edges_b.shape)
    grids = [_log_polar(edges, factor) for edges in (edges_a, edges_b)]
    taper = np.hanning(_SIDE).astype(np.float32)[None]
    spectra = [np.fft.fft2((g - g.mean(axis=0)) * taper) for g in grids]
    cross = spectra[0] * np.conj(spectra[1])
    surface = np.fft.fftshift(np.fft.ifft2(cross / (np.abs(cross) + 1e-9)).real).astype(np.float32)
    surface = np.asarray(cv2.GaussianBlur(surface, (0, 0), 1.0), np.float32)
    rate = _SIDE / np.log(_SIDE / 2)
    rows, columns = surface.shape
    found = []
    for _ in range(count):
        row, column = (int(v) for v in np.unravel_index(int(np.argmax(surface)), surface.shape))
        found.append((float(rows // 2 - row) * 180 / rows, float(np.exp((column - columns // 2) / rate))))
        surface[max(0, row - 3):row + 4, max(0, column - 4):column + 5] = -1
    return found


def _log_polar(edges: Floats, factor: float) -> Floats:
    """Spectrum of the edges in the middle of a square, slow changes damped, angle by logarithm of frequency."""
    small = cv2.resize(edges - edges.mean(), None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    height, width = min(small.shape[0], _SIDE), min(small.shape[1], _SIDE)
    square = np.zeros((_SIDE, _SIDE), np.float32)
    top, left = (_SIDE - height) // 2, (_SIDE - width) // 2
    window = cv2.createHanningWindow((width, height), cv2.CV_32F) if min(width, height) > 1 else 1.0
    square[top:top + height, left:left + width] = small[:height, :width] * window
    magnitude = np.log1p(np.abs(np.fft.fftshift(np.fft.fft2(square)))).astype(np.float32)
    y, x = np.mgrid[-0.5:0.5:_SIDE * 1j, -0.5:0.5:_SIDE * 1j]
    flat: NDArray[np.float64] = np.cos(np.pi * x) * np.cos(np.pi * y)
    damped = (magnitude * (1 - flat) * (1 + flat)).astype(np.float32)
    middle = (_SIDE / 2, _SIDE / 2)
    whole = cv2.warpPolar(damped, (_SIDE, 2 * _ANGLES), middle, _SIDE / 2, cv2.INTER_LINEAR | cv2.WARP_POLAR_LOG)
    return np.asarray(whole[:_ANGLES], np.float32)
