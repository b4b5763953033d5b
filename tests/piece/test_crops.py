"""Crops of a sign from other photographs, views and its tracing. Pixels are known because the photographs are drawn."""

import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.errors import OptionError, PhotoError, ShapeError
from readaid.core.photo import Tracing, rectangle
from readaid.core.specimen import Example
from readaid.piece.crops import PLAIN, Look


@pytest.fixture
def plate(tmp_path):
    """A grey plate with one white square, and the same plate seen shifted by (30, 20) pixels, reddish."""
    first = np.full((300, 400, 3), 90, np.uint8)
    first[100:140, 200:240] = 250
    second = np.full((300, 400, 3), (160, 60, 60), np.uint8)
    second[120:160, 230:270] = 250
    for name, pixels in (("first", first), ("second", second)):
        Image.fromarray(pixels).save(tmp_path / f"{name}.png")
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as piece:
        home = piece.add_photo(tmp_path / "first.png", surface="front")
        other = piece.add_photo(tmp_path / "second.png", surface="front")
        other = piece.change(other, to_reference=(1.0, 0, -30, 0, 1, -20, 0, 0, 1), reference=home.id)
        verse = piece.layout.inscription("verse", home)
        zone, sign = piece.layout.draw(verse, home, rectangle(190, 90, 60, 60))
        yield piece, home, other, zone, sign


def test_the_zone_is_cropped_where_it_lies_on_each_photograph(plate):
    piece, _, other, zone, _ = plate
    crops = piece.decipherment.crops
    here, there = crops.pixels(zone, PLAIN, 0.0), crops.pixels(zone, Look(other.id), 0.0)
    assert here.shape == there.shape == (60, 60, 3)
    for picture in (here, there):
        white = np.argwhere(picture.min(2) > 200)
        assert (white.min(0).tolist(), white.max(0).tolist()) == ([10, 10], [49, 49])
    assert there[0, 0].tolist() == [160, 60, 60]


def test_a_sheet_lies_over_the_untouched_photograph(plate):
    piece, home, other, zone, _ = plate
    crops = piece.decipherment.crops
    # the same plate turned by a quarter: x' = 400 - y, y' = x
    turned = piece.folder.parent / "turned.png"
    Image.fromarray(np.rot90(np.asarray(Image.open(piece.path(home))), -1)).save(turned)
    quarter = piece.add_photo(turned, surface="front")
    to_home = np.linalg.inv(np.array([[0, -1, 300.0], [1, 0, 0], [0, 0, 1]]))
    quarter = piece.change(quarter, to_reference=tuple(to_home.ravel()), reference=home.id)
    stands = crops.pixels(zone, Look(quarter.id), 0.0)
    assert np.abs(stands.astype(int) - crops.pixels(zone, PLAIN, 0.0)).max() <= 2, "turned back by a quarter"
    plain = crops.sheet(zone, PLAIN, 0.2)
    assert np.abs(crops.sheet(zone, Look(quarter.id), 0.2).astype(int) - plain).max() <= 2
    shifted = crops.sheet(zone, Look(other.id), 0.2)
    assert shifted.shape == plain.shape
    assert ((shifted.min(2) > 200) == (plain.min(2) > 200)).mean() > 0.99


def test_views_and_what_was_looked_at_in_words(plate):
    piece, home, other, zone, _ = plate
    crops = piece.decipherment.crops
    swapped = crops.pixels(zone, Look(view="dark and light swapped"), 0.0)
    assert (swapped == 255 - crops.pixels(zone, PLAIN, 0.0)).all()
    assert crops.words(zone, PLAIN) == crops.words(zone, Look(home.id)) == ""
    assert crops.words(zone, Look(other.id)) == "second"
    assert crops.words(zone, Look(view="mirrored")) == "first, view mirrored"
    mirrored = crops.pixels(zone, Look(view="mirrored"), 0.0)
    assert (mirrored == crops.pixels(zone, PLAIN, 0.0)[:, ::-1]).all()
    with pytest.raises(OptionError, match="did you mean 'mirrored'"):
        crops.pixels(zone, Look(view="mirored"))
    with pytest.raises(OptionError, match="cannot lie under a tracing"):
        crops.sheet(zone, Look(view="mirrored"))


def test_a_photograph_that_does_not_show_the_zone_is_refused(plate, tmp_path):
    piece, _, other, zone, _ = plate
    Image.fromarray(np.full((50, 50, 3), 9, np.uint8)).save(tmp_path / "else.png")
    back = piece.add_photo(tmp_path / "else.png", surface="back")
    crops = piece.decipherment.crops
    assert [p.id for p in crops.photos(zone)] == [zone.photo, other.id]
    for ask in (crops.pixels, crops.sheet, crops.check):
        with pytest.raises(PhotoError, match="does not show"):
            ask(zone, Look(back.id))


def test_the_reader_s_tracing_goes_before_the_computer_s(plate):
    piece, _, _, zone, sign = plate
    crops = piece.decipherment.crops
    with pytest.raises(ShapeError, match="No tracing"):
        piece.decipherment.suggest(sign, look=Look(tracing=True))
    piece.save(Tracing(zone.id, (((0, 0), (1, 0)),), by="skeleton"))
    assert crops.words(zone, Look(tracing=True)) == "the tracing proposed by computer"
    piece.save(Tracing(zone.id, (((0, 0), (0, 1)),)))
    assert crops.words(zone, Look(tracing=True)) == "the tracing"
    picture = crops.pixels(zone, Look(tracing=True))
    assert picture.shape[0] > 3 * picture.shape[1], "the upright stroke of the reader"
    assert piece.decipherment.suggest(sign, k=1, among="kanji", look=Look(tracing=True))


def test_an_example_is_taken_back_and_stays_in_the_history(plate):
    piece, _, _, _, sign = plate
    made = piece.decipherment.learn(sign, "四")
    assert piece.decipherment.suggest(sign, k=1)[0].character == "四"
    piece.decipherment.forget(made)
    assert piece.contents.examples == ()
    assert piece.register.history(made.id)[-1].withdrawn
    with pytest.raises(OptionError, match="no example with this id"):
        piece.decipherment.forget(sign.id)
    assert isinstance(made, Example)


def test_a_mirrored_photograph_is_mirrored_back(plate, tmp_path):
    """A rubbing seen from the back: its crop stands as the sign does."""
    piece, home, _, zone, _ = plate
    marked = np.asarray(Image.open(piece.path(home))).copy()
    marked[100:110, 200:210] = 0
    Image.fromarray(marked).save(tmp_path / "marked.png")
    Image.fromarray(marked[:, ::-1]).save(tmp_path / "back.png")
    front, back = (piece.add_photo(tmp_path / f"{n}.png", surface="front") for n in ("marked", "back"))
    piece.change(front, to_reference=(1.0, 0, 0, 0, 1, 0, 0, 0, 1), reference=home.id)
    piece.change(back, to_reference=(-1.0, 0, 400, 0, 1, 0, 0, 0, 1), reference=home.id)
    crops = piece.decipherment.crops
    assert (crops.pixels(zone, Look(back.id), 0.0) == crops.pixels(zone, Look(front.id), 0.0)).all()
