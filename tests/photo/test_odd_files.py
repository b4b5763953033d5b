"""Files that are odd or hostile: each is either shown right or refused in one sentence with a cure; nothing hangs.

Layouts: PNG specification (chunks), TIFF 6.0 (directories), EXIF 2.32 (tags).
"""

import os
import struct
import zlib

import cv2
import numpy as np
import pytest
from PIL import Image

from readaid.core.errors import PhotoError
from readaid.photo import columns, file, scale
from readaid.photo.pyramid import Pyramid

PIXELS = np.random.default_rng(0).integers(0, 255, (120, 160, 3), dtype=np.uint8)
READERS = (file.describe, file.load, Pyramid, file.clean_jpeg, lambda p: Pyramid(p).crop((0, 0, 5, 5)))


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(path, header: bytes, data: bytes = b"") -> None:
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + (chunk(b"IDAT", data) if data else b"")
                     + chunk(b"IEND", b""))


def refused(path) -> list[str]:
    """What each way of reading says; a test fails where one of them gives no cure or another error."""
    said = []
    for read in READERS:
        with pytest.raises(PhotoError) as caught:
            read(path)
        assert caught.value.cure
        said.append(str(caught.value))
    return said


@pytest.mark.parametrize("compression", [None, "tiff_lzw", "16 bit"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.9])
def test_tiff_cut_off(tmp_path, compression, share):
    whole = tmp_path / "whole.tif"
    if compression == "16 bit":
        cv2.imwrite(str(whole), PIXELS.astype(np.uint16) * 257)
    else:
        Image.fromarray(PIXELS).save(whole, compression=compression)
    cut = tmp_path / "cut.tif"
    cut.write_bytes(whole.read_bytes()[:int(whole.stat().st_size * share)])
    assert all("cut off" in s or "not a photo" in s for s in refused(cut))


@pytest.mark.parametrize("name", ["a.png", "a.webp", "a.tif"])
def test_several_pictures_in_one_file_show_the_first(tmp_path, name):
    path = tmp_path / name
    more = {"lossless": True} if name == "a.webp" else {}
    Image.fromarray(PIXELS).save(path, save_all=True, append_images=[Image.fromarray(255 - PIXELS)], **more)
    np.testing.assert_array_equal(file.load(path), PIXELS)
    assert file.describe(path).width == 160


def test_animated_gif_is_refused(tmp_path):
    Image.fromarray(PIXELS).save(tmp_path / "a.gif", save_all=True, append_images=[Image.fromarray(255 - PIXELS)])
    assert all("GIF files are not read" in s for s in refused(tmp_path / "a.gif"))


def test_palette_with_transparency_lies_on_white(tmp_path):
    picture = Image.fromarray(np.repeat(np.arange(4, dtype=np.uint8)[None], 4, axis=0), mode="P")
    picture.putpalette([200, 0, 0, 0, 200, 0, 0, 0, 200, 9, 9, 9] + [0] * (252 * 3))
    picture.save(tmp_path / "a.png", transparency=2)
    assert file.load(tmp_path / "a.png")[0].tolist() == [[200, 0, 0], [0, 200, 0], [255, 255, 255], [9, 9, 9]]


def test_sixteen_bit_grey_with_alpha_lies_on_white(tmp_path):
    level, alpha = np.meshgrid(np.arange(0, 65536, 4369), [0, 32768, 65535])
    rows = b"".join(b"\0" + np.stack([g, a], axis=-1).astype(">u2").tobytes()
                    for g, a in zip(level, alpha, strict=True))
    png(tmp_path / "a.png", struct.pack(">IIBBBBB", 16, 3, 16, 4, 0, 0, 0), zlib.compress(rows))
    got = file.load(tmp_path / "a.png")
    wanted = np.rint(level * (alpha / 65535) + 65535 * (1 - alpha / 65535))
    assert got.dtype == np.uint16
    np.testing.assert_allclose(got, np.repeat(wanted[:, :, None], 3, axis=2), atol=1)


@pytest.mark.parametrize("shape", [(20000, 1), (1, 20000), (3, 40000), (1, 1)])
def test_very_long_or_small_photos(tmp_path, shape):
    path = tmp_path / "a.png"
    pixels = np.random.default_rng(1).integers(0, 255, (*shape, 3), dtype=np.uint8)
    Image.fromarray(pixels).save(path)
    photo = Pyramid(path)
    assert (photo.width, photo.height) == shape[::-1]
    assert photo.overview.startswith(b"\xff\xd8")
    for z in range(photo.max_z + 1):
        assert photo.tile(z, 0, 0, "even light").startswith(b"\xff\xd8")
    np.testing.assert_array_equal(photo.crop((0, 0, *shape[::-1])), pixels)
    assert scale.ruler(pixels) is None
    assert columns.propose(pixels) == []


