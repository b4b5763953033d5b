"""Relief on rendered ground truth with highlights, cast shadows and noise, against plain least squares in NumPy.

Geometry: Lambert's law, a Blinn highlight, shadows by walking the height field. Sources: Woodham 1980; Frankot and
Chellappa 1988. The sphere and the paraboloid have normals by formula.
"""

import cv2
import numpy as np
import pytest

from readaid.core.errors import OptionError, PhotoError
from readaid.photo import lights, relief
from tests.photo.rendered import field, shadows


def degrees(a, b):
    return np.degrees(np.arccos(np.clip((a * b).sum(axis=-1), -1, 1)))


def scene(seed=0, count=8, noise=0.01):
    """A plate with V-shaped cuts: true normals, height, where the cuts are, photos and lights."""
    rng = np.random.default_rng(seed)
    ink = np.zeros((220, 260), np.uint8)
    for _ in range(14):
        points = rng.integers(20, [240, 200], (4, 2)).astype(np.int32)
        cv2.polylines(ink, [points], False, 1, int(rng.integers(6, 12)))
    height = -np.minimum(cv2.distanceTransform(ink, cv2.DIST_L2, 5), 4.5) + 1.5 * field(rng, ink.shape, 120)
    height = cv2.GaussianBlur(height, (0, 0), 1.0).astype(np.float32)
    dy, dx = np.gradient(height)
    normals = np.stack([-dx, -dy, np.ones_like(height)], axis=-1)
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    albedo = np.clip(0.5 + 0.12 * field(rng, ink.shape, 50), 0.15, 0.9)
    directions = np.array([lights.from_angles(360 * k / count + rng.uniform(-6, 6), rng.uniform(25, 45))
                           for k in range(count)])
    photos = []
    for direction in directions:
        half = direction + np.array([0, 0, 1.0])
        half /= np.linalg.norm(half)
        lit = shadows(height, direction)
        level = lit * (albedo * np.clip(normals @ direction, 0, 1) + 0.5 * np.clip(normals @ half, 0, 1) ** 30)
        photos.append(np.clip(level + rng.normal(0, noise, height.shape), 0, 1))
    return normals, height, ink > 0, photos, directions


def plain(photos, directions):
    """The reference: least squares in NumPy, every photo counted."""
    scaled = np.linalg.lstsq(directions, np.array([p.ravel() for p in photos]), rcond=None)[0]
    return (scaled / np.linalg.norm(scaled, axis=0)).T.reshape(*photos[0].shape, 3)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_eight_lights_below_five_degrees_and_better_than_least_squares(seed):
    normals, _, cut, photos, directions = scene(seed)
    found = relief.solve(photos, directions)
    ours, theirs = degrees(found.normals, normals), degrees(plain(photos, directions), normals)
    assert np.median(ours) < 5
    assert np.median(ours[cut]) < 5
    assert np.median(ours[cut]) < 0.8 * np.median(theirs[cut])
    assert ours.mean() < theirs.mean()


def test_least_squares_is_least_squares():
    _, _, _, photos, directions = scene()
    found = relief.solve(photos, directions, "least squares", encoding="linear")
    assert degrees(found.normals, plain(photos, directions)).max() < 0.2


def test_ordinary_jpeg_encoding():
    normals, _, _, photos, directions = scene()
    coded = [np.where(p <= 0.0031308, 12.92 * p, 1.055 * p ** (1 / 2.4) - 0.055) for p in photos]
    coded = [np.uint8(np.rint(255 * p)) for p in coded]
    found = relief.solve(coded, directions, encoding="srgb")
    assert np.median(degrees(found.normals, normals)) < 3


def test_sphere_by_formula():
    y, x = np.mgrid[-1:1:101j, -1:1:101j]
    inside = x**2 + y**2 < 0.5
    normals = np.stack([x, y, np.sqrt(np.clip(1 - x**2 - y**2, 0, 1))], axis=-1)
    directions = [lights.from_angles(a, 60) for a in (0, 90, 180, 270, 45)]
    photos = [np.where(inside, np.clip(normals @ d, 0, 1) * 0.8, 0.4) for d in np.array(directions)]
    found = relief.solve(photos, directions, encoding="linear")
    assert degrees(found.normals, normals)[inside].max() < 0.1
    np.testing.assert_allclose(found.albedo[inside], 0.8, atol=1e-3)


def test_lamp_strengths_are_taken_into_account():
    normals, _, _, photos, directions = scene(noise=0.003)
    power = np.linspace(0.6, 1.0, 8)
    found = relief.solve([p * s for p, s in zip(photos, power, strict=True)], directions, strengths=power)
    assert np.median(degrees(found.normals, normals)) < 3


def test_heights_of_a_paraboloid():
    y, x = np.mgrid[-20:21, -30:31].astype(float)
    height = 0.01 * (x**2 - 0.5 * y**2 + x * y / 3)
    normals = np.stack([-0.01 * (2 * x + y / 3), -0.01 * (-y + x / 3), np.ones_like(x)], axis=-1)
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    found = relief.heights(normals, mm_per_pixel=0.5)
    np.testing.assert_allclose(found, 0.5 * (height - height.mean()), atol=0.01)


