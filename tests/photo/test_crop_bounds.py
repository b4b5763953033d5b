"""A picture that is no crop of one sign is refused by its size, before a pixel of it is decoded; damage in words."""

import struct
import zlib

import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.errors import PhotoError, ShapeError
from readaid.photo import file, ink


def headed(path, width: int, height: int):
    """A PNG whose head promises so many pixels and that holds none (PNG specification: IHDR, IDAT, IEND)."""
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
                     + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b""))
    return path


@pytest.mark.parametrize(("width", "height"), [(1, 178_000_000), (178_000_000, 1), (9_000, 9_000), (40_000, 40_000),
                                               (100_000, 1_000)])
def test_a_picture_too_large_for_one_sign_is_not_decoded(tmp_path, width, height):
    path = headed(tmp_path / "crop.png", width, height)
    for call in (readaid.suggest, ink.find_ink, lambda p: readaid.compare(p, p)):
        with pytest.raises(ShapeError, match="too large for one character") as caught:
            call(path)
        assert "64 million pixels" in caught.value.cure


def test_pictures_and_arrays_have_the_same_bound():
    for crop in (np.broadcast_to(np.uint8(9), (1, 40_000)), np.broadcast_to(np.uint8(9), (9_000, 9_000, 3)),
                 Image.new("1", (9_000, 8_000))):
        with pytest.raises(ShapeError, match="too large for one character"):
            readaid.suggest(crop)


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "LA", "P", "CMYK", "L", "1"])
def test_grey_by_strips_is_grey_at_once(monkeypatch, mode):
    grain = np.random.default_rng(3).integers(0, 256, (37, 23, 3)).astype(np.uint8)
    picture = Image.fromarray(grain).convert("RGBA" if mode == "LA" else "RGB").convert(mode)
    whole = ink.grey(picture)
    monkeypatch.setattr(ink, "STRIP", 23 * 5)
    assert np.array_equal(ink.grey(picture), whole)


@pytest.mark.parametrize("odd", [None, 5, [], {}, "", [[1, 2], [3]], object(), np.full((9, 9), None),
                                 np.full((9, 9), 1j), np.array([["a"]])])
def test_what_is_no_picture_is_told(odd):
    for call in (readaid.suggest, lambda x: readaid.compare(x, x)):
        with pytest.raises(ShapeError):
            call(odd)


@pytest.mark.parametrize("odd", [None, 5, 0, b"x.png", [], {}])
def test_what_is_no_path_is_no_photo(odd):
    with pytest.raises(PhotoError, match="is no file name"):
        file.describe(odd)


def test_numbers_beyond_white_and_below_black_count_as_these():
    page = np.full((40, 40), 255.0)
    page[18:22, 5:35] = -1e30
    page[0, 0] = 1e30
    assert ink.grey(page).max() == 1.0
    assert ink.grey(page).min() == 0.0


def test_a_crop_one_pixel_wide_has_no_grain():
    page = np.full((160, 1), 235, np.uint8)
    page[40:90] = 20
    assert ink.find_ink(page).grain == 0.0


def test_damaged_bytes_end_in_words_whatever_the_reader_raises(tmp_path, monkeypatch):
    Image.new("L", (40, 40), 200).save(tmp_path / "a.jpg")
    for raised in (ZeroDivisionError("by zero"), KeyError(3), IndexError(), EOFError(), TypeError(), MemoryError()):
        def load(self, raised=raised):
            raise raised
        monkeypatch.setattr("PIL.ImageFile.ImageFile.load", load)
        with pytest.raises(ShapeError):
            readaid.suggest(tmp_path / "a.jpg")
        with pytest.raises(PhotoError):
            file.describe(tmp_path / "a.jpg")
