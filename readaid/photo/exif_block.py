"""An EXIF block made anew from the few words of the camera that tell neither who, where nor with which camera.

Conventions: a block is a TIFF structure (EXIF 2.32, section 4.5); what is made is little-endian, one directory and the
EXIF directory behind it. Kept are orientation, resolution, exposure and when; times only if they are written as one.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Mapping

SHORT, LONG, RATIONAL, ASCII = 3, 4, 5, 2
#: Bytes of one value by its type (TIFF 6.0, section 2).
SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
ORIENTATION, EXIF = 274, 34665
_TIME = re.compile(rb"\d{4}:\d\d:\d\d \d\d:\d\d:\d\d\0?")
_OFFSET = re.compile(rb"([+-]\d\d:\d\d|Z)\0?")
#: Tag -> its type, and for a text how it must be written.
_FIRST: Mapping[int, tuple[int, re.Pattern[bytes] | None]] = {
    282: (RATIONAL, None), 283: (RATIONAL, None), 296: (SHORT, None), 306: (ASCII, _TIME)}
_CAMERA: Mapping[int, tuple[int, re.Pattern[bytes] | None]] = {
    33434: (RATIONAL, None),  # exposure time
    33437: (RATIONAL, None),  # aperture
    34855: (SHORT, None),  # sensitivity
    36867: (ASCII, _TIME), 36881: (ASCII, _OFFSET),  # when, and its distance from UTC
    37386: (RATIONAL, None), 41989: (SHORT, None),  # focal length
    40961: (SHORT, None)}  # colour space
Value = tuple[int, bytes]  # type, raw bytes


def entries(data: bytes, start: int) -> dict[int, tuple[int, int, bytes]]:
    """Tag -> type, count and raw value of one directory.

    Raises
    ------
    ValueError, struct.error: if the directory or a value lies outside the block.
    """
    order = byte_order(data)
    (count,) = struct.unpack_from(order + "H", data, start)
    found = {}
    for at in range(start + 2, start + 2 + 12 * count, 12):
        tag, kind, number = struct.unpack_from(order + "HHI", data, at)
        size = SIZES.get(kind, 1) * number
        where = at + 8 if size <= 4 else struct.unpack_from(order + "I", data, at + 8)[0]
        # An offset that points behind the block would take over whatever lies there in the file.
        if where + size > len(data):
            raise ValueError("a value lies outside the block")
        found[tag] = (kind, number, data[where:where + size])
    return found


def byte_order(data: bytes) -> str:
    """As ``struct`` writes it."""
    return "<" if data[:2] == b"II" else ">"


def fresh(block: bytes, turned: int) -> bytes:
    """A new block with what may stay of ``block`` and the orientation 1..8; empty where nothing needs to be said.

    >>> fresh(b"", 1), len(fresh(b"", 6))
    (b'', 26)
    """
    first, camera = kept(block)
    if turned != 1:
        first[ORIENTATION] = (SHORT, struct.pack("<H", turned))
    return written(first, camera) if first or camera else b""


def kept(block: bytes) -> tuple[dict[int, Value], dict[int, Value]]:
    """What may stay of the first directory and of the EXIF directory, little-endian."""
    if not block:
        return {}, {}
    order = byte_order(block)
    held = entries(block, struct.unpack_from(order + "I", block, 4)[0])
    first = _allowed(held, _FIRST, order)
    camera: dict[int, Value] = {}
    if EXIF in held:
        kind, _, raw = held[EXIF]
        if kind not in (LONG, 13):
            raise ValueError("the EXIF directory is no offset")
        camera = _allowed(entries(block, struct.unpack(order + "I", raw[:4])[0]), _CAMERA, order)
    return first, camera


def _allowed(held: dict[int, tuple[int, int, bytes]], wanted: Mapping[int, tuple[int, re.Pattern[bytes] | None]],
             order: str) -> dict[int, Value]:
    found = {}
    for tag, (kind, pattern) in wanted.items():
        given, count, raw = held.get(tag, (0, 0, b""))
        # A "time" that is a serial number, or a resolution of forty values: not what the tag is for, so it stays
        # here.
        if given != kind or (pattern is None and count != 1) or (pattern and not pattern.fullmatch(raw)):
            continue
        found[tag] = (kind, raw if pattern else little(kind, raw, order))
    return found


def little(kind: int, raw: bytes, order: str) -> bytes:
    """Numbers in little-endian order."""
    one = {SHORT: "H", LONG: "I", RATIONAL: "I"}[kind]
    many = len(raw) // struct.calcsize(one)
    return struct.pack(f"<{many}{one}", *struct.unpack(f"{order}{many}{one}", raw))


def written(first: dict[int, Value], camera: dict[int, Value]) -> bytes:
    """A block of one directory, and the EXIF directory if there is anything for it."""
    if camera:
        first = first | {EXIF: (LONG, b"\0\0\0\0")}
    start = 8
    second = start + _length(first)
    if camera:
        first[EXIF] = (LONG, struct.pack("<I", second))
    return b"II*\0" + struct.pack("<I", start) + directory(first, start) + (
        directory(camera, second) if camera else b"")


def _length(held: dict[int, Value]) -> int:
    return 6 + 12 * len(held) + sum(len(raw) + len(raw) % 2 for _, raw in held.values() if len(raw) > 4)


def directory(held: dict[int, Value], start: int, order: str = "<") -> bytes:
    """One directory of values already in this order, to stand at ``start``; nothing follows it."""
    table, values = struct.pack(order + "H", len(held)), b""
    behind = start + 6 + 12 * len(held)
    for tag, (kind, raw) in sorted(held.items()):
        table += struct.pack(order + "HHI", tag, kind, len(raw) // SIZES[kind])
        if len(raw) <= 4:
            table += raw.ljust(4, b"\0")
        else:
            table += struct.pack(order + "I", behind + len(values))
            values += raw + b"\0" * (len(raw) % 2)
    return table + struct.pack(order + "I", 0) + values
