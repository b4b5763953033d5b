"""A curved column laid straight, against plane geometry of the circle and OpenCV's own resampling."""

import dataclasses
import math

import cv2
import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.errors import ZoneError
from readaid.core.photo import Evidence, Photo, Scale, Zone, rectangle
from readaid.piece import ways

CENTRE, RADIUS, TURN = (-600.0, 500.0), 1000.0, 0.45  # the middle line is an arc of a circle, half angle TURN


def on_arc(y, x=0.0):
    """Where (x across, y along, both from the middle of the column) lies on the photo: polar coordinates."""
    angle, radius = y / RADIUS, RADIUS + x
    return CENTRE[0] + radius * math.cos(angle), CENTRE[1] + radius * math.sin(angle)


@pytest.fixture(scope="module")
def drawn():
    """A straight column of marks, 120 x 900, and the same bent along the arc by OpenCV into a photo of 700 x 1000."""
    straight = np.full((900, 120, 3), 225, np.uint8)
    for n in range(6):
        cv2.putText(straight, "EKXRAB"[n], (22, 120 + n * 140), cv2.FONT_HERSHEY_SIMPLEX, 3.2, (30, 30, 30), 9)
    y, x = np.mgrid[0:1000, 0:700] + 0.5
    radius, angle = np.hypot(x - CENTRE[0], y - CENTRE[1]), np.arctan2(y - CENTRE[1], x - CENTRE[0])
    bent = cv2.remap(straight, (radius - RADIUS + 60 - 0.5).astype(np.float32),
                     (angle * RADIUS + 450 - 0.5).astype(np.float32), cv2.INTER_CUBIC,
                     borderMode=cv2.BORDER_CONSTANT, borderValue=(225, 225, 225))
    return straight, bent


@pytest.fixture
def column(drawn, tmp_path):
    path = tmp_path / "bent.png"
    Image.fromarray(drawn[1]).save(path)
    with readaid.new(tmp_path / "piece", reader="Mori", title="Dish") as piece:
        photo = piece.add_photo(path, surface="front", light="left")
        piece.set_scale(photo, Scale((0, 0), (500, 0), 25.0, "ruler"))
        yield piece, piece.contents.photos[0]


LINE = [on_arc(y) for y in np.linspace(-450, 450, 7)]


def test_the_straightened_picture_is_the_column_before_it_was_bent(column, drawn):
    piece, photo = column
    made = piece.surfaces.straighten(photo, LINE, 120)
    assert (made.width, made.height) == (120, pytest.approx(900, abs=2))
    assert made.evidence is Evidence.COMPUTED
    assert made.reference == photo.id
    assert made.to_reference is None
    assert made.file == "photos/computed-straight-bent.png"
    assert made.title == "bent, column straightened"
    assert "middle line" in made.note
    picture = cv2.resize(np.asarray(Image.open(piece.path(made))), (120, 900)).astype(float)
    likeness = np.corrcoef(picture.ravel(), drawn[0].astype(float).ravel())[0, 1]
    assert likeness > 0.97
    crooked = drawn[1][50:950, 330:450].astype(float)  # the same place cut out without straightening
    assert np.corrcoef(crooked.ravel(), drawn[0].astype(float).ravel())[0, 1] < 0.6


def test_pictures_of_several_columns_can_be_told_apart(column):
    piece, photo = column
    titles = [piece.surfaces.straighten(photo, LINE, width).title for width in (120, 100, 80)]
    assert titles == ["bent, column straightened", "bent, column straightened 2", "bent, column straightened 3"]


def test_the_scale_holds_along_the_column(column):
    piece, photo = column
    made = piece.surfaces.straighten(photo, LINE, 120)
    assert made.scale.mm_per_pixel == pytest.approx(0.05)
    assert made.scale.millimetres == pytest.approx(made.height * 0.05)


def test_a_zone_drawn_on_the_straight_column_goes_to_the_untouched_photo(column):
    piece, photo = column
    made = piece.surfaces.straighten(photo, LINE, 120)
    verse = piece.layout.inscription("verse", photo)
    zone, _ = piece.layout.draw(verse, made, rectangle(10, 590, 100, 140))
    assert zone.photo == photo.id
    true = [on_arc(y - made.height / 2, x - 60) for x, y in ((10, 590), (110, 590), (110, 730), (10, 730))]
    away = [min(math.dist(p, q) for q in zone.outline) for p in true]
    assert max(away) < 1.5  # by the circle's own geometry; the line is rounded between seven clicks
    back = piece.surfaces.zone_on(zone, made)
    assert back.box == pytest.approx((10, 590, 100, 140), abs=0.6)


