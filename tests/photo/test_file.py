"""Photo files: oracles are Pillow's EXIF transposition, hashlib, OpenCV's 16-bit reading and LittleCMS."""

import hashlib
import io
import struct
import zlib

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image, ImageCms, ImageOps

from readaid.core.errors import PhotoError, ZoneError
from readaid.photo import colour_profile, file
from readaid.photo.pyramid import Pyramid


def exif(**tags):
    block = Image.Exif()
    for name, value in tags.items():
        block[getattr(ExifTags.Base, name)] = value
    return block


@pytest.mark.parametrize("turned", range(1, 9))
@pytest.mark.parametrize("name", ["a.png", "a.tif", "a.webp", "a.jpg"])
def test_orientation_as_pillow_transposes(saved, turned, name):
    path = saved(name, exif=exif(Orientation=turned), **({"lossless": True} if name == "a.webp" else {}))
    with Image.open(path) as picture:
        wanted = np.asarray(ImageOps.exif_transpose(picture).convert("RGB"))
    np.testing.assert_array_equal(file.load(path), wanted)
    said = file.describe(path)
    assert (said.height, said.width) == wanted.shape[:2]
    assert said.orientation == turned


@pytest.mark.parametrize(("name", "turned"), [("deep.png", 1), ("deep.png", 6), ("deep.tif", 1)])
def test_sixteen_bits_keep_their_low_byte(tmp_path, name, turned):
    rng = np.random.default_rng(4)
    stored = rng.integers(0, 65536, (40, 60, 3), dtype=np.uint16)
    path = tmp_path / name
    assert cv2.imwrite(str(path), stored[:, :, ::-1])
    if turned != 1:
        data = path.read_bytes()
        block = exif(Orientation=turned).tobytes()[6:]  # an eXIf chunk behind IHDR
        chunk = struct.pack(">I", len(block)) + b"eXIf" + block
        path.write_bytes(data[:33] + chunk + struct.pack(">I", zlib.crc32(chunk[4:])) + data[33:])
    loaded = file.load(path)
    assert loaded.dtype == np.uint16
    np.testing.assert_array_equal(loaded, np.rot90(stored, -1) if turned == 6 else stored)
    assert file.describe(path).bits == 16


@pytest.mark.parametrize("turned", range(1, 9))
def test_sixteen_bit_tiff_orientation(tmp_path, turned):
    """Compressed for the oracle's sake: Pillow 13 garbles an uncompressed 16-bit grey TIFF of orientation 5 to 8."""
    grey = np.arange(6 * 4, dtype=np.uint16).reshape(4, 6) * 257 + 3
    path = tmp_path / "grey.tif"
    Image.fromarray(grey).save(path, exif=exif(Orientation=turned), compression="tiff_lzw")
    with Image.open(path) as picture:
        wanted = np.asarray(ImageOps.exif_transpose(picture))
    np.testing.assert_array_equal(file.load(path)[:, :, 0], wanted)
    said = file.describe(path)
    assert (said.height, said.width) == wanted.shape


def test_grey_sixteen_bit_png_is_not_white(tmp_path):
    """Pillow's convert("RGB") clips I;16 at 255 and made coin photos all white."""
    grey = np.full((5, 5), 4000, np.uint16)
    path = tmp_path / "coin.png"
    Image.fromarray(grey).save(path)
    assert file.load(path).max() == 4000


