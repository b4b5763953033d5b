"""Crops of real old hands: read, cleaned, parted into training, choosing and examination.

Conventions: pictures are (n, 48, 48) uint8, ink high; a crop belongs to a part by the hash of its picture, so that the
parts are the same on every machine and doubles never stand on both sides: 10 in 100 are left for examination, 4 to
choose by (temperature, prior, views), the rest is trained on. Blank pictures and doubles are dropped. A label is
brought to Unicode's composed form and to the class that bears it (``SAME``: 氣 stands under 気). Source of the kanji:
Kuzushiji-Kanji, part of the KMNIST data set (created by CODH), adapted from the Kuzushiji data set (created by NIJL and
others), doi:10.20676/00000341, CC BY-SA 4.0.

Run: ``python real.py REAL.npz.xz OUT.npz`` writes ``pictures``, ``characters`` and ``part`` (0 train, 1 choose,
2 examine).
"""

from __future__ import annotations

import hashlib
import io
import lzma
import sys
import unicodedata
from pathlib import Path

import numpy as np
from glyphs_table import SAME

TRAIN, CHOOSE, EXAMINE = 0, 1, 2
EXAMINED, CHOSEN = 10, 4  # in 100


def unpack(packed: np.ndarray) -> np.ndarray:
    """Four bits a pixel, even columns in the high half byte: (n, 48, 24) -> (n, 48, 48)."""
    out = np.empty((*packed.shape[:2], 48), np.uint8)
    out[:, :, 0::2] = packed & 0xF0
    out[:, :, 1::2] = packed << 4
    return out


def part_of(picture: np.ndarray) -> tuple[bytes, int]:
    """Hash of a picture and the part it belongs to."""
    digest = hashlib.sha256(b"readaid" + np.ascontiguousarray(picture).tobytes()).digest()
    at = int.from_bytes(digest[:4], "big") % 100
    return digest, EXAMINE if at < EXAMINED else CHOOSE if at < EXAMINED + CHOSEN else TRAIN


def kana_part(picture: np.ndarray) -> int:
    """The part a real kana belongs to: 40 in 100 to examine, 25 to choose by, 35 to train on."""
    at = int.from_bytes(part_of(picture)[0][:4], "big") % 100
    return EXAMINE if at < 40 else CHOOSE if at < 65 else TRAIN


def label(character: str) -> str:
    """The character a crop is filed under: composed form, old forms of kana's parents under the form in daily use."""
    character = unicodedata.normalize("NFC", character)
    return SAME.get(character, character)


def read(path: Path) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Pictures, characters and parts of the kanji; blank ones and doubles dropped, both of a pair of unlike labels."""
    with lzma.open(path) as file:
        held = np.load(io.BytesIO(file.read()))
    pictures = unpack(held["packed"])
    characters = np.array([label(c) for c in held["character"]])
    keep = pictures.reshape(len(pictures), -1).max(1) > 0
    part = np.zeros(len(pictures), np.int8)
    first: dict[bytes, int] = {}
    for i in np.flatnonzero(keep):
        digest, part[i] = part_of(pictures[i])
        if digest in first:
            keep[i] = False
            keep[first[digest]] &= characters[first[digest]] == characters[i]
        else:
            first[digest] = int(i)
    return pictures[keep], characters[keep], part[keep]


if __name__ == "__main__":
    pictures, characters, part = read(Path(sys.argv[1]))
    np.savez_compressed(sys.argv[2], pictures=pictures, characters=characters, part=part)
    print(len(part), np.bincount(part))
