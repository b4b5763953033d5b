"""Photos without anything but the picture: no position, owner, serial number, second picture or tail.

Conventions
-----------
* Bytes in, bytes out; JPEG, PNG, WebP and TIFF. Pixels are not decoded; size, orientation and colours stay. A HEIC
  is the exception: its boxes hide too much, so its picture is decoded and comes out as a JPEG of the same size.
* Only what is known to be needed is taken over, never "all but what is known to be personal": each year's phones bring
  new places for a position (gain maps, motion photos, makers' trailers).
* Of the camera's words stay: orientation, resolution, exposure and when (``exif_block``). A colour profile stays with
  its numbers; of its texts only the names of common working spaces (``profile_block``).
* After that the file's hash is another one: a copy says so beside the photo.
"""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Iterator

from PIL import Image

from readaid.core.errors import ArchiveError
from readaid.photo import exif_block, heic, profile_block
from readaid.photo.file import flat, formats, orientation
from readaid.photo.tiff_rebuild import rebuilt

#: PNG chunks a picture needs, and the most bytes each may have (W3C PNG, third edition, chapter 11).
_PNG = {b"IHDR": 13, b"PLTE": 768, b"tRNS": 256, b"gAMA": 4, b"cHRM": 32, b"sRGB": 1, b"sBIT": 4, b"bKGD": 6,
        b"pHYs": 9, b"cICP": 4, b"IDAT": 1 << 31, b"IEND": 0}
_EXIF = b"Exif\0\0"


def stripped(data: bytes, name: str) -> bytes:
    """The picture and nothing else.

    Raises
    ------
    ArchiveError: if it is none of the formats, or its structure is not understood (then nothing is let out).
    """
    work = next((w for starts, w in _KINDS if starts(data)), None)
    if work is None:
        raise ArchiveError("From this kind of file position and owner cannot be stripped", name,
                           "convert it to JPEG, PNG, WebP or TIFF, or ask for a copy with private data")
    try:
        size, turned, icc = _shown(data)
        made = work(data, turned, profile_block.anonymous(icc))
        # Looked at once more as a decoder sees it: a copy that lies on its side would have all its zones beside the
        # signs.
        if _shown(made)[:2] != (size, turned):
            raise ValueError("the picture would be shown otherwise")
    except (struct.error, IndexError, ValueError, OSError, SyntaxError, zlib.error, OverflowError,
            Image.DecompressionBombError) as error:
        raise ArchiveError("The photo's description cannot be read, so nothing can be stripped from it", name,
                           "save the photo again in an image program, or ask for a copy with private data") from error
    return made


def _shown(data: bytes) -> tuple[tuple[int, int], int, bytes | None]:
    """Stored size, orientation (from wherever Pillow takes it: EXIF, XMP, a text) and colour profile."""
    with Image.open(io.BytesIO(data), formats=formats(data[:16])) as picture:
        return picture.size, orientation(picture), picture.info.get("icc_profile")


# -- JPEG -----------------------------------------------------------------------------------------------------------
def _jpeg(data: bytes, turned: int, icc: bytes) -> bytes:
    """The first picture of a JPEG (ITU-T T.81, annex B): tables, frames and scans up to its end of image."""
    # The first EXIF block: a second one is ignored by decoders and is a hiding place.
    block = next((body[6:] for marker, body, _ in _segments(data) if marker == 0xE1 and body.startswith(_EXIF)), b"")
    head = [b"\xff\xd8"]
    words = exif_block.fresh(block, turned)
    if words:
        head.append(_segment(0xE1, _EXIF + words))
    parts = [icc[at:at + 65_000] for at in range(0, len(icc), 65_000)]
    head += [_segment(0xE2, b"ICC_PROFILE\0" + bytes((n, len(parts))) + part) for n, part in enumerate(parts, 1)]
    return b"".join([*head, *bare_jpeg(data)])


def bare_jpeg(data: bytes) -> Iterator[bytes]:
    """What a decoder needs of a JPEG, without its first two bytes; also of the abbreviated ones inside a TIFF."""
    for marker, body, scan in _segments(data):
        if marker == 0xE0 and body.startswith(b"JFIF\0"):
            yield _segment(marker, body[:12].ljust(12, b"\0") + b"\0\0")  # its small picture goes
        elif marker == 0xEE and body.startswith(b"Adobe"):
            yield _segment(marker, body[:12])  # says how the colours are mixed
        elif marker in (0xDB, 0xDC, 0xDD) or 0xC0 <= marker <= 0xCF:
            yield _segment(marker, body)
        elif marker == 0xDA:
            yield _segment(marker, body)
            yield scan
    yield b"\xff\xd9"


