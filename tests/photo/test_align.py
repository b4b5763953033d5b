"""Alignment against transforms that are known, because the second photo was made with them."""

import cv2
import numpy as np
import pytest

from readaid.core.errors import OptionError, PhotoError
from readaid.photo import align as aligning
from readaid.photo.align import align, overlay
from tests.photo.rendered import render
from tests.photo.test_relief import scene


@pytest.fixture(scope="module")
def plate():
    image = render(3, "worn").image
    return cv2.resize(image, (900, 800), interpolation=cv2.INTER_AREA)


def moved_by(image, matrix):
    return cv2.warpPerspective(image, np.asarray(matrix, float), image.shape[1::-1], borderMode=cv2.BORDER_REFLECT)


def misplaced(found, matrix):
    """Largest distance, over a grid, from where a point of a should be found in b."""
    grid = np.stack(np.meshgrid([200, 450, 700], [200, 400, 600]), axis=-1).reshape(-1, 2).astype(float)
    there = np.c_[grid - 0.5, np.ones(9)] @ np.asarray(matrix, float).T
    return float(np.linalg.norm(found.to_b(grid) - there[:, :2] / there[:, 2:] - 0.5, axis=1).max())


@pytest.mark.parametrize("matrix", [
    [[1, 0, 14], [0, 1, -9], [0, 0, 1]],
    [[0.98, 0.12, 5], [-0.12, 0.98, 60], [0, 0, 1]],
    [[1.04, 0.03, -22], [-0.02, 0.97, 19], [3e-5, -4e-5, 1]]])
def test_known_transform_is_found(plate, matrix):
    found = align(plate, moved_by(plate, matrix))
    assert misplaced(found, matrix) < 1.5
    assert found.quality > 0.6
    assert len(found.values) == 9
    np.testing.assert_allclose(found.to_a(found.to_b([[50, 60]])), [[50, 60]], atol=1e-6)


def test_different_sizes(plate):
    found = align(plate, cv2.resize(plate, (450, 400), interpolation=cv2.INTER_AREA))
    np.testing.assert_allclose(found.to_a([[225, 200]]), [[450, 400]], atol=1.5)
    assert found.laid_over(plate[::2, ::2], (900, 800)).shape == plate.shape


def test_opposite_raking_lights_of_a_fixed_camera():
    _, _, _, photos, _ = scene(2)
    for a, b in ((0, 4), (1, 5), (2, 6)):
        found = align(photos[a], photos[b])
        assert np.abs(found.to_a([[20, 20], [240, 200]]) - [[20, 20], [240, 200]]).max() < 2.0


def test_unrelated_photos_are_refused(plate):
    other = cv2.resize(render(8, "regular").image, (900, 800))
    with pytest.raises(PhotoError, match=r"cannot be laid over.*check that they show the same surface") as caught:
        align(plate, other)
    assert caught.value.values["quality"] < aligning.LEAST


@pytest.mark.parametrize("bad", [np.full((100, 100), 90, np.uint8), np.zeros((10, 10), np.uint8), np.zeros((0, 4))])
def test_blank_or_empty(plate, bad):
    with pytest.raises(PhotoError, match=r"nothing to align by|empty"):
        align(plate, bad)


def test_unknown_method(plate):
    with pytest.raises(OptionError, match="did you mean 'shift'"):
        align(plate, plate, method="shft")


def test_overlay_in_two_colours(plate):
    found = align(plate, plate)
    shown = overlay(plate, plate, found)
    assert shown.shape == plate.shape
    assert np.abs(shown[..., 0].astype(int) - shown[..., 2]).mean() < 3  # both agree: no colour left