def test_a_long_zone_gets_points_along_its_bent_sides(column):
    piece, photo = column
    made = piece.surfaces.straighten(photo, LINE, 120)
    outline = piece.surfaces.carried(rectangle(10, 100, 100, 700), made, photo)
    assert len(outline) > 6
    for x, y in outline:  # each lies on one of the two arcs, or on the two short sides between them
        assert RADIUS - 52 < math.dist((x, y), CENTRE) < RADIUS + 52


def test_a_zone_of_the_photo_shows_on_the_straight_column(column):
    piece, photo = column
    made = piece.surfaces.straighten(photo, LINE, 120)
    inside = Zone(photo.id, rectangle(*on_arc(-100, -30), 60, 60))
    x, y, w, h = piece.surfaces.zone_on(inside, made).box
    assert (x, y) == pytest.approx((30, made.height / 2 - 100), abs=8)
    assert w == pytest.approx(60, abs=8)
    assert h == pytest.approx(60, abs=8)
    assert piece.surfaces.zone_on(Zone(photo.id, rectangle(20, 20, 60, 60)), made) is None
    above = rectangle(on_arc(-450)[0] - 20, on_arc(-450)[1] - 60, 40, 30)  # beyond the end of the line
    assert piece.surfaces.zone_on(Zone(photo.id, above), made) is None
    assert {z.id for z in piece.surfaces.zones_on(made)} == set()


def test_a_straightened_column_may_be_squared_up_and_zones_still_go_home(column):
    piece, photo = column
    made = piece.surfaces.straighten(photo, LINE, 120)
    square = piece.surfaces.square_up(made, [(0, 100), (120, 100), (120, 400), (0, 400)])
    zone = Zone(square.id, rectangle(10, 20, 100, 120))
    home, outline = piece.surfaces.untouched(square, zone.outline)
    assert home.id == photo.id
    assert outline[0] == pytest.approx(on_arc(120 - made.height / 2, -50), abs=1.5)
    assert piece.surfaces.mapping(square, photo) is None  # no homography does it
    assert piece.surfaces.carried(outline, photo, square)[0] == pytest.approx((10, 20), abs=0.5)


def test_lines_that_straighten_nothing(column):
    piece, photo = column
    before = piece.version
    for line, words in (([(5, 5)], "no length"), ([(5, 5), (5, 5)], "no length"),
                        ([(5000, 0), (5000, 400)], "outside the photo")):
        with pytest.raises(ZoneError, match=words):
            piece.surfaces.straighten(photo, line, 40)
    with pytest.raises(ZoneError, match="laid straight"):
        piece.surfaces.straighten(photo, LINE, -3)
    assert piece.version == before


def test_the_width_is_taken_from_the_zones_that_are_there(column):
    piece, photo = column
    assert piece.surfaces.usual_across(photo, [(0, 0), (0, 600)]) == pytest.approx(100)
    verse = piece.layout.inscription("verse", photo)
    piece.layout.draw(verse, photo, rectangle(*on_arc(-100, -30), 70, 60))
    assert piece.surfaces.usual_across(photo, LINE) == pytest.approx(140)


def test_ways_that_do_not_meet():
    a, b = (Photo(f"{n}.jpg", "", 100, 100) for n in "ab")
    known = {p.id: p for p in (a, b)}
    assert ways.carried([(1, 1)], a, b, known) is None
    assert ways.matrix(a, b, known) is None
    ring = dataclasses.replace(a, reference=b.id, to_reference=(1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0))
    back = dataclasses.replace(b, reference=a.id, to_reference=(1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0))
    known = {a.id: ring, b.id: back}  # two photos that name each other: a damaged register must not hang the page
    assert [p.id for p in ways.chain(ring, known)] == [a.id, b.id]


def test_a_whole_photo_squared_up_is_kept_small_and_zones_still_fit(column, monkeypatch):
    piece, photo = column
    monkeypatch.setattr("readaid.piece.renditions.MOST_SQUARED", 100_000)
    made = piece.surfaces.square_up(photo, [(0, 0), (700, 0), (700, 1000), (0, 1000)])
    assert made.width * made.height == pytest.approx(100_000, rel=0.01)
    assert made.note.endswith("made at 38% of the photo's size")
    assert piece.surfaces.carried([(made.width, made.height)], made, photo)[0] == pytest.approx((700, 1000))
    with pytest.raises(ZoneError, match="too large to be laid straight"):
        piece.surfaces.straighten(photo, LINE, 300)
