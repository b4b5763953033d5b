"""A colour profile without its texts: the numbers that make the colours, and no maker, owner, screen or date.

Conventions: an ICC profile in, one out (ICC.1:2022, clause 7). Curves, primaries and tables are taken over byte for
byte, so that the colours stay the same; a name stays only where it is that of a common working space.
"""

from __future__ import annotations

import struct

from readaid.photo.colour_profile import name_of

#: Tags that make colours, and the types their data may have.
_TAGS = {b"wtpt", b"bkpt", b"rXYZ", b"gXYZ", b"bXYZ", b"rTRC", b"gTRC", b"bTRC", b"kTRC", b"chad", b"chrm", b"lumi",
         b"A2B0", b"A2B1", b"A2B2", b"B2A0", b"B2A1", b"B2A2", b"gamt", b"cicp"}
_TYPES = {b"XYZ ", b"curv", b"para", b"sf32", b"mft1", b"mft2", b"mAB ", b"mBA ", b"chrm", b"cicp"}
#: Names of working spaces that say nothing of whose they are. "sRGB" is looked for inside longer names, as in
#: ``colour_profile.to_srgb``, which leaves such a picture's pixels alone.
NAMES = ("Adobe RGB (1998)", "Display P3", "ProPhoto RGB", "ROMM RGB", "eciRGB v2", "Gray Gamma 2.2", "Dot Gain 20%",
         "Rec. ITU-R BT.2020-1")


def anonymous(icc: bytes | None) -> bytes:
    """The profile without what is no number of colours; empty for none, and for one that cannot be read."""
    if not icc or len(icc) < 132 or icc[36:40] != b"acsp":
        return b""
    (count,) = struct.unpack_from(">I", icc, 128)
    found: dict[bytes, bytes] = {}
    for at in range(132, 132 + 12 * min(count, 100), 12):
        tag, offset, size = struct.unpack_from(">4sII", icc, at)
        body = icc[offset:offset + size]
        # By type too: a text may bear the tag of a curve.
        if tag in _TAGS and body[:4] in _TYPES and len(body) == size:
            found[tag] = body
    if not found:
        return b""
    name = name_of(icc)
    shown = "sRGB" if "srgb" in name.lower() else name if name in NAMES else "profile"
    texts = {b"desc": _text(shown, icc[8]), b"cprt": _text("none", icc[8], plain=True)}
    head = bytearray(128)
    head[8:24] = icc[8:24]  # version, class, colour space, connection space
    # Not when the profile was made: a screen measured on a certain day is somebody's.
    head[24:36] = struct.pack(">6H", 2000, 1, 1, 0, 0, 0)
    head[36:40], head[64:68], head[68:80] = b"acsp", icc[64:68], struct.pack(">3I", 0xF6D6, 0x10000, 0xD32D)
    return _joined(bytes(head), texts | found)


def _text(text: str, version: int, plain: bool = False) -> bytes:
    """A text as the profile's version writes it (ICC.1:2001-04, 6.5.17 and 6.5.18; ICC.1:2022, 10.15)."""
    if version >= 4:
        raw = text.encode("utf-16-be")
        return b"mluc" + struct.pack(">3I2s2s2I", 0, 1, 12, b"en", b"US", len(raw), 28) + raw
    raw = text.encode("ascii") + b"\0"
    if plain:
        return b"text\0\0\0\0" + raw
    return b"desc\0\0\0\0" + struct.pack(">I", len(raw)) + raw + bytes(4 + 4 + 2 + 1 + 67)


def _joined(head: bytes, tags: dict[bytes, bytes]) -> bytes:
    place = 132 + 12 * len(tags)
    table, bodies, known = struct.pack(">I", len(tags)), b"", {}
    for tag, body in tags.items():
        if body not in known:  # the three curves are often one
            known[body] = place + len(bodies)
            bodies += body + b"\0" * (-len(body) % 4)
        table += struct.pack(">4sII", tag, known[body], len(body))
    whole = head + table + bodies
    return struct.pack(">I", len(whole)) + whole[4:]
