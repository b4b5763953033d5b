"""What leaves with a photo: the picture and nothing else. Tell-tale words lie in every part that a file can have.

Judged from outside: the words are looked for in the raw bytes, in what is packed in them, and by Pillow; pixels are
compared as Pillow decodes them. Layouts: EXIF 2.32, ITU-T T.81, CIPA DC-007 (MPF), W3C PNG, RFC 9649, TIFF 6.0.
"""

import io
import re
import struct
import zlib

import numpy as np
import pytest
from PIL import Image, ImageCms, TiffImagePlugin

from readaid.core.errors import ArchiveError
from readaid.photo import file, metadata, profile_block

TELL = "TellTale"


def found(data: bytes) -> list[str]:
    """Where a tell-tale word stands: as it is, as UTF-16, backwards in order, or in anything that zlib unpacks."""
    where = []
    for name, raw in (("plain", TELL.encode()), ("utf-16-le", TELL.encode("utf-16-le")),
                      ("utf-16-be", TELL.encode("utf-16-be"))):
        if raw in data:
            where.append(name)
    for match in re.finditer(rb"\x78[\x01\x5e\x9c\xda]", data):
        try:
            inside = zlib.decompressobj().decompress(data[match.start():], 1 << 20)
        except zlib.error:
            continue
        if TELL.encode() in inside:
            where.append("packed")
    return where


def noise(size=(64, 48)):
    level = np.random.default_rng(size[0]).normal(128, 30, (size[1], size[0])).clip(0, 255).astype(np.uint8)
    return Image.fromarray(level).convert("RGB")


def exif(orientation=6):
    """A block with a word in every text tag, a position, a maker's note and a small picture."""
    block = Image.Exif()
    block[0x0112], block[0x011A], block[0x0128] = orientation, 300.0, 2
    for tag in (0x010E, 0x010F, 0x0110, 0x0131, 0x013B, 0x013C, 0x8298, 0x000B, 0x013D + 3000):
        block[tag] = TELL
    for tag in (0x9C9B, 0x9C9C, 0x9C9D, 0x9C9E, 0x9C9F):
        block[tag] = TELL.encode("utf-16-le")
    block[0x0132] = TELL
    tags = (0x9004, 0x9010, 0xA430, 0xA431, 0xA433, 0xA434, 0xA435, 0xA420, 0x9290)
    block[0x8769] = {0x9003: "2026:01:02 03:04:05", 0x9011: "+09:00", 0x829A: TiffImagePlugin.IFDRational(1, 100),
                     0x8827: 200, 0x927C: TELL.encode(), 0x9286: b"ASCII\0\0\0" + TELL.encode(),
                     0xA40B: TELL.encode(), 0xEA1C: TELL.encode(), **dict.fromkeys(tags, TELL)}
    block[0x8825] = {1: "N", 2: (35.0, 41.0, 22.0), 3: "E", 4: (139.0, 41.0, 30.0), 0x1B: TELL.encode(), 0x1D: TELL}
    block._ifds |= {tag: block[tag] for tag in (0x8825, 0x8769)}
    return block


def told_profile(name=TELL):
    """An sRGB-like profile with another name, and a private tag."""
    raw = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    (count,) = struct.unpack_from(">I", raw, 128)
    raw[48:52] = raw[80:84] = TELL[:4].encode()
    for at in range(132, 132 + 12 * count, 12):
        tag, offset, size = struct.unpack_from(">4sII", raw, at)
        if tag in (b"desc", b"cprt"):
            raw[offset + 28:offset + size] = name.encode("utf-16-be")[:size - 28].ljust(size - 28, b"\0")
    return bytes(raw)


def segment(marker, body):
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def jpeg(progressive=False, orientation=6):
    """A JPEG as a phone may write it, and worse."""
    tell = TELL.encode()
    stream = io.BytesIO()
    noise().save(stream, "JPEG", quality=80, progressive=progressive, exif=exif(orientation),
                 icc_profile=told_profile(), comment=tell, xmp=b"<x:xmpmeta>" + tell + b"</x:xmpmeta>")
    data = stream.getvalue()
    small = io.BytesIO()
    noise((16, 12)).save(small, "JPEG", comment=tell)
    more = b"".join([
        segment(0xE0, b"JFXX\0\x10" + small.getvalue()),
        segment(0xE1, b"http://ns.adobe.com/xmp/extension/\0" + tell),
        segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0<x GCamera:MotionPhoto='1'>" + tell),
        segment(0xE2, b"MPF\0MM\0*" + tell), segment(0xE2, b"urn:iso:std:iso:ts:21496:-1\0" + tell),
        *[segment(0xE0 + n, b"Any\0" + tell) for n in range(3, 16)],
        segment(0xED, b"Photoshop 3.0\x008BIM\x04\x04" + tell), segment(0xEB, b"JP\0\0jumb" + tell),
        segment(0xFE, tell), b"\xff\xff\xff"[:1] * 3])
    data = data[:2] + more + data[2:]
    if progressive:  # words between the scans
        at = data.find(b"\xff\xda", data.find(b"\xff\xda") + 2)
        data = data[:at] + segment(0xFE, tell) + segment(0xE5, tell) + data[at:]
    gain = io.BytesIO()
    noise((32, 24)).save(gain, "JPEG", exif=exif(), xmp=b"<hdrgm:Version>" + tell)
    motion = b"\0\0\0\x18ftypmp42" + tell + b"\xff\xd9" + tell
    return data + gain.getvalue() + tell + gain.getvalue() + motion


