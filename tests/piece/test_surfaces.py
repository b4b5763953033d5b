"""Photos laid over each other, and pictures computed from them, against OpenCV's geometry and the rendered cuts."""

import contextlib
import json

import cv2
import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.errors import OptionError, PhotoError, ZoneError
from readaid.core.photo import Evidence, Scale, Zone, rectangle
from readaid.core.places import share

DEMO = share("data") / "demo" / "photos"
TRUTH = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
SIDES = ("left", "top", "right", "bottom")


@contextlib.contextmanager
def four_lights(place):
    """The demo's verse side under its four lights, as taken, nothing on it."""
    with readaid.new(place / "plate", reader="Mori", title="Lid") as piece:
        for side in SIDES:
            piece.add_photo(DEMO / f"verse_{side}.jpg", surface="front", light_direction=tuple(TRUTH["lights"][side]))
        yield piece


@pytest.fixture
def plate(tmp_path):
    with four_lights(tmp_path) as piece:
        yield piece


@pytest.fixture(scope="module")
def relieved(tmp_path_factory):
    """Such a piece at scale, the relief found in it, and how far the search told it was."""
    told = []
    with four_lights(tmp_path_factory.mktemp("relief")) as piece:
        left = piece.set_scale(by_side(piece)["left"], Scale((0, 0), (260, 0), 10.0))
        found = piece.surfaces.find_relief(piece.surfaces.lit(left.id), step=lambda words, share: told.append(share))
        yield piece, found, told


def by_side(piece):
    return {p.title.removeprefix("verse_"): p for p in piece.contents.photos}


def turned_copy(piece, tmp_path, degrees=4.0, shift=(35.0, -20.0)):
    """A turned, shifted, slightly enlarged copy of verse_left, and OpenCV's own matrix from original to copy."""
    pixels = np.asarray(Image.open(DEMO / "verse_left.jpg"))
    height, width = pixels.shape[:2]
    m = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.03)
    m[:, 2] += shift
    path = tmp_path / "turned.png"
    Image.fromarray(cv2.warpAffine(pixels, m, (width, height), borderValue=(90, 80, 70))).save(path)
    return piece.add_photo(path, surface="front"), m


@pytest.mark.parametrize("side", ["top", "right"])
def test_photos_of_an_unmoved_camera_lie_over_each_other(plate, side):
    photos = by_side(plate)
    before = plate.version
    made = plate.surfaces.align(photos[side], photos["left"])
    assert plate.version == before + 1
    assert made.reference == photos["left"].id
    corners = np.array([[0, 0, 1], [made.width, 0, 1], [made.width, made.height, 1]], float)
    there = corners @ np.reshape(made.to_reference, (3, 3)).T
    assert np.abs(there[:, :2] / there[:, 2:] - corners[:, :2]).max() < 2


def test_a_zone_holds_in_a_turned_copy_within_three_pixels(plate, tmp_path):
    photo, m = turned_copy(plate, tmp_path)
    left = by_side(plate)["left"]
    plate.surfaces.align(photo, left)
    verse = plate.layout.inscription("verse", left)
    for box in (rectangle(1410, 300, 135, 125), rectangle(700, 600, 120, 140)):
        zone, _ = plate.layout.draw(verse, left, box)
        seen = plate.surfaces.zone_on(zone, photo)
        assert (seen.id, seen.photo) == (zone.id, photo.id)
        truth = np.c_[np.array(box), np.ones(4)] @ m.T
        assert np.linalg.norm(np.array(seen.outline) - truth, axis=1).max() < 3
        back = plate.surfaces.zone_on(seen, left)
        assert np.allclose(back.outline, zone.outline, atol=1e-6)


def test_zones_of_a_chain_of_photos_and_of_strangers(plate):
    photos = by_side(plate)
    shift = (1.0, 0, 10.0, 0, 1.0, 5.0, 0, 0, 1.0)
    plate.change(photos["top"], to_reference=shift, reference=photos["left"].id)
    plate.change(photos["right"], to_reference=shift, reference=photos["top"].id)
    zone = Zone(photos["right"].id, rectangle(100, 100, 50, 50))
    assert plate.surfaces.zone_on(zone, photos["left"].id).outline == rectangle(120, 110, 50, 50)
    assert plate.surfaces.zone_on(zone, photos["bottom"]) is None
    outside = Zone(photos["left"].id, rectangle(0, 0, 8, 40))
    assert plate.surfaces.zone_on(outside, photos["right"].id) is None  # less than half of it is in the picture
    with pytest.raises(PhotoError, match="already lies over"):
        plate.surfaces.align(photos["left"], photos["right"].id)


def test_what_cannot_be_laid_over(plate, tmp_path, picture):
    photos = by_side(plate)
    with pytest.raises(PhotoError, match="over itself"):
        plate.surfaces.align(photos["left"], photos["left"])
    noise = plate.add_photo(picture)
    before = plate.version
    with pytest.raises(PhotoError, match="cannot be laid over each other"):
        plate.surfaces.align(noise, photos["left"])
    other = plate.add_photo(DEMO / "signature_left.jpg", surface="underside")
    with pytest.raises(PhotoError, match="different surfaces"):
        plate.surfaces.align(other, photos["left"])
    assert plate.version == before + 1
    plate.surfaces.align(photos["top"], photos["left"])
    assert plate.surfaces.release(photos["top"].id).reference is None


