"""Relief through the opened piece when the lights are estimated, read from a sphere, wrong, too few, or photos differ.

Truth: rendered chiselled metal (``tests.photo.metalwork``) whose normals are known; a picture of the cuts is right
where it goes with the one drawn from the true normals.
"""

import cv2
import numpy as np
import pytest

import readaid
from readaid.core.errors import PhotoError
from readaid.photo import lights, relief
from readaid.photo.file import load
from tests.photo.metalwork import plate


def taken(piece, folder, truth, directions=None, change=None):
    """The plate's photos as photos of the piece's front."""
    added = []
    for k, pixels in enumerate(truth.photos):
        path = folder / f"light_{k}.png"
        cv2.imwrite(str(path), (change or (lambda _k, p: p))(k, pixels))
        light = None if directions is None else tuple(float(v) for v in directions[k])
        added.append(piece.add_photo(path, surface="front", light_direction=light))
    return added


@pytest.fixture
def opened(tmp_path):
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as piece:
        yield piece


def likeness(piece, made, truth) -> float:
    """Correlation with the cuts drawn from the true normals, the same stroke width."""
    wanted = relief.cuts(truth.normals.astype(np.float32), 8.0)[..., 0].astype(float)
    shown = load(piece.path(made))[..., 0].astype(float)
    return float(np.corrcoef(cv2.resize(shown, wanted.shape[::-1]).ravel(), wanted.ravel())[0, 1])


@pytest.mark.parametrize(("count", "coded"), [(4, "jpeg"), (4, "linear"), (8, "jpeg")])
def test_lights_estimated(opened, tmp_path, count, coded):
    truth = plate(1, count, coded=coded)
    made = opened.surfaces.relief(taken(opened, tmp_path, truth))
    assert likeness(opened, made, truth) > 0.75
    assert "estimated" in made.note
    assert "depths are not to scale" in made.note
    assert "turn all lights by 180" in made.note


def test_dark_raw_frames_of_sixteen_bits(opened, tmp_path):
    truth = plate(2, 4, coded="linear")
    dark = lambda _k, p: (p // 40).astype(np.uint16)  # noqa: E731 -- 1,600 levels of 65,535
    made = opened.surfaces.relief(taken(opened, tmp_path, truth, truth.lights, dark))
    assert likeness(opened, made, truth) > 0.8
    assert "as recorded" in made.note


def test_lights_read_from_a_sphere_in_each_photo(opened, tmp_path):
    """A mirror ball stands below the plate; what it tells is within 3 degrees."""
    truth = plate(0, 6)
    y, x = np.mgrid[0:90, 0:240] + 0.5
    dx, dy = (x - 120) / 38, (y - 45) / 38
    nz = np.sqrt(np.clip(1 - dx**2 - dy**2, 0, 1))

    def with_ball(k, pixels):
        half = truth.lights[k] + np.array([0, 0, 1])
        half /= np.linalg.norm(half)
        shine = np.clip(dx * half[0] + dy * half[1] + nz * half[2], 0, 1) ** 500
        ball = np.where(dx**2 + dy**2 < 1, 30 + 220 * shine, 100).astype(np.uint8)
        return np.vstack([pixels, np.repeat(ball[:, :, None], 3, axis=2)])

    photos = taken(opened, tmp_path, truth, change=with_ball)
    for photo, direction in zip(photos, truth.lights, strict=True):
        found = lights.from_sphere(load(opened.path(photo)), (120, 245), 38)
        assert np.degrees(np.arccos(np.clip(np.dot(found, direction), -1, 1))) < 3
        opened.change(photo, light_direction=found)
    made = opened.surfaces.relief([p.id for p in photos])
    shown = load(opened.path(made))[:200, :, 0].astype(float)
    wanted = relief.cuts(truth.normals.astype(np.float32), 8.0)[..., 0].astype(float)
    assert np.corrcoef(shown.ravel(), wanted.ravel())[0, 1] > 0.8


def test_a_photo_of_another_size_is_laid_over_first(opened, tmp_path):
    truth = plate(1, 5)
    larger = lambda k, p: cv2.resize(p, None, fx=1.5, fy=1.5) if k == 2 else p  # noqa: E731
    made = opened.surfaces.relief(taken(opened, tmp_path, truth, truth.lights, larger))
    assert likeness(opened, made, truth) > 0.8
    assert (made.width, made.height) == (240, 200)


def test_a_photo_that_shows_only_a_part(opened, tmp_path):
    """What it does not reach is left grey, and does not count as overexposed."""
    truth = plate(1, 5)
    part = lambda k, p: p[:, :150] if k == 3 else p  # noqa: E731
    photos = taken(opened, tmp_path, truth, truth.lights, part)
    opened.change(photos[3], to_reference=(1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0), reference=photos[0].id)
    made = opened.surfaces.relief([p.id for p in photos])
    shown = load(opened.path(made))[..., 0]
    assert (shown[:, 155:] == 128).all()
    wanted = relief.cuts(truth.normals.astype(np.float32), 8.0)[:, :145, 0].astype(float)
    assert np.corrcoef(shown[:, :145].astype(float).ravel(), wanted.ravel())[0, 1] > 0.7


@pytest.mark.parametrize(("count", "use", "said"), [
    (3, "no lights", r"3 photos under different lights; 4 are needed.*take more"),
    (2, "lights", r"three lights at least.*take four or more"),
    (4, "exchanged", r"lights do not match.*check which light"),
    (8, "mirrored", r"lights do not match"),
    (4, "burnt", r"overexposed .number 2.*leave it out"),
    (4, "black", r"black .number 3|cannot be laid over"),
    (4, "depth", r"differ in depth.*save them all alike")])
def test_refused_in_plain_words(opened, tmp_path, count, use, said):
    truth = plate(1, count)
    directions = {"no lights": None, "exchanged": truth.lights[[1, 0, *range(2, count)]] if count > 3 else None,
                  "mirrored": truth.lights * [1, -1, 1]}.get(use, truth.lights)

    def change(k, pixels):
        if use == "burnt" and k == 1:
            return np.where(pixels > 40, 255, pixels).astype(np.uint8)
        if use == "black" and k == 2:
            return np.zeros_like(pixels)
        return pixels.astype(np.uint16) * 257 if use == "depth" and k == 1 else pixels

    photos = taken(opened, tmp_path, truth, directions, change)
    for photo in photos[1:]:  # laid over already, so that the lights alone are judged
        opened.change(photo, to_reference=(1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0), reference=photos[0].id)
    before = opened.version
    with pytest.raises(PhotoError, match=said):
        opened.surfaces.relief([p.id for p in photos])
    assert opened.version == before
