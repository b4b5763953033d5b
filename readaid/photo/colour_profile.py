"""ICC colour profiles, and the way from their colours to sRGB at 8 and at 16 bits.

Conventions: values 0..1, RGB. LittleCMS (through Pillow) does the work at 8 bits. It would cut a 16-bit photo to 8, so
matrix profiles (camera and working spaces: three primaries, three curves) and grey curves are computed here instead. A
table profile (scanners) is asked of LittleCMS at 52 x 52 x 52 colours and read between them: right to half a step of 8
bits, with all the steps of 16 kept apart.
Sources: ICC.1:2022 (tags rXYZ, rTRC, curv, para) and IEC 61966-2-1 (sRGB curve).
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from readaid.photo.raster import Image as Array

#: sRGB primaries adapted to D50 (columns R, G, B), as in the ICC's own sRGB profile.
SRGB_D50 = np.array([[0.4360747, 0.3850649, 0.1430804], [0.2225045, 0.7168786, 0.0606169],
                     [0.0139322, 0.0971045, 0.7141733]])

Curve = Callable[[NDArray[np.float32]], NDArray[np.float32]]


def name_of(icc: bytes | None) -> str:
    """The profile's own description, "" without one or when it cannot be read."""
    if not icc:
        return ""
    try:
        return ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(icc))).strip()
    except (OSError, ImageCms.PyCMSError):
        return ""


def to_srgb(picture: Image.Image, icc: bytes | None) -> Image.Image:
    """An 8-bit Pillow image in sRGB; unchanged where the profile is missing, damaged or sRGB itself."""
    if not icc or "srgb" in name_of(icc).lower():
        return picture
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        space = source.profile.xcolor_space.strip()
        # A grey photo with an RGB profile: LittleCMS refuses it, and the grey is right as it is.
        if {"RGB": "RGB", "CMYK": "CMYK", "GRAY": "L"}.get(space) != picture.mode:
            return picture
        target = ImageCms.createProfile("sRGB")
        intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
        if picture.mode == "RGB":  # in place: no second copy of a 60 MP photo
            ImageCms.profileToProfile(picture, source, target, renderingIntent=intent, inPlace=True)
            return picture
        return ImageCms.profileToProfile(picture, source, target, renderingIntent=intent, outputMode="RGB") or picture
    except (OSError, ImageCms.PyCMSError):
        return picture


def srgb_encode(linear: NDArray[np.float32]) -> NDArray[np.float32]:
    """Linear light 0..1 to sRGB values 0..1 (IEC 61966-2-1)."""
    clipped = np.clip(linear, 0.0, 1.0)
    high = 1.055 * np.power(clipped, 1 / 2.4) - 0.055
    return np.where(clipped <= 0.0031308, 12.92 * clipped, high).astype(np.float32)


def deep_to_srgb(image: Array, icc: bytes | None) -> Array:
    """A uint16 RGB image in sRGB, low byte kept; unchanged where the profile is missing, damaged or of another kind of
    colour (CMYK)."""
    if not icc or "srgb" in name_of(icc).lower():
        return image
    tags = _tags(icc)
    if icc[16:20] == b"GRAY" and b"kTRC" in tags:
        return _by_curve(image, tags[b"kTRC"])
    if icc[16:20] == b"RGB " and tags.keys() & {b"A2B0", b"A2B1", b"A2B2"}:  # goes before the primaries (ICC.1, 9.2.1)
        return _by_table(image, icc)
    parsed = _matrix(icc, tags)
    if parsed is None:
        return image
    matrix, curves = parsed
    ramp = np.linspace(0.0, 1.0, 65536, dtype=np.float32)
    tables = [curve(ramp) for curve in curves]
    # Both in D50, the connection space of the profiles, so that white stays white without a further step.
    change = (np.linalg.inv(SRGB_D50) @ matrix).astype(np.float32)
    # Four times as many steps as there are values: near black the sRGB curve is steeper than one in one.
    encode = np.rint(srgb_encode(np.linspace(0.0, 1.0, 262145, dtype=np.float32)) * 65535).astype(np.uint16)
    out = np.empty_like(image)
    for top in range(0, image.shape[0], 256):  # by strips: a 60 MP float copy would take 720 MB
        strip = image[top:top + 256]
        linear = np.stack([tables[c][strip[..., c]] for c in range(3)], axis=-1) @ change.T
        out[top:top + 256] = encode[np.rint(np.clip(linear, 0, 1) * 262144).astype(np.int32)]
    return out


