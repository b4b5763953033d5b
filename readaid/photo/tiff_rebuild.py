"""The first picture of a TIFF, put into a new file: its pixels as they are coded, and the numbers that decode them.

Conventions: TIFF 6.0, in the byte order of the original (16-bit pixels are stored in it). Further pages, small
pictures, notes of programs and whatever lies between are left behind.
"""

from __future__ import annotations

import struct
from collections.abc import Callable

from readaid.photo.exif_block import EXIF, LONG, ORIENTATION, RATIONAL, SHORT, byte_order, directory, entries, kept

#: Numbers a decoder needs (TIFF 6.0 and its supplements): size, depth, coding, colours, tiles, resolution.
_NUMBERS = {254, 256, 257, 258, 259, 262, 266, 277, 278, 282, 283, 284, 292, 293, 296, 301, 317, 318, 319, 320, 322,
            323, 332, 334, 338, 339, 529, 530, 531, 532}
_STRIPS, _TILES = (273, 279), (324, 325)
_TABLES, _ICC, _JPEG = 347, 34675, 7
#: None, CCITT, LZW, Deflate, PackBits: coded pixels and nothing else. JPEG strips are looked into.
_CODINGS = {1, 2, 3, 4, 5, 8, 32946, 32773, _JPEG}
_FORMATS = {SHORT: "H", LONG: "I", RATIONAL: "I"}


def rebuilt(data: bytes, turned: int, icc: bytes, bare: Callable[[bytes], bytes]) -> bytes:
    """A new TIFF of the first picture; ``bare`` strips a JPEG that lies in it.

    Raises
    ------
    ValueError, struct.error, KeyError: if it is not understood.
    """
    order = byte_order(data)
    held = entries(data, struct.unpack_from(order + "I", data, 4)[0])
    coding = _numbers(held, 259, order)[0] if 259 in held else 1
    if coding not in _CODINGS:
        raise ValueError("the coding is not known")
    starts, lengths = _TILES if _TILES[0] in held else _STRIPS
    if starts not in held or lengths not in held:
        raise ValueError("the pixels are nowhere")
    # Behind uncompressed pixels a strip may go on with anything; coded ones end by themselves.
    most = _most(held, order, starts == _TILES[0]) if coding == 1 else len(data)
    out = bytearray(data[:4] + b"\0\0\0\0")
    places, sizes = [], []
    for start, length in zip(_numbers(held, starts, order), _numbers(held, lengths, order), strict=True):
        part = data[start:start + length]
        if len(part) < length:
            raise ValueError("the pixels are cut off")
        # A JPEG in a TIFF brings its own EXIF block along.
        part = bare(part) if coding == _JPEG else part[:most]
        places.append(len(out))
        sizes.append(len(part))
        out += part + b"\0" * (len(part) % 2)
    values = {tag: (kind, raw) for tag, (kind, _, raw) in held.items() if tag in _NUMBERS and kind in _FORMATS}
    values[starts] = (LONG, struct.pack(f"{order}{len(places)}I", *places))
    values[lengths] = (LONG, struct.pack(f"{order}{len(sizes)}I", *sizes))
    if coding == _JPEG and _TABLES in held:
        values[_TABLES] = (7, bare(held[_TABLES][2]))
    if icc:
        values[_ICC] = (7, icc)
    if turned != 1:
        values[ORIENTATION] = (SHORT, struct.pack(order + "H", turned))
    first, camera = kept(data)
    values |= {tag: _ordered(value, order) for tag, value in first.items()}
    if camera:
        at = len(out)
        out += directory({tag: _ordered(value, order) for tag, value in camera.items()}, at, order)
        values[EXIF] = (LONG, struct.pack(order + "I", at))
    struct.pack_into(order + "I", out, 4, len(out))
    out += directory(values, len(out), order)
    return bytes(out)


def _most(held: dict[int, tuple[int, int, bytes]], order: str, tiled: bool) -> int:
    """Bytes that uncompressed pixels of one strip or tile take: a longer one has something behind them."""
    def number(tag: int, default: int) -> int:
        return _numbers(held, tag, order)[0] if tag in held else default

    height = number(257, 0)
    width, rows = (number(322, 0), number(323, 0)) if tiled else (number(256, 0), min(number(278, height), height))
    bits = _numbers(held, 258, order) if 258 in held else (1,)
    a_pixel = bits[0] if number(284, 1) == 2 else max(sum(bits), bits[0] * number(277, 1))
    return (width * a_pixel + 7) // 8 * rows


def _numbers(held: dict[int, tuple[int, int, bytes]], tag: int, order: str) -> tuple[int, ...]:
    kind, count, raw = held[tag]
    if kind not in (SHORT, LONG):
        raise ValueError("an offset is no number")
    return struct.unpack(f"{order}{count}{_FORMATS[kind]}", raw)


def _ordered(value: tuple[int, bytes], order: str) -> tuple[int, bytes]:
    """A little-endian value in the byte order of the file."""
    kind, raw = value
    if kind not in _FORMATS or order == "<":
        return value
    one = _FORMATS[kind]
    many = len(raw) // struct.calcsize(one)
    return kind, struct.pack(f">{many}{one}", *struct.unpack(f"<{many}{one}", raw))