def test_zones_of_two_photos_are_ordered_together(plate):
    photos = by_side(plate)
    plate.change(photos["top"], to_reference=(1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0), reference=photos["left"].id)
    verse = plate.layout.inscription("verse", photos["left"])
    _, low = plate.layout.draw(verse, photos["left"], rectangle(1410, 600, 130, 130))
    _, high = plate.layout.draw(verse, photos["top"].id, rectangle(1415, 300, 130, 130))
    assert plate.find(type(verse), verse.id).columns == ((high.id, low.id),)


def test_relief_shows_the_cuts_and_is_a_photo_of_the_piece(relieved):
    plate, found, told = relieved
    left = by_side(plate)["left"]
    assert told == sorted(told)
    assert len(told) >= 5
    before = plate.version
    made = plate.surfaces.keep(found)
    assert len({r.gesture for r in plate.register.since(before)}) == 1
    assert (made.evidence, made.reference, made.surface) == (Evidence.COMPUTED, left.id, "front")
    assert made.file == "photos/computed-relief-verse_left.png"
    assert all(f"verse_{s}.jpg" in made.note for s in SIDES)
    assert made.scale.mm_per_pixel == pytest.approx(10 / 260)
    assert all(p.reference == left.id for p in plate.contents.photos if p.title in ("verse_top", "verse_right"))
    assert not plate.check_photos()
    picture = np.asarray(Image.open(plate.path(made))).astype(float)
    assert np.ptp(picture, axis=2).max() == 0  # no colour is left
    # rendered signs are sunk: within the outlines of the truth there is far more that is dark than on bare ground
    signs, ground = [], np.ones(picture.shape[:2], bool)
    for x, y, w, h in TRUTH["verse"]["boxes"].values():
        part = np.s_[int(y):int(y + h), int(x):int(x + w)]
        signs.append(picture[part][..., 0].ravel())
        ground[part] = False
    ground[:300], ground[1100:], ground[:, :350], ground[:, 1600:] = False, False, False, False  # frame and card
    dark = np.concatenate(signs) < 80
    assert dark.mean() > 4 * (picture[..., 0][ground] < 80).mean()
    assert plate.surfaces.keep(found).id == made.id  # the same picture is not kept twice


def test_a_zone_drawn_on_a_computed_picture_lies_on_the_photo_behind(plate):
    left = by_side(plate)["left"]
    corners = [(300, 200), (1700, 180), (1750, 1200), (280, 1250)]
    square = plate.surfaces.square_up(left, corners)
    assert square.evidence is Evidence.COMPUTED
    assert (square.width, square.height) == (1471, 1050)  # the longer of each pair: the bottom, the left side
    whole = Zone(square.id, rectangle(0, 0, square.width, square.height))
    assert np.allclose(plate.surfaces.zone_on(whole, left).outline, corners, atol=1e-6)
    verse = plate.layout.inscription("verse", left)
    zone, _ = plate.layout.draw(verse, square, rectangle(500, 300, 100, 120))
    assert zone.photo == left.id
    assert np.allclose(plate.surfaces.zone_on(zone, square).outline, rectangle(500, 300, 100, 120), atol=1e-6)
    with pytest.raises(ZoneError, match="convex"):
        plate.surfaces.square_up(left, [(0, 0), (10, 10), (10, 0), (0, 10)])
    with pytest.raises(ZoneError, match="3 corners"):
        plate.surfaces.square_up(left, corners[:3])


def test_one_light_gives_the_second_best_and_says_so(plate):
    made = plate.surfaces.relief([by_side(plate)["left"]])
    assert "One photo only" in made.note
    assert made.title.startswith("Lines in")


def test_photos_of_a_surface_without_a_name_count_only_when_laid_over(plate, picture):
    photos = by_side(plate)
    for photo in photos.values():
        plate.change(photo, surface="")
    plate.add_photo(picture)
    assert [p.title for p in plate.surfaces.lit(photos["left"])] == ["verse_left"]
    plate.change(by_side(plate)["top"], to_reference=(1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0), reference=photos["left"].id)
    assert [p.title for p in plate.surfaces.lit(photos["left"])] == ["verse_left", "verse_top"]
    with pytest.raises(PhotoError, match="front cannot be laid over verse_left"):
        plate.surfaces.relief([photos["left"], photos["top"], next(p for p in plate.contents.photos
                                                                  if p.title == "front")])


def test_two_photos_and_wrong_lights_are_refused(plate):
    photos = by_side(plate)
    with pytest.raises(PhotoError, match="three lights at least"):
        plate.surfaces.relief([photos["left"], photos["top"]])
    plate.change(photos["left"], light_direction=photos["top"].light_direction)
    plate.change(photos["top"], light_direction=photos["left"].light_direction)
    with pytest.raises(PhotoError, match="lights do not match"):
        plate.surfaces.relief([p.id for p in photos.values()])
    assert len(plate.contents.photos) == 4


