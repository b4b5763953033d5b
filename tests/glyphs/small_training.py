"""Glyphs and crops of our own drawing, as the training of the character model takes them; no font, no other picture.

Conventions: ``write`` makes GLYPHS.npz and REAL_BONES.npz as ``data/train_glyphs`` names them: packed one-bit
pictures of 128 x 128, ink 1. A class is a few strokes with seeded ends; a hand draws them a little aside. The crops
stand for real kanji: the same strokes, thicker, as small grey pictures.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from skimage.morphology import skeletonize

from readaid.glyphs.classes import classes

KANA, KANJI, HANDS, CROPS = 4, 4, 6, 4


def _drawn(ends: np.ndarray, rng: np.random.Generator, width: int) -> np.ndarray:
    """Strokes (n, 3, 2) in 0..1 as one hand draws them: bool (128, 128)."""
    page = np.zeros((128, 128), np.uint8)
    for stroke in ends + rng.normal(0, 0.02, ends.shape):
        cv2.polylines(page, [np.rint(16 + 96 * stroke).astype(np.int32)], False, 1, width)
    return page > 0


def _packed(pictures: list[np.ndarray]) -> np.ndarray:
    return np.stack([np.packbits(p.reshape(128, 128)) for p in pictures])


def write(folder: Path, seed: int = 5) -> tuple[Path, Path]:
    """GLYPHS.npz and REAL_BONES.npz in ``folder``."""
    rng = np.random.default_rng(seed)
    held = classes()
    hiragana = [c.number for c in held if c.kind == "hiragana"][:KANA]
    kanji = [c.number for c in held if c.kind == "kanji"][:KANJI]
    strokes = {c: rng.uniform(0, 1, (4, 3, 2)) for c in (*hiragana, *kanji)}
    labels = [c for c in strokes for _ in range(HANDS)]
    glyphs = [_drawn(strokes[c], rng, int(rng.integers(4, 10))) for c in labels]
    fonts = folder / "glyphs.npz"
    np.savez(fonts, glyphs=_packed(glyphs), bones=_packed([skeletonize(g) for g in glyphs]),
             classes=np.array(labels), fonts=np.array([n % HANDS for n in range(len(labels))]))
    theirs = [c for c in kanji for _ in range(CROPS)]
    crops = [_drawn(strokes[c], rng, int(rng.integers(8, 13))) for c in theirs]
    grey = np.stack([cv2.resize(255 * c[12:116, 12:116].astype(np.uint8), (48, 48), interpolation=cv2.INTER_AREA)
                     for c in crops])
    # the last crop of each class is left out, as the tenth to choose by is
    part = np.array([int(n % CROPS == CROPS - 1) for n in range(len(theirs))], np.int8)
    look = np.flatnonzero(part)
    real = folder / "real.npz"
    np.savez(real, bits=_packed(crops), bones=_packed([skeletonize(c) for c in crops]), grey=grey,
             characters=np.array([held[c].character for c in theirs]), part=part,
             domain=np.ones(len(theirs), np.int8), look=look, windows=grey[look])
    return fonts, real