def chunk(kind, body):
    return struct.pack(">I4s", len(body), kind) + body + struct.pack(">I", zlib.crc32(kind + body))


def png():
    tell = TELL.encode()
    stream = io.BytesIO()
    noise().save(stream, "PNG", exif=exif(), icc_profile=told_profile(), dpi=(300, 300))
    data = stream.getvalue()
    more = b"".join([
        chunk(b"tEXt", b"Author\0" + tell), chunk(b"zTXt", b"Author\0\0" + zlib.compress(tell)),
        chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + tell), chunk(b"iTXt", b"a\0\1\0\0\0" + zlib.compress(tell)),
        chunk(b"tEXt", b"Raw profile type exif\0\nexif\n 8\n" + tell.hex().encode()),
        chunk(b"tIME", b"\x07\xea\1\1\1\1\1"),
        chunk(b"sPLT", tell + b"\0\x08" + b"\0" * 6), chunk(b"teLL", tell), chunk(b"caBX", tell),
        chunk(b"dSIG", tell)])
    data = data[:33] + more + data[33:]
    at = data.find(b"IDAT") - 4
    length = struct.unpack_from(">I", data, at)[0]
    body = data[at + 8:at + 8 + length]
    animated = chunk(b"fcTL", b"\0" * 26) + chunk(b"fdAT", b"\0\0\0\1" + zlib.compress(tell))
    data = data[:at] + chunk(b"IDAT", body + tell) + chunk(b"IDAT", tell) + animated + data[at + 12 + length:]
    return data + tell


def webp(lossless=True):
    stream = io.BytesIO()
    noise().save(stream, "WEBP", lossless=lossless, exif=exif(), icc_profile=told_profile(), xmp=TELL.encode())
    data = stream.getvalue() + b"TELL" + struct.pack("<I", 8) + TELL.encode()
    data = data[:4] + struct.pack("<I", len(data) - 8) + data[8:]
    return data + TELL.encode()


def tiff(compression=None, tiles=False, order="<", mode="RGB"):
    stream = io.BytesIO()
    info = TiffImagePlugin.ImageFileDirectory_v2()
    info[0x0112] = 6
    for tag in (0x010D, 0x010E, 0x010F, 0x0110, 0x011D, 0x0131, 0x013B, 0x013C, 0x8298, 0xC614, 0xC62F):
        info[tag] = TELL
    for tag in (700, 33723, 34377, 50740, 65000):
        info.tagtype[tag] = 7
        info[tag] = TELL.encode()
    first, second = noise().convert(mode), noise((20, 20))
    options = {"compression": compression} if compression else {}
    first.save(stream, "TIFF", tiffinfo=info, icc_profile=told_profile() if mode == "RGB" else None, save_all=True,
               append_images=[second], **options)
    return stream.getvalue() + TELL.encode()


def with_exif_tiff():
    stream = io.BytesIO()
    noise().save(stream, "TIFF", exif=exif())
    return stream.getvalue()


CASES = {"jpeg": jpeg, "jpeg progressive": lambda: jpeg(progressive=True), "jpeg upright": lambda: jpeg(orientation=1),
         "png": png, "webp lossless": webp, "webp": lambda: webp(False), "tiff": tiff,
         "tiff lzw": lambda: tiff("tiff_lzw"), "tiff deflate": lambda: tiff("tiff_adobe_deflate"),
         "tiff jpeg": lambda: tiff("jpeg"), "tiff grey": lambda: tiff(mode="L"), "tiff exif": with_exif_tiff}


@pytest.mark.parametrize("name", CASES)
def test_no_word_leaves_and_the_picture_is_the_same(name):
    data = CASES[name]()
    assert found(data), "the words are there before"
    bare = metadata.stripped(data, name)
    assert found(bare) == []
    with Image.open(io.BytesIO(bare)) as shown, Image.open(io.BytesIO(data)) as was:
        assert file.orientation(shown) == file.orientation(was)
        assert shown.size == was.size
        assert getattr(shown, "n_frames", 1) == 1, "no second picture"
        block = shown.getexif()
        assert not block.get_ifd(0x8825), "no position"
        assert not block.get_ifd(0x8769).get(0x927C), "no maker's note"
        assert not block.get_ifd(1), "no small picture"
        assert shown.tobytes() == was.tobytes()
        assert not getattr(shown, "text", None)
    assert metadata.stripped(bare, name) == bare, "nothing more to take away"