def test_stopping_keeps_nothing(plate):
    class Stop(Exception):
        pass

    def stop(_words, share):
        if share > 0.1:
            raise Stop

    before = plate.version
    with pytest.raises(Stop):
        plate.surfaces.find_relief(list(plate.contents.photos), step=stop)
    assert plate.version == before
    assert len(list((plate.folder / "photos").iterdir())) == 4


def rubbing_of(piece, photo, tmp_path):
    """A picture such as a rubbing gives: dark and light exchanged, left and right too, other size, paper grain."""
    pixels = np.asarray(Image.open(piece.path(photo)))
    taken = 255 - cv2.resize(pixels, None, fx=0.8, fy=0.8, interpolation=cv2.INTER_AREA)[:, ::-1]
    grain = np.random.default_rng(5).normal(0, 9, taken.shape)
    path = tmp_path / "rubbing.png"
    Image.fromarray(np.clip(taken + grain, 0, 255).astype(np.uint8)).save(path)
    return piece.add_photo(path, surface="front", evidence=Evidence.RUBBING)


def test_a_mirrored_rubbing_is_laid_over_and_known_as_mirrored(tmp_path):
    """Where the zones must lie follows from how the rubbing was made: x -> 0.8 (width - x), y -> 0.8 y. Half the demo's
    pixels: each of four ways is tried."""
    taken = Image.open(DEMO / "verse_left.jpg").reduce(2)
    taken.save(tmp_path / "left.png")
    with readaid.new(tmp_path / "plate", reader="Mori", title="Lid") as piece:
        left = piece.add_photo(tmp_path / "left.png", surface="front")
        made = piece.surfaces.align(rubbing_of(piece, left, tmp_path), left)
        assert (made.mirrored, made.reference) == (True, left.id)
        zone = Zone(left.id, rectangle(705, 150, 68, 62))
        x, y, w, h = piece.surfaces.zone_on(zone, made).box
        assert (x, y, w, h) == pytest.approx((0.8 * (left.width - 705 - 68), 120, 54.4, 49.6), abs=1.5)
        assert piece.undo()
        assert not piece.find(type(made), made.id).mirrored


def test_only_what_was_taken_off_the_piece_is_tried_mirrored(plate, tmp_path, monkeypatch):
    photo = plate.change(rubbing_of(plate, by_side(plate)["left"], tmp_path), evidence=Evidence.PHOTOGRAPH)
    tried = []
    monkeypatch.setattr(type(plate.surfaces), "_fitted", lambda self, mine, base: tried.append(
        (mine.mirrored, mine.swapped)) or (0.5, (1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0)))
    plate.surfaces.find_alignment(photo, by_side(plate)["left"])
    assert tried == [(False, False)]
    plate.surfaces.find_alignment(plate.change(photo, evidence=Evidence.SCAN), by_side(plate)["left"])
    assert set(tried[1:]) == {(False, False), (False, True), (True, False), (True, True)}


def test_the_surface_shape_and_the_tone_are_pictures_of_their_own(relieved):
    """By how the plate was rendered: the ground is level, so most normals point to the camera; shadows are no tone."""
    plate, found, _ = relieved
    cuts = plate.surfaces.keep(found)
    lit = plate.surfaces.lit(cuts)
    shape = plate.surfaces.keep(plate.surfaces.find_relief(lit, show="shape"))
    tone = plate.surfaces.keep(plate.surfaces.find_relief(lit, show="tone"))
    assert [p.file for p in (cuts, shape, tone)] == [f"photos/computed-{n}-verse_left.png"
                                                     for n in ("relief", "normals", "tone")]
    assert {p.reference for p in (cuts, shape, tone)} == {by_side(plate)["left"].id}
    ground = np.s_[320:1080, 400:1550]
    normals = np.asarray(Image.open(plate.path(shape)))[ground].astype(float) / 127.5 - 1
    assert np.median(normals[..., 2]) > 0.97
    assert np.linalg.norm(normals, axis=2) == pytest.approx(1, abs=0.03)
    left = np.asarray(Image.open(plate.path(by_side(plate)["left"])).convert("L")).astype(float)
    even = np.asarray(Image.open(plate.path(tone)).convert("L")).astype(float)
    flatter = []
    for x, y, w, h in TRUTH["verse"]["boxes"].values():
        sign = np.s_[int(y):int(y + h), int(x):int(x + w)]
        flatter.append(even[sign].std() / even[sign].mean() < 0.6 * left[sign].std() / left[sign].mean())
    assert np.mean(flatter) > 0.8  # what made the sign visible was shadow
    with pytest.raises(PhotoError, match="no surface shape"):
        plate.surfaces.find_relief(lit[:1], show="shape")
    with pytest.raises(OptionError, match="'shapes'"):
        plate.surfaces.find_relief(lit, show="shapes")
