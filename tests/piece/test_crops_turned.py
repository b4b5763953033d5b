"""Crops from a photograph marked as mirrored, and from a picture of a surface's normals."""

import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.photo import Evidence, ViewSetting, rectangle
from readaid.piece.crops import PLAIN, Look


@pytest.fixture
def rubbing(tmp_path):
    """A grey sheet, a white mark at the left edge of the zone in the file."""
    pixels = np.full((300, 400, 3), 90, np.uint8)
    pixels[100:140, 200:210] = 250
    Image.fromarray(pixels).save(tmp_path / "rubbing.png")
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as piece:
        photo = piece.add_photo(tmp_path / "rubbing.png", surface="front", evidence=Evidence.RUBBING)
        verse = piece.layout.inscription("verse", photo)
        zone, _ = piece.layout.draw(verse, photo, rectangle(200, 90, 60, 60))
        yield piece, photo, zone


def white(pixels):
    return sorted(set(np.argwhere(pixels.min(2) > 200)[:, 1].tolist()))


def test_the_sign_of_a_mirrored_rubbing_is_cropped_as_it_is_read(rubbing):
    piece, photo, zone = rubbing
    crops = piece.decipherment.crops
    assert white(crops.pixels(zone, PLAIN, 0.0)) == list(range(10))
    piece.change(photo, mirrored=True)
    assert white(crops.pixels(zone, PLAIN, 0.0)) == list(range(50, 60))
    assert white(crops.pixels(zone, Look(view="mirrored"), 0.0)) == list(range(10))  # turned twice


def test_a_picture_of_normals_is_cropped_under_the_lamp_as_it_was_last_moved(rubbing, tmp_path):
    piece, photo, zone = rubbing
    normals = np.full((300, 400, 3), (128, 128, 255), np.uint8)
    normals[100:140, 200:230] = (40, 128, 220)  # faces left
    Image.fromarray(normals).save(tmp_path / "computed-normals-rubbing.png")
    made = piece.add_photo(tmp_path / "computed-normals-rubbing.png", surface="front", evidence=Evidence.COMPUTED,
                           to_reference=(1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0), reference=photo.id)
    look = Look(made.id)
    crops = piece.decipherment.crops
    for side, lighter in ((180.0, True), (0.0, False)):
        piece.save(ViewSetting(made.id, "lamp moved", (("depth", 1.0), ("height", 30.0), ("side", side)), id="seen"),
                   base=piece.contents)
        seen = crops.pixels(zone, look, 0.0)
        assert np.ptp(seen, axis=2).max() == 0  # no colour
        assert bool(seen[20, 5, 0] > seen[20, 50, 0]) is lighter
