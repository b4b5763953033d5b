"""Render the reference pictures shown beside a proposal, one per class and hand.

Public domain hands only, save the hentaigana letters (Noto Serif Hentaigana, OFL).
Run: ``python references.py CLASSES.tsv GLYPHS.npz OUT.npz``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
from glyphs_table import rows

HANDS = {"grass": "kouzan-sousyo", "running": "kouzan-gyosho", "regular": "kouzan", "letter": "noto-serif-hentaigana"}
SIZE = 48


def main(table: str, glyphs: str, out: str) -> None:
    data = dict(np.load(glyphs))
    names = [f["name"] for f in rows(Path(__file__).with_name("fonts.tsv"))]
    pictures, numbers, hands = [], [], []
    for hand, font in enumerate(HANDS.values()):
        done = set()
        for i in np.flatnonzero(data["fonts"] == names.index(font)):
            number = int(data["classes"][i])
            if number in done:
                continue  # the first glyph of a class is its own character, the others are variants
            done.add(number)
            big = np.unpackbits(data["glyphs"][i]).reshape(128, 128).astype(np.float32)
            small = cv2.resize(big[8:120, 8:120], (SIZE, SIZE), interpolation=cv2.INTER_AREA)
            pictures.append(np.packbits(small > 0.4))
            numbers.append(number)
            hands.append(hand)
    np.savez_compressed(
        out, pictures=np.array(pictures), numbers=np.array(numbers, np.int16), hands=np.array(hands, np.int8)
    )
    print(len(numbers), Path(out).stat().st_size / 2**20, "MiB")


if __name__ == "__main__":
    main(*sys.argv[1:4])
