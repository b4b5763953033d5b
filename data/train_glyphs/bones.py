"""What a training needs of every glyph and crop besides its picture: outline at 128 pixels and skeleton.

Conventions: packed one-bit pictures of 128 x 128, ink 1, as ``glyphs.py`` writes them. Real crops (48 x 48, or 28 x 28
for kana, white on black) are brought to the inner 104 pixels; specks of less than 30 pixels there are left out.

Run: ``python bones.py REAL.npz KANA.npz OUT.npz`` (``REAL.npz`` from ``real.py``; ``KANA.npz`` with ``images``,
``labels``, ``kana``) writes bits, bones, grey pictures, characters, part and domain of all real crops, and their
windows as the product sees them, for examination. Needs scikit-image and the package on the path.
"""

from __future__ import annotations

import os
import sys
from multiprocessing import Pool

import cv2
import numpy as np
from skimage.morphology import skeletonize

LEAST_SPECK = 30


def outlined(picture: np.ndarray) -> np.ndarray:
    """A real crop as packed bits of 128 x 128."""
    big = cv2.resize(picture, (104, 104), interpolation=cv2.INTER_CUBIC)
    bits = np.zeros((128, 128), np.uint8)
    bits[12:116, 12:116] = big > 110
    _, label, stats, _ = cv2.connectedComponentsWithStats(bits, connectivity=8)
    small = stats[:, cv2.CC_STAT_AREA] < LEAST_SPECK
    if not small[1:].all():
        bits[small[label]] = 0
    return np.packbits(bits)


def bone(packed: np.ndarray) -> np.ndarray:
    """The skeleton of a packed picture, packed."""
    return np.packbits(skeletonize(np.unpackbits(packed).reshape(128, 128) > 0))


def in_parallel(work, items) -> np.ndarray:
    with Pool(os.cpu_count()) as pool:
        return np.array(pool.map(work, items, chunksize=64))


def seen(picture: np.ndarray) -> np.ndarray:
    """The window of a crop as the product makes it, in 256 steps."""
    from readaid.glyphs.window import window

    return np.round(np.clip(window(picture.astype(np.float32) / 255), 0, 1) * 255).astype(np.uint8)


def main(real: str, kana: str, out: str) -> None:
    from real import TRAIN, kana_part

    held, other = np.load(real), np.load(kana)
    small = [cv2.resize(p, (48, 48), interpolation=cv2.INTER_LINEAR) for p in other["images"]]
    parts = np.array([kana_part(p) for p in other["images"]], np.int8)
    grey = np.concatenate([held["pictures"], np.array(small)])
    pictures = [*held["pictures"], *other["images"]]
    bits = in_parallel(outlined, pictures)
    part = np.concatenate([held["part"], parts])
    domain = np.repeat(np.array([1, 2], np.int8), [len(held["part"]), len(parts)])
    look = np.flatnonzero((part != TRAIN) | (domain == 2))
    np.savez(
        out,
        bits=bits,
        bones=in_parallel(bone, bits),
        grey=grey,
        characters=np.concatenate([held["characters"], other["kana"][other["labels"]]]),
        part=part,
        domain=domain,
        look=look,
        windows=in_parallel(seen, [pictures[i] for i in look]),
    )
    print(len(bits), "crops", len(look), "windows")


if __name__ == "__main__":
    main(*sys.argv[1:4])
