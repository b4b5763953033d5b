"""How crops of real hands are parted for the training: the same on every machine, nothing on both sides."""

import io
import lzma
import sys
from pathlib import Path

import numpy as np
import pytest

from readaid.glyphs.classes import classes, index

TRAINING = Path(__file__).resolve().parents[2] / "data" / "train_glyphs"


@pytest.fixture(scope="module")
def real():
    sys.path.insert(0, str(TRAINING))
    try:
        import real
    finally:
        sys.path.remove(str(TRAINING))
    return real


@pytest.fixture
def file(tmp_path):
    """A file as the crops come in: 400 made-up pictures, two doubles, one blank, one label to be composed."""
    rng = np.random.default_rng(4)
    pictures = (rng.integers(0, 16, (400, 48, 48)) * 16).astype(np.uint8)
    labels = ["花"] * 399 + ["\ufa38"]  # a compatibility ideograph: 器 in composed form (Unicode NFC)
    pictures[7] = 0
    pictures[20], pictures[21], labels[21] = pictures[19], pictures[19], "木"
    packed = (pictures[:, :, 0::2] & 0xF0) | (pictures[:, :, 1::2] >> 4)
    held = io.BytesIO()
    np.savez(held, packed=packed, character=np.array(labels))
    path = tmp_path / "real.npz.xz"
    path.write_bytes(lzma.compress(held.getvalue()))
    return path, pictures


def test_four_bits_a_pixel_come_back(real, file):
    _, pictures = file
    packed = (pictures[:, :, 0::2] & 0xF0) | (pictures[:, :, 1::2] >> 4)
    assert np.array_equal(real.unpack(packed), pictures)


def test_blank_ones_and_doubles_are_dropped_and_labels_composed(real, file):
    pictures, characters, part = real.read(file[0])
    assert len(pictures) == 400 - 1 - 3, "the blank one; a double, and both of a picture with two unlike labels"
    assert characters[-1] == "器"
    assert len({p.tobytes() for p in pictures}) == len(pictures)
    assert np.array_equal(part, real.read(file[0])[2]), "the same every time"
    shares = np.bincount(part, minlength=3) / len(part)
    assert shares == pytest.approx([0.86, 0.04, 0.10], abs=0.05)


def test_a_picture_belongs_to_one_part_whatever_stands_beside_it(real, file):
    pictures, _, part = real.read(file[0])
    assert [real.part_of(p)[1] for p in pictures[::7]] == part[::7].tolist()


def test_old_forms_of_parents_are_filed_under_the_form_in_daily_use(real):
    """氣 and 気 are one class of the table (pairs of Unihan kZVariant and common practice)."""
    for old, new in (("氣", "気"), ("滿", "満"), ("尓", "爾")):
        assert real.label(old) == new
        assert new in index()


def test_the_table_tells_how_many_crops_the_training_saw():
    crops = {c.character: c.crops for c in classes()}
    assert sum(crops.values()) == 92_390, "86 in 100 of the crops, as the model card says"
    assert crops["花"] > 100 > crops["銘"]
    assert all(c.crops == 0 for c in classes() if c.kind in ("hiragana", "katakana")), "real kana told a sound"
