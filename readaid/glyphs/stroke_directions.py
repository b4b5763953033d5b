"""In which directions the strokes of a sign run, by its reference forms.

Conventions: directions are counted from 0 (level) clockwise to 180 degrees in ``BINS`` equal parts; a stroke has no
sense.
"""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np

from readaid.glyphs.references import references

#: Directions told apart, and forms of a sign that are asked.
BINS, FORMS = 18, 2


@lru_cache(maxsize=2000)
def directions(sign: str) -> tuple[float, ...]:
    """Share of the strokes of a sign's reference forms that run in each of ``BINS`` directions; even without a form."""
    found = np.zeros(BINS)
    for form in references(sign)[:FORMS]:
        smooth = cv2.GaussianBlur(form.picture.astype(np.float32), (0, 0), 1.0)
        down, across = np.gradient(smooth)
        along = (np.arctan2(down, across) + np.pi / 2) % np.pi
        which = np.minimum((along / np.pi * BINS).astype(int), BINS - 1)
        found += np.bincount(which.ravel(), np.hypot(across, down).ravel(), BINS)
    whole = found.sum()
    return tuple(found / whole) if whole > 0 else (1 / BINS,) * BINS
