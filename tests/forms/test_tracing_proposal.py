"""Skeleton against scikit-image's; polylines against strokes drawn by formula."""

import cv2
import numpy as np
import pytest

from readaid.core.errors import OptionError, PhotoError, ShapeError
from readaid.forms import tracing
from tests.photo.rendered import FIT, glyph


def brush(sign="永", size=96):
    return np.pad(glyph(sign, FIT[1], size) > 0.5, 8)


@pytest.mark.parametrize("sign", "永春のし書")
def test_skeleton_as_scikit_image(sign):
    morphology = pytest.importorskip("skimage.morphology")
    ink = brush(sign)
    ours, theirs = tracing.skeleton(ink), morphology.skeletonize(ink, method="zhang")
    assert cv2.distanceTransform((~theirs).astype(np.uint8), cv2.DIST_L2, 5)[ours].max() <= 1.5
    away = cv2.distanceTransform((~ours).astype(np.uint8), cv2.DIST_L2, 5)[theirs]
    assert np.mean(away > 1.5) < 0.05  # scikit-image's has short spurs that the published rule takes off
    assert (ours != theirs).mean() < 0.01


def test_skeleton_of_a_bar():
    bar = np.zeros((20, 60), bool)
    bar[8:13, 5:55] = True
    lines = tracing.skeleton(bar)
    assert set(np.where(lines)[0]) <= {9, 10, 11}
    assert lines.any(axis=0).sum() > 42


def test_cross_is_two_strokes():
    picture = np.full((100, 100), 255, np.uint8)
    cv2.line(picture, (50, 10), (50, 90), 0, 7)
    cv2.line(picture, (10, 50), (90, 50), 0, 7)
    down, across = sorted(tracing.strokes(picture), key=lambda s: abs(s[-1][1] - s[0][1]), reverse=True)
    assert down[0][1] < 20
    assert down[-1][1] > 80
    assert across[0][0] < 20
    assert across[-1][0] > 80


def test_ring_is_one_closed_stroke():
    picture = np.full((100, 100), 255, np.uint8)
    cv2.circle(picture, (50, 50), 30, 0, 6)
    (ring,) = tracing.strokes(picture)
    away = np.hypot(*(np.array(ring) - 50.5).T)
    assert np.abs(away - 30).max() < 1.5
    assert np.hypot(ring[0][0] - ring[-1][0], ring[0][1] - ring[-1][1]) < 3


@pytest.mark.parametrize("swap", [False, True])
def test_polylines_stay_on_the_ink(swap):
    ink = brush("書")
    picture = np.where(ink, 30, 220).astype(np.uint8)
    strokes = tracing.strokes(255 - picture if swap else picture)
    drawn = np.zeros(ink.shape, np.uint8)
    for stroke in strokes:
        cv2.polylines(drawn, [np.int32(np.floor(stroke))], False, 1, 1)
    assert (drawn[~cv2.dilate(ink.astype(np.uint8), np.ones((3, 3))).astype(bool)] == 0).all()
    covered = cv2.dilate(drawn, np.ones((15, 15))) > 0
    assert covered[ink].mean() > 0.97


def test_one_dot_is_one_stroke():
    picture = np.full((60, 60), 255, np.uint8)
    cv2.circle(picture, (30, 30), 4, 0, -1)
    (dot,) = tracing.strokes(picture)
    assert dot[0] == pytest.approx((30.5, 30.5), abs=1.5)


def test_cut_under_raking_light():
    """A groove has a bright and a dark flank; its middle line runs between them."""
    height = np.zeros((80, 80), np.float32)
    cv2.line(height, (15, 40), (65, 40), -3.0, 7)
    shade = 0.5 + 0.12 * np.gradient(cv2.GaussianBlur(height, (0, 0), 1.5), axis=0)
    strokes = tracing.strokes((shade * 255).astype(np.uint8), writing="cut")
    ys = np.array([y for stroke in strokes for _, y in stroke])
    assert abs(np.median(ys) - 40.5) < 4


@pytest.mark.parametrize(("crop", "error", "said"), [
    (np.full((40, 40), 200, np.uint8), ShapeError, "No stroke shows"),
    (np.zeros((0, 10), np.uint8), PhotoError, "The crop is empty"),
    (np.zeros((2, 2), np.uint8), ShapeError, "too small"),
    (np.full((20, 20), np.nan), PhotoError, "NaN"),
    (np.zeros(5), PhotoError, "shape")])
def test_bad_crops(crop, error, said):
    with pytest.raises(error, match=said):
        tracing.strokes(crop)


def test_unknown_writing():
    with pytest.raises(OptionError, match="did you mean 'dark'"):
        tracing.strokes(np.zeros((20, 20), np.uint8), writing="drk")
