"""Views: against scikit-image where it has the operator, against formula elsewhere."""

import numpy as np
import pytest

from readaid.core.errors import OptionError, PhotoError
from readaid.core.photo import ViewSetting
from readaid.photo import operators, views
from tests.photo.rendered import render


@pytest.fixture(scope="module")
def plate():
    return render(4, "worn", size=50.0).image


@pytest.mark.parametrize("name", sorted(views.EVERY))
def test_every_view_is_pure_and_keeps_the_size(plate, name):
    before = plate.copy()
    for has_scale in (False, True):
        for pick in ("min", "default", "max"):
            values = {s.name: getattr(s, pick) for s in views.EVERY[name].sliders_for(has_scale)}
            seen = views.apply(name, plate, values, mm_per_pixel=0.05 if has_scale else None)
            assert seen.shape == plate.shape
            assert seen.dtype == np.uint8
    np.testing.assert_array_equal(plate, before)
    assert views.EVERY[name].hint.endswith(".")


def test_even_light_takes_out_a_slope():
    x = np.linspace(60, 220, 400)[None, :].repeat(300, axis=0)
    slope = np.repeat(x[:, :, None], 3, axis=2).astype(np.uint8)
    seen = views.apply("even light", slope).astype(float)
    assert seen[:, 40:-40].std() < 0.12 * slope.std()


def test_sauvola_as_scikit_image(plate):
    filters = pytest.importorskip("skimage.filters")
    level = operators.grey(plate)
    wanted = filters.threshold_sauvola(level, window_size=41, k=0.2, r=0.5)
    np.testing.assert_allclose(operators.sauvola(level, 41, 0.2)[30:-30, 30:-30], wanted[30:-30, 30:-30], atol=2e-3)


def test_ridges_as_scikit_image(plate):
    filters = pytest.importorskip("skimage.filters")
    level = operators.grey(plate)
    width = 8.0
    sigma = width / (2 * np.sqrt(3))
    for ours, black in zip(operators.ridges(level, width), (True, False), strict=True):
        theirs = filters.sato(level, sigmas=[sigma], black_ridges=black)
        agree = np.corrcoef(ours[20:-20, 20:-20].ravel(), theirs[20:-20, 20:-20].ravel())[0, 1]
        assert agree > 0.995


def test_fine_cut_answers_most_at_its_width():
    picture = np.full((80, 160, 3), 200, np.uint8)
    picture[:, 36:44], picture[:, 100:130] = 90, 90  # a stroke of 8 px, a stain of 30
    seen = views.apply("fine cut", picture, {"width_px": 8})[40, :, 0].astype(int)
    assert seen[40] < 60
    assert seen[115] > seen[40] + 100


def test_width_in_mm_is_width_in_pixels(plate):
    np.testing.assert_array_equal(views.apply("fine cut", plate, {"width_mm": 0.5}, mm_per_pixel=0.0625),
                                  views.apply("fine cut", plate, {"width_px": 8.0}))


def test_colours_apart_have_equal_spread_and_no_correlation(plate):
    seen = views.apply("colours apart", plate[:300, :300], {"spread": 20}).reshape(-1, 3).astype(float)
    np.testing.assert_allclose(np.corrcoef(seen.T), np.eye(3), atol=0.2)
    assert np.ptp(seen.std(axis=0)) < 6


def test_stain_off_keeps_cuts_and_drops_a_coloured_stain():
    rng = np.random.default_rng(1)
    stain = operators.blurred(rng.normal(size=(200, 200)).astype(np.float32), 20)
    stain = (stain - stain.min()) / np.ptp(stain)
    ground = np.stack([200 - 20 * stain, 180 - 60 * stain, 160 - 110 * stain], axis=-1)
    ground[95:105] *= 0.5  # a cut darkens all three alike
    picture = ground.astype(np.uint8)
    grey = picture.mean(axis=2)
    seen = views.apply("stain off", picture)[..., 0].astype(float)
    quiet = np.r_[10:90, 110:190]
    assert seen[quiet].std() < 0.4 * grey[quiet].std()
    assert seen[97:103].mean() < 0.65 * seen[quiet].mean()


def test_channels_and_swaps(plate):
    np.testing.assert_array_equal(views.apply("blue channel", plate)[..., 1], plate[..., 2])
    np.testing.assert_array_equal(views.apply("mirrored", plate), plate[:, ::-1])
    np.testing.assert_array_equal(255 - views.apply("dark and light swapped", plate), plate)


def test_recorded_and_shown_again(plate):
    setting = views.record("p", "fine cut", {"width_px": 5})
    assert isinstance(setting, ViewSetting)
    assert dict(setting.values)["gain"] == 50
    assert views.setting(setting) == ("fine cut", dict(setting.values))
    assert views.record("p", "").view == "plain"


@pytest.mark.parametrize(("call", "error", "said"), [
    (lambda p: views.apply("fine cuts", p), OptionError, "did you mean 'fine cut'"),
    (lambda p: views.apply("fine cut", p, {"gian": 5}), OptionError, "did you mean 'gain'"),
    (lambda p: views.apply("fine cut", p, {"gain": 500}), OptionError, "cannot be 500.*choose 1 to 100"),
    (lambda p: views.apply("fine cut", p, {"gain": float("nan")}), OptionError, "cannot be nan"),
    (lambda p: views.apply("fine cut", p[:0]), PhotoError, "empty"),
    (lambda p: views.apply("fine cut", np.full((5, 5), np.nan)), PhotoError, "NaN"),
    (lambda p: views.apply("fine cut", np.zeros((2, 3, 7))), PhotoError, "shape")])
def test_bad_input(plate, call, error, said):
    with pytest.raises(error, match=said):
        call(plate)


def test_a_surface_is_lit_by_lambert_s_cosine_law():
    """A roof of two planes, 30 degrees steep to the left and right, under a lamp at the left, 45 degrees high: the
    cosine is that of 15 and of 75 degrees, level ground (45 degrees) is mid grey."""
    tilt = np.deg2rad(30)
    left, right, level = (-np.sin(tilt), 0, np.cos(tilt)), (np.sin(tilt), 0, np.cos(tilt)), (0, 0, 1)
    normals = np.array([[left, right, level]])
    picture = np.rint((normals * np.array([1, -1, 1]) + 1) * 127.5).astype(np.uint8)  # the usual way: y up in green
    seen = views.apply("lamp moved", picture, {"side": 180.0, "height": 45.0, "depth": 1.0})[0, :, 0]
    wanted = np.array([np.cos(np.deg2rad(15)), np.cos(np.deg2rad(75)), np.cos(np.deg2rad(45))]) / np.sin(np.deg2rad(45))
    assert np.abs(seen - 127.5 * wanted).max() < 2.5
    above = views.apply("lamp moved", np.array([[[128, 200, 226]]], np.uint8), {"side": 270.0, "height": 30.0})
    below = views.apply("lamp moved", np.array([[[128, 200, 226]]], np.uint8), {"side": 90.0, "height": 30.0})
    assert above[0, 0, 0] > 127 > below[0, 0, 0]  # a slope that faces up the picture is lit from above


def test_the_light_of_a_photo_is_that_of_its_ground_not_of_its_writing():
    """Writing that covers two fifths leaves the light as it is: the field is the ground's brightness, 200 of 255."""
    page = np.full((120, 160, 3), 200, np.uint8)
    page[:, np.arange(160) % 10 < 4] = 40
    field = operators.light_field(page, 0.3)
    np.testing.assert_allclose(field, 200 / 255, atol=0.05)