@pytest.mark.filterwarnings("ignore:Corrupt EXIF data:UserWarning", "ignore:Truncated File Read:UserWarning")
def test_lying_exif_is_not_believed(tmp_path):
    """Wild pointers, counts and types; the turn alone is plausible and is used."""
    entries = [(0x0112, 3, 1, 6), (0x0132, 2, 2_000_000, 3000), (0x8769, 4, 1, 26), (0x8825, 4, 1, 4294967280)]
    block = b"Exif\0\0II*\0\x08\0\0\0" + struct.pack("<H", len(entries))
    block += b"".join(struct.pack("<HHII", *e) for e in entries) + bytes(4)
    Image.fromarray(PIXELS).save(tmp_path / "a.jpg", exif=block)
    told = file.describe(tmp_path / "a.jpg")
    assert (told.width, told.height, told.taken) == (120, 160, "")
    assert file.load(tmp_path / "a.jpg").shape == (160, 120, 3)


@pytest.mark.parametrize("value", [0, 9, 99])
def test_orientation_outside_the_standard_counts_as_upright(tmp_path, value):
    block = Image.Exif()
    block[0x0112] = value
    Image.fromarray(PIXELS).save(tmp_path / "a.png", exif=block)
    np.testing.assert_array_equal(file.load(tmp_path / "a.png"), PIXELS)


@pytest.mark.parametrize("name", ["a.png", "a.tif"])
def test_enormous_size_in_the_header_is_refused_at_once(tmp_path, name):
    path, most = tmp_path / name, 2**31 - 1
    if name == "a.png":
        png(path, struct.pack(">IIBBBBB", most, most, 16, 6, 0, 0, 0))
    else:
        entries = [(256, 4, 1, most), (257, 4, 1, most), (258, 3, 1, 16), (262, 3, 1, 1)]
        path.write_bytes(b"II*\0\x08\0\0\0" + struct.pack("<H", 4) + b"".join(struct.pack("<HHII", *e) for e in entries)
                         + bytes(4))
    assert all("too large" in s or "not a photo" in s or "cut off" in s for s in refused(path))


@pytest.mark.skipif(os.name != "posix", reason="needs links, pipes and devices")
def test_what_is_no_ordinary_file(tmp_path):
    os.symlink(tmp_path / "loop.jpg", tmp_path / "loop.jpg")
    os.mkfifo(tmp_path / "pipe.jpg")
    assert all("cannot be read" in s for s in refused(tmp_path / "loop.jpg"))
    assert all("device or a pipe" in s for s in refused(tmp_path / "pipe.jpg"))
    assert all("device or a pipe" in s for s in refused("/dev/zero"))
    assert all("cannot be read" in s for s in refused(tmp_path / ("x" * 300 + ".png")))
    assert all("no file name" in s for s in refused(str(tmp_path / "a\0b.png")))


@pytest.mark.parametrize("name", ["a b\n'\"\u202e\U0001f600あ.png", "-rf.png", "%s{x}$HOME`.png", "a..png"])
@pytest.mark.skipif(os.name != "posix", reason="other systems forbid these names")
def test_names_with_odd_characters(tmp_path, name):
    Image.fromarray(PIXELS).save(tmp_path / name)
    np.testing.assert_array_equal(file.load(tmp_path / name), PIXELS)
    cv2.imwrite(str(tmp_path / "deep.png"), PIXELS.astype(np.uint16))
    os.replace(tmp_path / "deep.png", tmp_path / name)
    assert file.load(tmp_path / name).dtype == np.uint16


def test_a_file_that_grows_is_refused_and_then_read(tmp_path):
    """Copied over a slow cable: cut off first, whole later; nothing of the first look is kept."""
    Image.fromarray(PIXELS).save(tmp_path / "whole.png")
    whole, path = (tmp_path / "whole.png").read_bytes(), tmp_path / "a.png"
    path.write_bytes(whole[:len(whole) // 2])
    refused(path)
    with open(path, "ab") as stream:
        stream.write(whole[len(whole) // 2:])
    assert Pyramid(path).width == 160
    np.testing.assert_array_equal(Pyramid(path).crop((0, 0, 160, 120)), PIXELS)
    Image.fromarray(255 - PIXELS).save(path)
    os.utime(path, ns=(1, 1))
    np.testing.assert_array_equal(Pyramid(path).crop((0, 0, 160, 120)), 255 - PIXELS)