def test_when_and_how_it_was_taken_stays():
    with Image.open(io.BytesIO(metadata.stripped(jpeg(), "x.jpg"))) as shown:
        camera = shown.getexif().get_ifd(0x8769)
        assert camera[0x9003] == "2026:01:02 03:04:05"
        assert camera[0x9011] == "+09:00"
        assert camera[0x8827] == 200
        assert float(camera[0x829A]) == pytest.approx(0.01)
        assert shown.getexif()[0x011A] == 300
        assert 0x0132 not in shown.getexif(), "a time that is none might be anything"


@pytest.mark.parametrize("order", ["<", ">"])
def test_sixteen_bits_in_either_byte_order(tmp_path, order):
    """Written by OpenCV or by hand; read back by this house's own reader, which OpenCV does for it."""
    pixels = np.random.default_rng(1).integers(0, 65535, (20, 30, 3)).astype(order + "u2")
    raw = pixels.tobytes()
    entries = [(256, 3, 1, 30), (257, 3, 1, 20), (258, 3, 3, None), (259, 3, 1, 1), (262, 3, 1, 2), (270, 2, 9, None),
               (273, 4, 1, 8), (277, 3, 1, 3), (278, 3, 1, 20), (279, 4, 1, len(raw))]
    at = 8 + len(raw)
    behind = at + 6 + 12 * len(entries)
    table, extra = struct.pack(order + "H", len(entries)), b""
    for tag, kind, count, value in entries:
        if value is None:
            body = struct.pack(order + "3H", 16, 16, 16) if tag == 258 else TELL.encode() + b"\0"
            value, extra = behind + len(extra), extra + body + b"\0" * (len(body) % 2)
            table += struct.pack(order + "HHII", tag, kind, count, value)
        elif kind == 3:
            table += struct.pack(order + "HHIHH", tag, kind, count, value, 0)
        else:
            table += struct.pack(order + "HHII", tag, kind, count, value)
    head = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(order + "I", at)
    path = tmp_path / "deep.tif"
    path.write_bytes(head + raw + table + struct.pack(order + "I", 0) + extra)
    was = file.load(path)
    bare = metadata.stripped(path.read_bytes(), path.name)
    assert found(bare) == []
    path.write_bytes(bare)
    assert (file.load(path) == was).all()
    assert was.dtype == np.uint16


@pytest.mark.parametrize("name", ["Adobe RGB (1998)", TELL, "My sRGB of TellTale"])
def test_a_profile_loses_its_words_and_keeps_its_colours(name):
    """LittleCMS is the judge of the colours."""
    told = told_profile(name)
    bare = profile_block.anonymous(told)
    assert found(bare) == []
    assert TELL[:4].encode() not in bare
    ramp = Image.fromarray(np.arange(256 * 3, dtype=np.uint8).reshape(16, 16, 3))
    target = ImageCms.createProfile("LAB")

    def through(icc):
        way = ImageCms.buildTransform(ImageCms.ImageCmsProfile(io.BytesIO(icc)), target, "RGB", "LAB")
        return np.asarray(ImageCms.applyTransform(ramp, way))

    assert (through(told) == through(bare)).all()


def test_a_moving_or_broken_picture_is_not_let_out():
    stream = io.BytesIO()
    noise().save(stream, "WEBP", save_all=True, append_images=[noise().rotate(180)], duration=100)
    for data in (stream.getvalue(), jpeg()[:300], png()[:60], tiff()[:200], b"\xff\xd8\xff\xe1\xff"):
        with pytest.raises(ArchiveError, match="cannot be read"):
            metadata.stripped(data, "x")


def test_whatever_is_cut_or_spoilt_lets_no_word_out():
    """A thousand spoilt files, seeded: an error in words, or a picture without the words; never anything else."""
    rng = np.random.default_rng(11)
    sources = [jpeg(), png(), webp(), tiff()]
    outcomes = {"refused": 0, "bare": 0}
    for n in range(1000):
        data = bytearray(sources[n % 4])
        if rng.random() < 0.3:
            data = data[:int(rng.integers(1, len(data)))]
        for _ in range(int(rng.integers(1, 4))):
            data[int(rng.integers(len(data)))] = int(rng.integers(256))
        try:
            assert found(metadata.stripped(bytes(data), "x")) == []
            outcomes["bare"] += 1
        except ArchiveError:
            outcomes["refused"] += 1
    assert min(outcomes.values()) > 50
