"""Alignment against transforms that are known, because the second photo was made with them."""

import cv2
import numpy as np
import pytest

from readaid.core.errors import OptionError, PhotoError
from readaid.photo import alignment as aligning
from readaid.photo.alignment import align, overlay
from tests.photo.bands import pair
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



@pytest.mark.parametrize(("kind", "seed", "hard", "most"), [
    ("infrared", 0, False, 1.0), ("infrared", 1, True, 2.5), ("ultraviolet", 1, False, 1.0),
    ("ultraviolet", 3, True, 5.0)])
def test_infrared_and_ultraviolet_over_visible(kind, seed, hard, most):
    """Corner error in pixels of the visible photo against the homography the pair was rendered with."""
    truth = pair(seed, kind, hard)
    found = align(truth.visible, truth.other)
    assert truth.corner_error(found.matrix) < most
    assert found.quality > 0.35


def test_infrared_of_another_piece_is_refused():
    with pytest.raises(PhotoError, match="cannot be laid over"):
        align(pair(4).visible, pair(104, hard=True).other)


@pytest.mark.parametrize("seed", [9, 11])
def test_one_stain_on_another_is_no_alignment(seed):
    """Two ultraviolet photos of different pieces, each with two oval retouches: ovals match, nothing else does."""
    with pytest.raises(PhotoError, match="cannot be laid over"):
        align(pair(seed, "ultraviolet").other, pair(seed + 50, "ultraviolet").other)


@pytest.mark.parametrize(("degrees", "size"), [(0, 1.0), (20, 1.0), (-35, 0.8), (60, 1.4)])
def test_spectrum_finds_turn_and_size(degrees, size):
    """OpenCV's own rotation is the reference; its angle counts the other way."""
    from readaid.photo.spectrum import turns

    rng = np.random.default_rng(3)
    image = np.zeros((500, 500), np.float32)
    for _ in range(30):
        p, q = rng.integers(130, 370, (2, 2))
        cv2.line(image, tuple(map(int, p)), tuple(map(int, q)), float(rng.uniform(0.3, 1)), 3, cv2.LINE_AA)
    moved = cv2.warpAffine(image, cv2.getRotationMatrix2D((250, 250), -degrees, size), (500, 500))
    best = turns(image, moved, 1)[0]
    assert abs((best[0] - degrees + 90) % 180 - 90) < 1.5
    assert best[1] == pytest.approx(size, rel=0.03)