def _by_curve(image: Array, tag: bytes) -> Array:
    try:
        levels = _curve(tag)(np.linspace(0.0, 1.0, 65536, dtype=np.float32))
    except (struct.error, ValueError, KeyError, IndexError):
        return image
    return np.asarray(np.rint(srgb_encode(levels) * 65535).astype(np.uint16)[image])


def _by_table(image: Array, icc: bytes) -> Array:
    """Colours between those of a coarse grid, by straight lines in three directions."""
    from scipy.ndimage import map_coordinates  # half a second at the first photograph, for few files

    steps = np.arange(0, 256, 5, dtype=np.uint8)  # whole 8-bit values, so LittleCMS is asked exactly these
    grid = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(1, -1, 3)
    try:
        source, target = ImageCms.ImageCmsProfile(io.BytesIO(icc)), ImageCms.createProfile("sRGB")
        told = ImageCms.profileToProfile(Image.fromarray(grid), source, target, outputMode="RGB",
                                         renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC)
    except (OSError, ImageCms.PyCMSError):
        return image
    if told is None:
        return image
    table = np.asarray(told, np.float32).reshape(len(steps), len(steps), len(steps), 3) * 257
    out = np.empty_like(image)
    for top in range(0, image.shape[0], 128):
        strip = image[top:top + 128].reshape(-1, 3).T * np.float32((len(steps) - 1) / 65535)
        for c in range(3):
            got = map_coordinates(table[..., c], strip, output=np.float32, order=1, mode="nearest")
            out[top:top + 128, :, c] = np.rint(got).reshape(-1, image.shape[1])
    return out


def _tags(icc: bytes) -> dict[bytes, bytes]:
    """The profile's tags (ICC.1, 7.3); empty for one that is cut off."""
    try:
        (count,) = struct.unpack(">I", icc[128:132])
        entries = [struct.unpack(">4sII", icc[132 + 12 * i:144 + 12 * i]) for i in range(min(count, 200))]
    except struct.error:
        return {}
    return {key: icc[offset:offset + size] for key, offset, size in entries}


def _matrix(icc: bytes, tags: dict[bytes, bytes]) -> tuple[NDArray[np.float64], list[Curve]] | None:
    """Primaries (columns, D50) and curves of a matrix profile, or None."""
    try:
        if icc[16:20] != b"RGB " or icc[20:24] != b"XYZ ":
            return None
        columns = [np.array(struct.unpack(">3i", tags[k][8:20])) / 65536.0 for k in (b"rXYZ", b"gXYZ", b"bXYZ")]
        return np.stack(columns, axis=1), [_curve(tags[k]) for k in (b"rTRC", b"gTRC", b"bTRC")]
    except (KeyError, struct.error, ValueError, IndexError):
        return None


def _curve(tag: bytes) -> Curve:
    if tag[:4] == b"curv":
        (count,) = struct.unpack(">I", tag[8:12])
        points = np.frombuffer(tag[12:12 + 2 * count], ">u2").astype(np.float64)
        if count == 0:
            return lambda v: v
        if count == 1:
            gamma = points[0] / 256.0
            return lambda v: np.power(v, gamma).astype(np.float32)
        return lambda v: np.interp(v, np.linspace(0, 1, count), points / 65535.0).astype(np.float32)
    if tag[:4] != b"para":
        raise ValueError("unknown kind of curve")
    (kind,) = struct.unpack(">H", tag[8:10])
    number = {0: 1, 1: 3, 2: 4, 3: 5, 4: 7}[kind]
    g, *rest = (v / 65536.0 for v in struct.unpack(f">{number}i", tag[12:12 + 4 * number]))
    a, b, c, d, e, f = (rest + [0.0] * 6)[:6]
    if kind == 0:
        a, b, c, d, e, f = 1.0, 0.0, 0.0, 0.0, 0.0, 0.0
    elif kind in (1, 2):
        d, e, f, c = -b / a, c if kind == 2 else 0.0, c if kind == 2 else 0.0, 0.0

    def curve(v: NDArray[np.float32]) -> NDArray[np.float32]:
        base = np.maximum(a * v + b, 0.0)
        return np.asarray(np.where(v >= d, np.power(base, g) + e, c * v + f), np.float32)

    return curve