def wide_profile():
    """A matrix profile with other primaries and a 1.8 gamma: LittleCMS's sRGB with its tags exchanged."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    (count,) = struct.unpack(">I", data[128:132])
    for i in range(count):
        key, offset, _size = struct.unpack(">4sII", data[132 + 12 * i:144 + 12 * i])
        if key in (b"rXYZ", b"gXYZ", b"bXYZ"):  # ROMM RGB primaries, D50 (ISO 22028-2)
            xyz = {b"rXYZ": (0.79767, 0.28804, 0.0), b"gXYZ": (0.13519, 0.71188, 0.0),
                   b"bXYZ": (0.03135, 0.00009, 0.82491)}
            data[offset + 8:offset + 20] = struct.pack(">3i", *(round(v * 65536) for v in xyz[key]))
        if key == b"rTRC":
            data[offset:offset + 14] = struct.pack(">4sIIH", b"curv", 0, 1, round(1.8 * 256))
    data[0:4] = struct.pack(">I", len(data))
    name = data.find("sRGB".encode("utf-16-be"))
    while name >= 0:
        data[name:name + 8] = "wide".encode("utf-16-be")
        name = data.find("sRGB".encode("utf-16-be"))
    return bytes(data)


def test_profile_reaches_srgb_as_littlecms_does(saved, picture):
    icc = wide_profile()
    path = saved("wide.png", icc_profile=icc)
    wanted = ImageCms.profileToProfile(Image.fromarray(picture), ImageCms.ImageCmsProfile(io.BytesIO(icc)),
                                       ImageCms.createProfile("sRGB"), renderingIntent=1)
    got = file.load(path)
    assert np.abs(got.astype(int) - picture).max() > 20
    np.testing.assert_array_equal(got, np.asarray(wanted))


def test_deep_profile_agrees_with_littlecms_and_keeps_depth(picture):
    icc = wide_profile()
    wanted = np.asarray(ImageCms.profileToProfile(
        Image.fromarray(picture), ImageCms.ImageCmsProfile(io.BytesIO(icc)), ImageCms.createProfile("sRGB"),
        renderingIntent=1))
    got = colour_profile.deep_to_srgb(picture.astype(np.uint16) * 257, icc)
    assert np.abs(got / 257 - wanted).max() < 1.0
    assert len(np.unique(got)) > 256


def built_profile(space: bytes, connection: bytes, tags: dict[bytes, bytes]) -> bytes:
    """A version 2 profile (ICC.1:2001-04, 6: header of 128 bytes, tag table, tags on four-byte places)."""
    text = b"test table\0"
    desc = b"desc" + bytes(4) + struct.pack(">I", len(text)) + text + bytes(12 + 67)
    white = b"XYZ " + bytes(4) + struct.pack(">3i", 63190, 65536, 54061)  # D50
    tags = {b"desc": desc, b"cprt": b"text" + bytes(4) + b"none\0", b"wtpt": white, **tags}
    table, body, at = struct.pack(">I", len(tags)), b"", 132 + 12 * len(tags)
    for key, data in tags.items():
        table += struct.pack(">4sII", key, at + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    head = struct.pack(">I4sI4s4s4s", at + len(body), bytes(4), 0x02400000, b"scnr", space, connection)
    head += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + bytes(28) + struct.pack(">3i", 63190, 65536, 54061)
    return head + bytes(128 - len(head)) + table + body


def table_profile() -> bytes:
    """RGB to Lab by a lut16 table of 9 x 9 x 9 colours (ICC.1:2001-04, 6.5.7), bent so that no three primaries fit."""
    grid = np.stack(np.meshgrid(*[np.linspace(0, 1, 9)] * 3, indexing="ij"), axis=-1)
    r, g, b = np.moveaxis(grid, -1, 0)
    lab = np.stack([100 * (0.25 * r + 0.65 * g + 0.1 * b) ** 0.8, 70 * (r - g) * (0.6 + 0.4 * b),
                    60 * (0.5 * (r + g) - b)], axis=-1)
    coded = np.stack([lab[..., 0] * 652.8, (lab[..., 1] + 128) * 256, (lab[..., 2] + 128) * 256], axis=-1)
    coded = np.clip(np.rint(coded), 0, 65535).astype(">u2")
    matrix = struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    lut = b"mft2" + bytes(4) + struct.pack(">4B", 3, 3, 9, 0) + matrix + struct.pack(">2H", 2, 2)
    lut += struct.pack(">6H", *[0, 65535] * 3) + coded.tobytes() + struct.pack(">6H", *[0, 65535] * 3)
    return built_profile(b"RGB ", b"Lab ", {b"A2B0": lut})


def test_deep_table_profile_agrees_with_littlecms_and_keeps_depth(picture):
    icc = table_profile()
    wanted = np.asarray(ImageCms.profileToProfile(
        Image.fromarray(picture), ImageCms.ImageCmsProfile(io.BytesIO(icc)), ImageCms.createProfile("sRGB"),
        renderingIntent=1))
    assert np.abs(wanted.astype(int) - picture).max() > 20
    off = np.abs(colour_profile.deep_to_srgb(picture.astype(np.uint16) * 257, icc) / 257 - wanted)
    assert off.mean() < 0.6
    assert np.percentile(off, 99) < 2.5
    ramp = np.repeat(np.arange(20000, 30000, dtype=np.uint16)[None, :, None], 3, axis=2)
    got = colour_profile.deep_to_srgb(ramp, icc)[0, :, 1].astype(int)
    assert len(np.unique(got)) > 5000
    assert (np.diff(got) >= 0).all()


def test_deep_grey_profile():
    """Grey of gamma 1.8: sRGB by IEC 61966-2-1."""
    icc = built_profile(b"GRAY", b"XYZ ", {b"kTRC": b"curv" + bytes(4) + struct.pack(">IH", 1, round(1.8 * 256))})
    level = np.repeat(np.arange(0, 65536, 97, dtype=np.uint16)[None, :, None], 3, axis=2)
    got = colour_profile.deep_to_srgb(level, icc)
    linear = (level / 65535) ** 1.8
    wanted = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    np.testing.assert_allclose(got / 65535, wanted, atol=3e-3)  # 1.8 is kept as 461 / 256
    grey = np.arange(0, 256, dtype=np.uint8)[None]
    eight = ImageCms.profileToProfile(Image.fromarray(grey), ImageCms.ImageCmsProfile(io.BytesIO(icc)),
                                      ImageCms.createProfile("sRGB"), renderingIntent=1, outputMode="RGB")
    ours = colour_profile.deep_to_srgb(np.repeat(grey[:, :, None], 3, axis=2).astype(np.uint16) * 257, icc)
    assert np.abs(ours / 257 - np.asarray(eight))[:, 8:].max() < 1.0  # its inverse curve is coarse near black


@pytest.mark.parametrize("kept", [60, 131, 200, 400])
def test_profile_cut_off_leaves_the_pixels(kept, picture):
    deep = picture.astype(np.uint16) * 257
    np.testing.assert_array_equal(colour_profile.deep_to_srgb(deep, table_profile()[:kept]), deep)


def test_damaged_profile_leaves_the_pixels(saved, picture):
    np.testing.assert_array_equal(file.load(saved("odd.png", icc_profile=b"not a profile")), picture)


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "RGBA", "CMYK"])
def test_other_modes(tmp_path, picture, mode):
    path = tmp_path / ("m.tif" if mode == "CMYK" else "m.png")
    Image.fromarray(picture).convert(mode).save(path)
    loaded = file.load(path)
    assert loaded.shape == picture.shape
    assert loaded.dtype == np.uint8


def test_transparency_is_laid_on_white(tmp_path):
    path = tmp_path / "clear.png"
    Image.new("RGBA", (4, 4), (0, 0, 0, 0)).save(path)
    assert file.load(path).min() == 255


def test_describe(saved):
    block = exif(DateTime="2026:05:01 12:30:00", Artist="A. Owner")
    block.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.BodySerialNumber] = "123"
    block.get_ifd(ExifTags.IFD.GPSInfo)[1] = "N"
    path = saved("a.jpg", exif=block)
    said = file.describe(path)
    assert said.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert (said.width, said.height, said.bits, said.format) == (300, 200, 8, "JPEG")
    assert said.taken == "2026-05-01T12:30:00"
    assert said.private == ("position", "owner", "camera serial number")


def test_clean_jpeg_tells_nothing(saved):
    block = exif(Artist="A. Owner", Orientation=6)
    block.get_ifd(ExifTags.IFD.GPSInfo)[1] = "N"
    data = file.clean_jpeg(saved("a.jpg", exif=block), 100)
    with Image.open(io.BytesIO(data)) as picture:
        assert picture.size == (67, 100)
        assert not picture.getexif()
        assert "icc_profile" not in picture.info
    assert b"Owner" not in data
    assert b"Exif" not in data


def test_crop_is_the_part_of_the_upright_photo(saved):
    path = saved("a.png", exif=exif(Orientation=8))
    whole = file.load(path)
    np.testing.assert_array_equal(Pyramid(path).crop((10, 20, 30, 40)), whole[20:60, 10:40])
    np.testing.assert_array_equal(Pyramid(path).crop((10, 20, 30, 40), margin=0.1), whole[16:64, 6:44])
    np.testing.assert_array_equal(Pyramid(path).crop((-5, -5, 10, 10)), whole[:5, :5])


@pytest.mark.parametrize("box", [(0, 0, 0, 5), (0, 0, -3, 5), (float("nan"), 0, 5, 5)])
def test_crop_without_area(saved, box):
    with pytest.raises(ZoneError, match="no area"):
        Pyramid(saved()).crop(box)


def test_crop_outside(saved):
    with pytest.raises(ZoneError, match=r"outside the photo.*move it onto"):
        Pyramid(saved()).crop((1000, 0, 5, 5))


def bomb(path):
    header = struct.pack(">IIBBBBB", 30000, 30000, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + header
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk + struct.pack(">I", zlib.crc32(chunk))
                     + struct.pack(">I", 0) + b"IEND" + struct.pack(">I", zlib.crc32(b"IEND")))


@pytest.mark.parametrize("call", [file.describe, file.load, lambda p: Pyramid(p).crop((0, 0, 5, 5)), file.clean_jpeg])
@pytest.mark.parametrize(("case", "said"), [
    ("text", "not a photo.*choose a JPEG"), ("cut", "cut off.*copy it again"), ("cut png", "cut off.*copy it again"),
    ("cut tiff", "cut off.*copy it again"), ("cut webp", "cut off.*copy it again"), ("bomb", "too large.*crop it"),
    ("empty", "empty.*copy it again"), ("gif", "GIF files are not read.*save it as"),
    ("missing", "not there.*check its name"),
    ("folder", "folder"), ("float", "32 bits.*16-bit TIFF|float.*16-bit TIFF"), ("bare header", "cut off|not a photo")])
def test_bad_files(saved, tmp_path, case, said, call):
    path = tmp_path / "bad.jpg"
    if case == "text":
        path.write_text("This is a letter.\n" * 50)
    elif case.startswith("cut"):
        names = {"cut": "w.jpg", "cut png": "w.png", "cut tiff": "w.tif", "cut webp": "w.webp"}
        whole = saved(names[case]).read_bytes()
        path.write_bytes(whole[:len(whole) * 2 // 3])
    elif case == "bomb":
        bomb(path)
    elif case == "empty":
        path.touch()
    elif case == "gif":
        path = saved("a.gif")
    elif case == "folder":
        path.mkdir()
    elif case == "float":
        path = tmp_path / "f.tif"
        Image.fromarray(np.ones((4, 4), np.float32)).save(path)
    elif case == "bare header":
        path.write_bytes(saved("w.jpg").read_bytes()[:200])
    with pytest.raises((PhotoError, ZoneError) if case == "folder" else PhotoError, match=said):
        call(path)
