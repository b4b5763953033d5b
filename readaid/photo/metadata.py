"""Photos without position, owner and serial numbers, their pixels untouched.

Conventions
-----------
* Bytes in, bytes out; JPEG, PNG, WebP and TIFF. Pixels are not decoded; orientation, size and
  colour profile stay.
* In an EXIF block (a TIFF structure: EXIF 2.32, section 4.6) personal tags are taken out and their
  values overwritten with zeros; nothing else moves. XMP, IPTC, comments and text chunks are left out.
* After that the file's hash is another one: a copy says so beside the photo.
"""

from __future__ import annotations

import struct
import zlib

from readaid.core.errors import ArchiveError

#: Tags that can tell who, where or with which camera (EXIF 2.32, TIFF 6.0; XMP and IPTC are whole blocks).
PERSONAL = {
    270: "ImageDescription", 315: "Artist", 316: "HostComputer", 33432: "Copyright", 700: "XMP", 33723: "IPTC",
    34377: "Photoshop", 34853: "GPS", 37500: "MakerNote", 37510: "UserComment", 42016: "ImageUniqueID",
    42032: "CameraOwnerName", 42033: "BodySerialNumber", 42037: "LensSerialNumber", 40091: "XPTitle",
    40092: "XPComment", 40093: "XPAuthor", 40094: "XPKeywords", 40095: "XPSubject", 50708: "UniqueCameraModel",
    50735: "CameraSerialNumber",
}
_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
_SUB_IFDS = {34665, 330}  # EXIF, SubIFDs
_GPS = 34853


def stripped(data: bytes, name: str) -> bytes:
    """The photo without what is personal.

    Raises
    ------
    ArchiveError: if it is none of the formats, or its structure is not understood (then nothing is let out).
    """
    try:
        if data.startswith(b"\xff\xd8"):
            return _jpeg(data)
        if data.startswith(b"\x89PNG\r\n\x1a\n"):
            return _png(data)
        if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            return _webp(data)
        if data[:4] in (b"II*\0", b"MM\0*"):
            return blank_tags(data)
    except (struct.error, IndexError, ValueError) as error:
        raise ArchiveError("The photo's description cannot be read, so nothing can be stripped from it", name,
                           "save the photo again in an image program, or ask for a copy with private data") from error
    raise ArchiveError("From this kind of file position and owner cannot be stripped", name,
                       "convert it to JPEG, PNG, WebP or TIFF, or ask for a copy with private data")


def blank_tags(block: bytes) -> bytes:
    """A TIFF structure without its personal tags: their values zeroed where they stand, their entries closed up."""
    data = bytearray(block)
    order = "<" if data[:2] == b"II" else ">"
    waiting, seen = [(struct.unpack_from(order + "I", data, 4)[0], False)], set()
    while waiting:
        start, all_of_it = waiting.pop()
        if start in seen or not start:
            continue
        seen.add(start)
        count = struct.unpack_from(order + "H", data, start)[0]
        after = start + 2 + 12 * count
        following = struct.unpack_from(order + "I", data, after)[0]
        kept = []
        for at in range(start + 2, after, 12):
            tag, kind, number = struct.unpack_from(order + "HHI", data, at)
            size = _SIZES.get(kind, 1) * number
            where = at + 8 if size <= 4 else struct.unpack_from(order + "I", data, at + 8)[0]
            if where + size > len(data):
                raise ValueError("a value lies outside the block")
            if tag in _SUB_IFDS or (tag == _GPS and kind in (4, 13)):
                waiting += [(p, tag == _GPS) for p in struct.unpack_from(f"{order}{number}I", data, where)]
            if tag in PERSONAL or all_of_it:
                data[where:where + size] = bytes(size)
            else:
                kept.append(bytes(data[at:at + 12]))
        table = struct.pack(order + "H", len(kept)) + b"".join(kept) + struct.pack(order + "I", following)
        data[start:after + 4] = table.ljust(after + 4 - start, b"\0")
        waiting.append((following, all_of_it))
    return bytes(data)


def _jpeg(data: bytes) -> bytes:
    """Segments up to the scan (ITU-T T.81, annex B); APP1 Exif is blanked, XMP, APP13 and comments go."""
    out, at = [data[:2]], 2
    while True:
        if data[at] != 0xFF:
            raise ValueError("no marker")
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        length = struct.unpack_from(">H", data, at + 2)[0]
        body = data[at + 4:at + 2 + length]
        if marker == 0xDA:  # start of scan: the rest is picture, and what may follow its end is dropped
            end = data.rfind(b"\xff\xd9")
            out.append(data[at:end + 2] if end > at else data[at:])
            return b"".join(out)
        if marker == 0xE1 and body.startswith(b"Exif\0\0"):
            out.append(data[at:at + 4] + body[:6] + blank_tags(body[6:]))
        elif marker in (0xC0, 0xC1, 0xC2, 0xC3, 0xC4, 0xDB, 0xDD, 0xE0, 0xEE) or (
                marker == 0xE2 and body.startswith(b"ICC_PROFILE\0")) or 0xC5 <= marker <= 0xCF:
            out.append(data[at:at + 2 + length])
        at += 2 + length


def _png(data: bytes) -> bytes:
    """Chunks (W3C PNG, third edition): text and time go, eXIf is blanked."""
    out, at = [data[:8]], 8
    while at < len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        body = data[at + 8:at + 8 + length]
        if kind == b"eXIf":
            body = blank_tags(body)
            out.append(struct.pack(">I4s", length, kind) + body + struct.pack(">I", zlib.crc32(kind + body)))
        elif kind not in (b"tEXt", b"zTXt", b"iTXt", b"tIME"):
            out.append(data[at:at + 12 + length])
        at += 12 + length
        if kind == b"IEND":
            break
    return b"".join(out)


def _webp(data: bytes) -> bytes:
    """RIFF chunks (RFC 9649): XMP goes, EXIF is blanked."""
    out, at = [], 12
    while at + 8 <= len(data):
        kind, length = struct.unpack_from("<4sI", data, at)
        body = data[at + 8:at + 8 + length]
        if kind == b"EXIF":
            prefix = 6 if body.startswith(b"Exif\0\0") else 0
            body = body[:prefix] + blank_tags(body[prefix:])
        if kind == b"VP8X":
            body = bytes([body[0] & ~0x04]) + body[1:]  # the flag that XMP follows
        if kind != b"XMP ":
            out.append(struct.pack("<4sI", kind, length) + body + b"\0" * (length % 2))
        at += 8 + length + length % 2
    whole = b"WEBP" + b"".join(out)
    return b"RIFF" + struct.pack("<I", len(whole)) + whole