def test_cuts_are_dark_whatever_the_colour():
    normals, _, cut, photos, directions = scene()
    stained = [p * np.where(np.arange(260) < 130, 1.0, 0.5) for p in photos]
    shown = relief.cuts(relief.solve(stained, directions).normals, stroke=8)[..., 0].astype(float)
    deep = cv2.erode(cut.astype(np.uint8), np.ones((3, 3))) > 0
    ground = cv2.dilate(cut.astype(np.uint8), np.ones((7, 7))) == 0
    assert shown[deep].mean() < shown[ground].mean() - 50
    left, right = ground.copy(), ground.copy()
    left[:, 110:], right[:, :150] = False, False
    assert abs(shown[left].mean() - shown[right].mean()) < 15
    assert relief.shaded(normals.astype(np.float32)).shape == (220, 260, 3)
    level = np.dstack([np.zeros((2, 2)), np.zeros((2, 2)), np.ones((2, 2))])
    assert relief.colours(level)[0, 0].tolist() == [128, 128, 255]


def test_single_photo_is_second_best_and_says_so():
    _, _, cut, photos, directions = scene()
    with_light = relief.single(photos[0], directions[0])
    assert "One photo only" in with_light.note
    assert with_light.picture[..., 0][cut].mean() < with_light.picture[..., 0][~cut].mean() - 5
    assert "light not known" in relief.single(photos[0]).note
    with pytest.raises(PhotoError, match="straight above"):
        relief.single(photos[0], (0, 0, 1))


@pytest.mark.parametrize(("change", "said"), [
    (lambda p, d: (p[:1], d[:1]), "1 photo under different lights; 3 are needed.*take more"),
    (lambda p, d: (p[:2], d[:2]), "2 photos under different lights"),
    (lambda p, d: (p, d[:7]), "7 lights for 8 photos"),
    (lambda p, d: ([p[0][:100], *p[1:]], d), "differ in size.*align them"),
    (lambda p, d: (p, d[[3, 0, 6, 1, 7, 2, 5, 4]]), "do not match the photos.*check which light"),
    (lambda p, d: (p, d * [1, -1, 1]), "do not match the photos.*let y point down"),
    (lambda p, d: (p, np.roll(d, 2, axis=0)), "do not match the photos"),
    (lambda p, d: (p, [(x, 0.0, z) for x, _, z in d]), "lie in one plane"),
    (lambda p, d: (p, [(x, y, -z) for x, y, z in d]), "from below"),
    (lambda p, d: (p, [(0, 0, 0), *d[1:]]), "no direction"),
    (lambda p, d: (p, np.zeros((8, 2))), "shape"),
    (lambda p, d: ([p[0] * np.nan, *p[1:]], d), "NaN"),
    (lambda p, d: ([np.zeros_like(v) for v in p], d), "black"),
    (lambda p, d: ([np.uint8(p[0] * 255), *p[1:]], d), "differ in depth")])
def test_bad_lights_and_photos(change, said):
    _, _, _, photos, directions = scene()
    with pytest.raises(PhotoError, match=said):
        relief.solve(*change(photos, directions))


def test_unknown_options():
    with pytest.raises(OptionError, match="did you mean 'robust'"):
        relief.solve([], [], method="robost")
    with pytest.raises(OptionError, match="did you mean 'linear'"):
        relief.solve([], [], encoding="lineal")
    with pytest.raises(PhotoError, match="Normals of shape"):
        relief.heights(np.zeros((4, 4)))


def test_estimated_lights():
    """Sides within 15 degrees; heights are only guessed, as the note says."""
    _, _, _, photos, directions = scene(1, noise=0.004)
    found = lights.estimated(photos)
    off = [(lights.angles(a)[0] - lights.angles(b)[0] + 180) % 360 - 180
           for a, b in zip(found.lights, directions, strict=True)]
    assert np.abs(off).max() < 15
    assert "about 30 degrees" in found.note
    with pytest.raises(PhotoError, match="4 are needed"):
        lights.estimated(photos[:3])
    with pytest.raises(PhotoError, match="hardly differ"):
        lights.estimated([photos[0]] * 4)


@pytest.mark.parametrize(("azimuth", "elevation"), [(0, 40), (135, 25), (300, 70)])
def test_light_from_a_sphere(azimuth, elevation):
    """A mirror ball: the highlight lies where the normal halves the angle of lamp and camera."""
    direction = np.array(lights.from_angles(azimuth, elevation))
    y, x = np.mgrid[0:200, 0:240] + 0.5
    dx, dy = (x - 120) / 60, (y - 100) / 60
    nz = np.sqrt(np.clip(1 - dx**2 - dy**2, 0, 1))
    half = direction + np.array([0, 0, 1])
    half /= np.linalg.norm(half)
    shine = np.clip(dx * half[0] + dy * half[1] + nz * half[2], 0, 1) ** 400
    picture = np.where(dx**2 + dy**2 < 1, 40 + 210 * shine, 90).astype(np.uint8)
    assert degrees(np.array(lights.from_sphere(picture, (120, 100), 60)), direction) < 2
    with pytest.raises(PhotoError, match="No highlight"):
        lights.from_sphere(np.full((200, 240), 90, np.uint8), (120, 100), 60)
    with pytest.raises(PhotoError, match="too small"):
        lights.from_sphere(picture, (120, 100), 2)


def test_angles_there_and_back():
    assert lights.angles(lights.from_angles(200, 35)) == pytest.approx((200, 35))
    with pytest.raises(PhotoError, match="lights nothing"):
        lights.from_angles(0, 0)
