"""Relief on a second rendered ground truth: microfacet metal, marched shadows, light thrown back, noise, JPEG.

The reference is least squares in NumPy on the linearised photos; the goal is under 5 degrees in the median.
"""

import numpy as np
import pytest

from readaid.core.errors import PhotoError
from readaid.photo import lights, relief
from tests.photo.metalwork import plate
from tests.photo.test_relief import degrees, plain


def linear(photo):
    """Grey linear light 0..1 (IEC 61966-2-1 for 8 bits)."""
    if photo.dtype == np.uint16:
        return photo / 65535
    value = photo[..., 0] / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize(("count", "coded", "seed"), [(8, "jpeg", 0), (8, "linear", 1), (6, "jpeg", 2), (5, "jpeg", 2),
                                                      (4, "jpeg", 0), (4, "linear", 1)])
def test_below_five_degrees_and_better_than_least_squares_in_the_cuts(count, coded, seed):
    truth = plate(seed, count, coded=coded)
    found = relief.solve(truth.photos, truth.lights)
    assert found.encoding == {"jpeg": "srgb", "linear": "linear"}[coded]
    ours = degrees(found.normals, truth.normals)
    theirs = degrees(plain([linear(p) for p in truth.photos], truth.lights), truth.normals)
    assert np.median(ours) < 5
    assert np.median(ours[truth.cut]) < 5
    assert np.median(ours[truth.cut]) < np.median(theirs[truth.cut])


def test_shinier_metal():
    truth = plate(3, 8, rough=0.3, metal=0.6)
    ours = degrees(relief.solve(truth.photos, truth.lights).normals, truth.normals)
    assert np.median(ours[truth.cut]) < 5


def test_lamps_of_different_strength_told():
    power = np.linspace(0.6, 1.3, 8)
    truth = plate(1, 8, coded="linear", strengths=power)
    ours = degrees(relief.solve(truth.photos, truth.lights, strengths=power).normals, truth.normals)
    assert np.median(ours[truth.cut]) < 5


def test_one_photo_overexposed_or_black():
    truth = plate(0, 8)
    white = [np.full_like(truth.photos[0], 255), *truth.photos[1:]]
    with pytest.raises(PhotoError, match=r"overexposed .number 1, 100% of it white.*leave it out"):
        relief.solve(white, truth.lights)
    with pytest.raises(PhotoError, match="overexposed"):
        lights.estimated(white)
    black = [*truth.photos[:3], np.zeros_like(truth.photos[0]), *truth.photos[4:]]
    with pytest.raises(PhotoError, match=r"black .number 4"):
        relief.solve(black, truth.lights)
    burnt = list(truth.photos)
    brightest = truth.photos[2] > np.percentile(truth.photos[2], 85)
    burnt[2] = np.where(brightest, 255, truth.photos[2]).astype(np.uint8)
    assert brightest.mean() < lights.BURNT  # its highlights only: the other seven outvote it
    ours = degrees(relief.solve(burnt, truth.lights).normals, truth.normals)
    assert np.median(ours[truth.cut]) < 5


def azimuths_off(found, wanted):
    """Degrees by which each side is off, the half turn that cannot be seen taken out."""
    off = np.array([(lights.angles(a)[0] - lights.angles(b)[0] + 180) % 360 - 180
                    for a, b in zip(found, wanted, strict=True)])
    return min(np.abs(off).max(), np.abs(np.abs(off) - 180).max())


@pytest.mark.parametrize(("seed", "count", "coded", "uneven"), [
    (0, 4, "jpeg", False), (1, 4, "linear", True), (2, 5, "linear", True), (3, 8, "jpeg", False)])
def test_estimated_sides_within_ten_degrees(seed, count, coded, uneven):
    """Also where lamps or exposures differ by a fifth either way, which nobody told."""
    power = np.random.default_rng(seed).uniform(0.8, 1.2, count) if uneven else None
    truth = plate(seed, count, coded=coded, strengths=power)
    found = lights.estimated(truth.photos)
    assert azimuths_off(found.lights, truth.lights) < 10
    solved = relief.solve(truth.photos, found.lights)
    wanted = relief.cuts(truth.normals.astype(np.float32), 6)[..., 0].astype(float)
    shown = relief.cuts(solved.normals, 6)[..., 0].astype(float)
    assert np.corrcoef(shown.ravel(), wanted.ravel())[0, 1] > 0.8


def test_cuts_that_run_one_way_do_not_tell_the_lamps():
    from tests.photo.metalwork import normal_map

    x = np.arange(300)
    height = np.repeat(-np.maximum(0, 5 - np.abs(x % 50 - 25) * 1.0)[None], 240, axis=0)
    rng = np.random.default_rng(1)
    normals = normal_map(height)
    photos = [np.clip(normals @ np.array(lights.from_angles(a, 35)), 0, 1) * 0.8 + rng.normal(0, 0.004, height.shape)
              for a in (10, 100, 190, 280)]
    with pytest.raises(PhotoError, match=r"hardly differ|does not tell where the lamps stood"):
        lights.estimated([np.clip(p, 0, 1) for p in photos])


@pytest.mark.parametrize("order", [(1, 0, 2), (1, 2, 0), (1, 0, 2, 3), (2, 1, 0, 3), (1, 2, 3, 0), (3, 2, 1, 0)])
@pytest.mark.parametrize("seed", [0, 2])
def test_exchanged_lights_are_refused(order, seed):
    """Exchanged opposite lights fit every pixel as well as the right ones: only the surface speaks against them."""
    truth = plate(seed, len(order), coded="linear")
    relief.solve(truth.photos, truth.lights)
    with pytest.raises(PhotoError, match="lights do not match"):
        relief.solve(truth.photos, truth.lights[list(order)])


def test_sides_noted_by_eye_are_good_enough():
    truth = plate(1, 4)
    noted = [lights.from_angles(round(lights.angles(d)[0] / 45) * 45, 30) for d in truth.lights]
    shown = relief.cuts(relief.solve(truth.photos, noted).normals, 6)[..., 0].astype(float)
    wanted = relief.cuts(truth.normals.astype(np.float32), 6)[..., 0].astype(float)
    assert np.corrcoef(shown.ravel(), wanted.ravel())[0, 1] > 0.75
