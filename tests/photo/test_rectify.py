"""Squaring up: there and back, against OpenCV's warpPerspective and circles by formula."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readaid.core.errors import PhotoError, ZoneError
from readaid.photo import rectify

QUAD = [(30.0, 20.0), (210.0, 40.0), (190.0, 150.0), (50.0, 170.0)]


def test_perspective_as_opencv(picture):
    made, mapping = rectify.perspective(picture, QUAD, (160, 120))
    square = np.float32([[0, 0], [160, 0], [160, 120], [0, 120]])
    matrix = cv2.getPerspectiveTransform(np.float32(QUAD) - 0.5, square - 0.5)
    wanted = cv2.warpPerspective(picture, matrix, (160, 120), flags=cv2.INTER_CUBIC)
    assert np.abs(made.astype(int) - wanted)[2:-2, 2:-2].mean() < 1.0
    np.testing.assert_allclose(mapping.to_original(square), QUAD, atol=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 160), st.floats(0, 120)), min_size=1, max_size=5))
def test_perspective_there_and_back(points):
    _, mapping = rectify.perspective(np.zeros((200, 300), np.uint8), QUAD, (160, 120))
    np.testing.assert_allclose(mapping.from_original(mapping.to_original(points)), points, atol=1e-6)


def test_turned_quarter_is_numpy_rot90(picture):
    made, mapping = rectify.turned(picture, 90)
    np.testing.assert_array_equal(made, np.rot90(picture, -1))
    np.testing.assert_allclose(mapping.to_original([[0, 0]]), [[0, 200]], atol=1e-9)


def test_turned_keeps_all_of_the_photo(picture):
    made, mapping = rectify.turned(picture, 30)
    corners = mapping.from_original([[0, 0], [300, 0], [300, 200], [0, 200]])
    assert corners.min() > -1
    assert (corners.max(axis=0) < np.array(made.shape[1::-1]) + 1).all()
    np.testing.assert_allclose(mapping.to_original(corners)[2], [300, 200], atol=1e-6)


def test_mirrored(picture):
    made, mapping = rectify.mirrored(picture)
    np.testing.assert_array_equal(made, picture[:, ::-1])
    np.testing.assert_allclose(mapping.to_original([[0, 5]]), [[300, 5]])


def arc(count=9):
    angle = np.linspace(-0.6, 0.6, count)
    return [(float(x), float(y)) for x, y in zip(400 - 250 * np.cos(angle), 200 + 250 * np.sin(angle), strict=True)]


def test_column_on_an_arc_comes_out_straight():
    """A ring of radius 250 round (400, 200): its middle line becomes the middle of the picture, length = r x angle."""
    y, x = np.mgrid[0:400, 0:400] + 0.5
    ring = np.where(np.abs(np.hypot(x - 400, y - 200) - 250) < 4, 0, 255).astype(np.uint8)
    made, mapping = rectify.straightened(ring, arc(), 40)
    assert mapping.size[1] == pytest.approx(250 * 1.2, abs=3)
    dark = np.array([np.flatnonzero(row < 128).mean() for row in made[5:-5]])
    assert np.abs(dark + 0.5 - 20).max() < 1.2
    inside = np.array([[12.0, 40.0], [30.0, 150.0], [20.0, 260.0]])
    there = mapping.to_original(inside)
    np.testing.assert_allclose(np.hypot(*(there - [400, 200]).T), 250 - (inside[:, 0] - 20), atol=0.7)
    np.testing.assert_allclose(mapping.from_original(there), inside, atol=0.05)


def test_straight_line_is_a_crop(picture):
    made, _ = rectify.straightened(picture, [(100, 20), (100, 120)], 40)
    assert np.abs(made[2:-2].astype(int) - picture[22:118, 80:120]).mean() < 0.5


@pytest.mark.parametrize(("call", "error", "said"), [
    (lambda p: rectify.perspective(p, QUAD[:3]), ZoneError, "3 corners.*click four"),
    (lambda p: rectify.perspective(p, [QUAD[0], QUAD[2], QUAD[1], QUAD[3]]), ZoneError, "no convex.*clockwise"),
    (lambda p: rectify.perspective(p, [(5, 5)] * 4), ZoneError, "no convex"),
    (lambda p: rectify.perspective(p, QUAD, (0, 10)), PhotoError, "0 px"),
    (lambda p: rectify.perspective(p, [(float("nan"), 0), *QUAD[1:]]), ZoneError, "numbers"),
    (lambda p: rectify.turned(p, float("nan")), PhotoError, "not a number"),
    (lambda p: rectify.turned(np.zeros((0, 5)), 5), PhotoError, "empty"),
    (lambda p: rectify.straightened(p, [(5, 5)], 10), ZoneError, "no length"),
    (lambda p: rectify.straightened(p, [(5, 5), (5, 5)], 10), ZoneError, "no length"),
    (lambda p: rectify.straightened(p, [(5, 5), (5, 50)], 0), ZoneError, "at least 1 px")])
def test_bad_input(picture, call, error, said):
    with pytest.raises(error, match=said):
        call(picture)
