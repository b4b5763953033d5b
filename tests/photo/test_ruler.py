"""Rulers found by their graduations, on rendered rulers whose homography is known, and against a plain FFT of NumPy."""

import math

import numpy as np
import pytest

from readaid.core.errors import PhotoError
from readaid.photo import ruler, scale
from tests.photo.rendered import FIT, render
from tests.photo.rulers import scene


def off(found, truth) -> float:
    """How wrong the proposed length is, as a share."""
    return found.millimetres / truth.length(found.a, found.b) - 1


@pytest.mark.parametrize(("seed", "kind", "unit", "told"), [
    (1001, "paper", "mm", "mm"), (1002, "black", "mm", "mm"), (1001, "steel", "mm", "mm"), (1003, "worn", "mm", "mm"),
    (1002, "covered", "mm", "mm"), (1001, "paper", "half mm", "half mm"), (1000, "steel", "half mm", "half mm"),
    (1002, "paper", "half mm", "mm"),  # half millimetres 4 px apart hardly show: the mm marks are found instead
    (1002, "black", "inch", "1/16 inch")])
def test_known_ruler(seed, kind, unit, told):
    truth = scene(seed, kind, unit)
    found = scale.ruler(truth.image)
    assert found is not None
    assert found.unit == told
    assert abs(off(found, truth)) < 0.002
    assert found.px_per_mm == pytest.approx(math.dist(found.a, found.b) / found.millimetres)
    assert found.scale.mm_per_pixel == pytest.approx(1 / found.px_per_mm)
    assert 0.5 <= found.sure <= 0.99
    assert (found.missing > 0) == (kind in ("worn", "covered"))
    assert "check it on the figures" in found.note
    ends = np.array([found.a, found.b])
    outline = np.array(found.outline)
    assert (ends >= outline.min(axis=0) - 1).all()
    assert (ends <= outline.max(axis=0) + 1).all()


@pytest.mark.parametrize("angle", [0, 17, 45, 90, 128])
def test_turned(angle):
    truth = scene(31, "paper", "mm", per_mm=7.0, angle=angle, tilt=0.0)
    found = scale.ruler(truth.image)
    assert abs(off(found, truth)) < 0.002
    assert found.change < 0.01


def test_perspective_is_told_and_lies_within_the_error():
    truth = scene(32, "paper", "mm", per_mm=8.0, angle=4, tilt=0.12)
    found = scale.ruler(truth.image)
    assert abs(off(found, truth)) < 0.002
    assert found.change > 0.02
    assert "Square the photo up" in found.note
    a, b = np.array(found.a), np.array(found.b)
    here = [truth.length(a + t * (b - a), a + (t + 0.05) * (b - a)) for t in (0.0, 0.475, 0.95)]
    per_mm = [0.05 * math.dist(a, b) / mm for mm in here]
    assert max(per_mm) / min(per_mm) - 1 == pytest.approx(found.change, abs=0.02)
    assert all(abs(p / found.px_per_mm - 1) < 3 * found.error for p in per_mm)


def test_spacing_equals_a_plain_fft():
    """Row of marks read straight from the picture, NumPy's FFT padded eight times."""
    truth = scene(33, "paper", "mm", per_mm=9.0, angle=0, tilt=0.0)
    found = scale.ruler(truth.image)
    mm = np.arange(0, 1100) * 0.06
    points = np.stack([4 + 0.1 + mm, np.full(len(mm), 1.5), np.ones(len(mm))])
    x, y = (truth.plane @ points)[:2]
    row = truth.image.mean(axis=2)[np.rint(y - 0.5).astype(int), np.rint(x - 0.5).astype(int)]
    power = np.abs(np.fft.rfft((row - row.mean()) * np.hanning(len(row)), 8 * len(row)))
    at = 40 * 8 + int(np.argmax(power[40 * 8:90 * 8]))
    per_mark = math.dist((x[0], y[0]), (x[-1], y[-1])) / (len(row) - 1) * len(row) * 8 / at
    assert found.px_per_mm == pytest.approx(per_mark, rel=0.004)


@pytest.mark.parametrize(("seed", "kind", "surface"), [(1, "regular", "metal"), (2, "worn", "metal"),
                                                       (3, "scattered", "paper"), (4, "regular", "inlay")])
def test_no_ruler_in_an_inscription(seed, kind, surface):
    assert scale.ruler(render(seed, kind, FIT, surface=surface).image) is None


@pytest.mark.parametrize("cycle", [1, 3, 4, 6, 7, 8, 9, 12])
def test_other_even_marks_are_no_ruler(cycle):
    """A fence, a comb, a grille: even spacing alone says nothing."""
    rng = np.random.default_rng(cycle)
    image = np.full((500, 900), 210.0)
    for i in range(70):
        image[200:200 + (60 if i % cycle == 0 else 35), 40 + i * 12:43 + i * 12] = 60
    image += rng.normal(0, 4, image.shape)
    assert scale.ruler(np.clip(image, 0, 255).astype(np.uint8)) is None


def test_noise_blank_and_small():
    rng = np.random.default_rng(5)
    assert scale.ruler(rng.integers(0, 255, (400, 600), dtype=np.uint8)) is None
    assert scale.ruler(np.zeros((400, 600, 3), np.uint16)) is None
    assert scale.ruler(np.full((6, 5), 9, np.uint8)) is None
    with pytest.raises(PhotoError, match="is empty"):
        scale.ruler(np.zeros((0, 4), np.uint8))


def test_steps():
    """The international inch is 25.4 mm (agreement of 1959)."""
    assert {g.name: g.step * len(g.classes) for g in ruler.GRADUATIONS} == {"mm": 10, "half mm": 10, "1/16 inch": 25.4}