def _segment(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def _segments(data: bytes) -> Iterator[tuple[int, bytes, bytes]]:
    """Marker, body and, behind a start of scan, the coded picture; up to the end of the first image."""
    at = 2
    while at < len(data):
        # A start of image within an image: phones put a whole second photograph there, with its own position.
        if data[at] != 0xFF or data[at + 1] == 0xD8:
            raise ValueError("no marker, or a second picture within the first")
        marker = data[at + 1]
        if marker == 0xFF:  # a fill byte
            at += 1
            continue
        if marker == 0xD9:
            return
        length = struct.unpack_from(">H", data, at + 2)[0]
        body = data[at + 4:at + 2 + length]
        if length < 2 or len(body) < length - 2:
            raise ValueError("a segment is cut off")
        at += 2 + length
        scan = b""
        if marker == 0xDA:
            end = at
            while True:  # in a scan 0xFF is followed by 0 or a restart marker; anything else ends it
                end = data.find(b"\xff", end)
                if end < 0 or end + 1 >= len(data):
                    end = len(data)
                    break
                if data[end + 1] == 0 or 0xD0 <= data[end + 1] <= 0xD7:
                    end += 2
                elif data[end + 1] == 0xFF:
                    end += 1
                else:
                    break
            scan, at = data[at:end], end
        yield marker, body, scan


# -- PNG, WebP, TIFF ------------------------------------------------------------------------------------------------
def _png(data: bytes, turned: int, icc: bytes) -> bytes:
    """The still picture of a PNG: no text, no time, no animation, nothing of other programs, nothing behind it."""
    kept: list[bytes] = []
    block, at, coded = b"", 8, zlib.decompressobj()
    while at < len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        body = data[at + 8:at + 8 + length]
        # Compared as a whole, checksum too: a chunk that does not fit its own sum is not understood, so nothing goes
        # out.
        whole = data[at:at + 12 + length] == _chunk(kind, body)
        at += 12 + length
        if not whole and (kind == b"eXIf" or kind in _PNG):
            raise ValueError("a chunk is not as it was written")
        if kind == b"eXIf":
            block = body
        elif kind == b"IDAT":
            body = b"" if coded.eof else _coded(coded, body)
            kept += [_chunk(kind, body)] if body else []
        elif kind in _PNG:
            if length > _PNG[kind]:
                raise ValueError("a chunk is too long")
            kept.append(_chunk(kind, body))
        if kind == b"IHDR":
            place = len(kept)
        if kind == b"IEND":
            break
    words = exif_block.fresh(block.removeprefix(_EXIF), turned)
    more = [_chunk(b"iCCP", b"icc\0\0" + zlib.compress(icc))] if icc else []
    more += [_chunk(b"eXIf", words)] if words else []
    return data[:8] + b"".join([*kept[:place], *more, *kept[place:]])


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I4s", len(body), kind) + body + struct.pack(">I", zlib.crc32(kind + body))


def _coded(coded: zlib._Decompress, body: bytes) -> bytes:
    """The part of an IDAT body that belongs to the coded picture: what lies behind its end is a hiding place."""
    waiting = body
    while waiting and not coded.eof:
        coded.decompress(waiting, 1 << 20)
        waiting = coded.unconsumed_tail
    return body[:len(body) - len(coded.unused_data)] if coded.eof else body


def _webp(data: bytes, turned: int, icc: bytes) -> bytes:
    """The still picture of a WebP (RFC 9649)."""
    held: dict[bytes, bytes] = {}
    at, end = 12, min(len(data), 8 + struct.unpack_from("<I", data, 4)[0])
    while at + 8 <= end:
        kind, length = struct.unpack_from("<4sI", data, at)
        # Of chunks of one kind the first, as decoders take it.
        held.setdefault(kind, data[at + 8:at + 8 + length])
        at += 8 + length + length % 2
    block = held.get(b"EXIF", b"")
    words = exif_block.fresh(block.removeprefix(_EXIF), turned)
    wanted: tuple[bytes, ...] = (b"ALPH", b"VP8 ", b"VP8L")
    picture = {k: held[k] for k in wanted if k in held}
    if not picture.keys() & {b"VP8 ", b"VP8L"}:
        raise ValueError("a moving picture")
    chunks = picture
    if b"VP8X" in held:
        flags = (held[b"VP8X"][0] & 0x10) | (0x20 if icc else 0) | (0x08 if words else 0)
        chunks = {b"VP8X": bytes((flags, 0, 0, 0)) + held[b"VP8X"][4:10]} | ({b"ICCP": icc} if icc else {}) | picture
        chunks |= {b"EXIF": words} if words else {}
    whole = b"WEBP" + b"".join(struct.pack("<4sI", k, len(b)) + b + b"\0" * (len(b) % 2) for k, b in chunks.items())
    return b"RIFF" + struct.pack("<I", len(whole)) + whole


def _tiff(data: bytes, turned: int, icc: bytes) -> bytes:
    return rebuilt(data, turned, icc, lambda part: b"\xff\xd8" + b"".join(bare_jpeg(part)))


def _heic(data: bytes, turned: int, icc: bytes) -> bytes:
    """The picture of a HEIC as a JPEG without any words; the decoder has turned it upright already."""
    stream = io.BytesIO()
    with Image.open(io.BytesIO(data), formats=(heic.NAME,)) as picture:
        flat(picture).save(stream, "JPEG", quality=95, subsampling=0, icc_profile=icc or None)
    return stream.getvalue()


_KINDS = ((lambda d: d.startswith(b"\xff\xd8"), _jpeg), (lambda d: d.startswith(b"\x89PNG\r\n\x1a\n"), _png),
          (lambda d: d[:4] == b"RIFF" and d[8:12] == b"WEBP", _webp), (lambda d: d[:4] in (b"II*\0", b"MM\0*"), _tiff),
          (lambda d: heic.is_heic(d[:12]) and heic.decoder(), _heic))
