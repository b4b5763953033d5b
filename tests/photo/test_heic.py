"""HEIC by content, its words left behind; raw files are told as what they are. The sample is a drawing of our own."""

from pathlib import Path

import numpy as np
import pytest

from readaid.core.errors import PhotoError
from readaid.photo import file, heic, metadata
from readaid.photo.pyramid import Pyramid

SAMPLE = Path(__file__).parent / "telephone.heic"
needs_decoder = pytest.mark.skipif(not heic.decoder(), reason="no HEIC decoder: pip install pi-heif")


@needs_decoder
def test_a_telephones_picture_opens_upright_whatever_its_name(tmp_path):
    path = tmp_path / "IMG_0001.JPG"  # some telephones rename what they hand over
    path.write_bytes(SAMPLE.read_bytes())
    told = file.describe(path)
    assert (told.width, told.height, told.format, told.taken) == (96, 128, "HEIF", "2026-11-26T10:00:00")
    assert told.private == ("position", "owner", "camera serial number")
    pixels = file.load(path)
    assert pixels.shape == (128, 96, 3)
    assert np.abs(pixels[40, 65].astype(int) - 250).max() < 40  # the white square, turned by a quarter
    assert Pyramid(path).overview[:2] == b"\xff\xd8"


@needs_decoder
def test_what_leaves_holds_the_picture_and_no_word_of_the_telephone():
    data = SAMPLE.read_bytes()
    assert b"Mori Kiku" in data
    out = metadata.stripped(data, SAMPLE.name)
    assert out[:2] == b"\xff\xd8"
    for word in (b"Mori Kiku", b"SN-4711", b"Invented", b"Exif"):
        assert word not in out


def test_without_the_decoder_the_cure_is_told(monkeypatch):
    monkeypatch.setattr(heic, "decoder", lambda: False)
    with pytest.raises(PhotoError, match=r"pip install readaid\[heic\], or save the photo as JPEG"):
        file.describe(SAMPLE)


@pytest.mark.parametrize(("name", "head", "told"), [
    ("a.nef", b"MM\0*\0\0\0\x08", "NEF"), ("a.dng", b"II*\0\x08\0\0\0", "DNG"),
    ("a.tif", b"II*\0\x10\0\0\0CR\x02\0", "CR2"),
    ("a.cr3", b"\0\0\0\x18ftypcrx \0\0\0\x01", "CR3"), ("a.raf", b"FUJIFILMCCD-RAW ", "RAF")])
def test_a_raw_file_is_told_as_one_and_its_small_picture_is_not_taken_for_it(tmp_path, name, head, told):
    path = tmp_path / name
    path.write_bytes(head + b"\0" * 64)
    with pytest.raises(PhotoError, match=rf"camera's raw file \({told}\).*save a 16-bit TIFF"):
        file.describe(path)


def test_a_moving_picture_is_no_photo(tmp_path):
    path = tmp_path / "a.heic"
    path.write_bytes(b"\0\0\0\x18ftyphevc" + b"\0" * 64)
    with pytest.raises(PhotoError, match="not a photo that can be opened"):
        file.describe(path)
