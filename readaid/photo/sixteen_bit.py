"""Pixels of 16-bit files. OpenCV reads them: Pillow drops the low byte.

Conventions: (height, width, 3) uint16, RGB, as stored: not yet turned by EXIF; transparency is laid on white.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Literal

import cv2
import numpy as np
from PIL import Image
from PIL.TiffImagePlugin import TiffImageFile

from readaid.core.errors import PhotoError
from readaid.photo.raster import Bytes, rgb
from readaid.photo.raster import Image as Array


def stored(path: str | os.PathLike[str], picture: Image.Image) -> Array:
    """RGB pixels of a 16-bit file, not turned. Raises PhotoError for 16-bit CMYK and other kinds of number, OSError for
    pixels that cannot be decoded."""
    if picture.mode == "CMYK":
        raise PhotoError("16-bit CMYK is not read", Path(path).name, "save it as a 16-bit RGB TIFF")
    flags = cv2.IMREAD_UNCHANGED | cv2.IMREAD_IGNORE_ORIENTATION
    pixels = None
    if not isinstance(picture, TiffImageFile) or picture.tag_v2.get(274, 1) == 1:
        pixels = cv2.imread(os.fspath(path), flags)  # a third of the memory, but it takes no name out of the code page
    if pixels is None:
        data = np.fromfile(path, np.uint8)
        if isinstance(picture, TiffImageFile):
            _unturn(data)
        pixels = cv2.imdecode(data, flags)
        del data
    if pixels is None:
        raise OSError("the pixels cannot be decoded")
    if pixels.dtype != np.uint16:
        raise PhotoError(f"The photo holds {pixels.dtype} values", Path(path).name, "save it as a 16-bit TIFF")
    if pixels.ndim == 3:
        if pixels.shape[2] == 4:  # lay transparency on white, by strips
            for top in range(0, len(pixels), 256):
                strip = pixels[top:top + 256]
                alpha = strip[:, :, 3:].astype(np.float32) / 65535
                strip[:, :, :3] = np.rint(strip[:, :, :3] * alpha + 65535 * (1 - alpha))
            pixels = np.ascontiguousarray(pixels[:, :, :3])
        if pixels.shape[2] == 3:
            cv2.cvtColor(pixels, cv2.COLOR_BGR2RGB, pixels)
    return rgb(pixels)


def _unturn(tiff: Bytes) -> None:
    """Set the orientation tag of the first directory to 1: OpenCV turns a TIFF even when told not to.

    Source of the layout: TIFF 6.0, section 2; BigTIFF has 8-byte offsets and 20-byte entries.
    """
    data = memoryview(tiff.data).cast("B")
    order: Literal["little", "big"] = "little" if bytes(data[:2]) == b"II" else "big"

    def number(at: int, length: int) -> int:
        return int.from_bytes(data[at:at + length], order)

    big = number(2, 2) == 43
    start = number(8, 8) if big else number(4, 4)
    head, entry, value = (8, 20, 12) if big else (2, 12, 8)
    for i in range(min(number(start, head), 4096)):
        at = start + head + i * entry
        if number(at, 2) == 274:
            data[at + value:at + value + 2] = (1).to_bytes(2, order)
