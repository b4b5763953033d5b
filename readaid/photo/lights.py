"""Where the lamp stood: from a shiny sphere in the picture, from the photos themselves, from two angles.

Conventions: a light is a unit vector towards the lamp, x right, y down, z to the camera, so z > 0 (the photo register's
own convention). Azimuth is clockwise on the picture from "right" (0 right, 90 below, 180 left, 270 above), degrees.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from readaid.core.errors import PhotoError
from readaid.photo.file import cut
from readaid.photo.operators import blurred
from readaid.photo.raster import Floats, checked, grey

#: A photo of which a larger share is pure white says nothing of the surface there.
BURNT = 0.3
Light = tuple[float, float, float]
Lights = NDArray[np.float64]


def from_angles(azimuth: float, elevation: float) -> Light:
    """Light from azimuth and elevation above the surface in degrees; raises PhotoError for an elevation not in (0, 90].

    >>> tuple(round(v, 3) + 0.0 for v in from_angles(90, 30))
    (0.0, 0.866, 0.5)
    """
    if not (np.isfinite(azimuth) and 0 < elevation <= 90):
        raise PhotoError(f"A light {elevation:g} degrees above the surface lights nothing",
                         cure="give 1 to 90 degrees")
    a, e = np.deg2rad(azimuth), np.deg2rad(elevation)
    return float(np.cos(e) * np.cos(a)), float(np.cos(e) * np.sin(a)), float(np.sin(e))


def angles(light: Sequence[float]) -> tuple[float, float]:
    """Azimuth 0..360 and elevation in degrees of a light."""
    x, y, z = checked_lights([light], 1)[0]
    return float(np.degrees(np.arctan2(y, x)) % 360), float(np.degrees(np.arcsin(z)))


def checked_lights(lights: ArrayLike, count: int) -> Lights:
    """Lights as (count, 3) unit vectors; PhotoError for another number, zero or infinite ones, or one from below."""
    array = np.asarray(lights, float)
    if array.ndim != 2 or array.shape[1] != 3:
        raise PhotoError(f"Lights of shape {array.shape} cannot be used", cure="give one (x, y, z) for each photo")
    if len(array) != count:
        raise PhotoError(f"{len(array)} lights for {count} photos", cure="give one light for each, in order")
    lengths = np.linalg.norm(array, axis=1)
    if not np.isfinite(array).all() or (lengths < 1e-9).any():
        raise PhotoError("A light has no direction", cure="give (x, y, z) towards the lamp")
    if (array[:, 2] <= 0).any():
        raise PhotoError("A light comes from below the surface", f"number {int(np.argmax(array[:, 2] <= 0)) + 1}",
                         "z points to the camera and must be above 0")
    return np.asarray(array / lengths[:, None], float)


def from_sphere(image: Any, centre: tuple[float, float], radius: float) -> Light:
    """Light from the highlight on a shiny sphere: pixel ``centre``, ``radius`` in pixels.

    The lamp's reflection lies where the normal halves the angle between lamp and camera: l = 2 (n . v) n - v, the
    camera far away. Raises PhotoError where the sphere is outside, smaller than 4 px, or shows no highlight.
    """
    pixels = checked(image)
    if not np.isfinite([*centre, radius]).all() or radius < 4:
        raise PhotoError(f"A sphere of radius {radius:g} px is too small", cure="mark it on the full-size photo")
    box = (centre[0] - radius, centre[1] - radius, 2 * radius, 2 * radius)
    part = cut(pixels, box)
    left, top = max(0, int(np.floor(box[0]))), max(0, int(np.floor(box[1])))
    level = np.asarray(cv2.GaussianBlur(grey(part), (0, 0), max(0.5, radius / 60)), np.float32)
    y, x = np.mgrid[0:level.shape[0], 0:level.shape[1]]
    dx, dy = (x + 0.5 + left - centre[0]) / radius, (y + 0.5 + top - centre[1]) / radius
    inside = dx * dx + dy * dy < 0.96
    if not inside.any() or float(level[inside].max() - np.median(level[inside])) < 0.08:
        raise PhotoError("No highlight shows on the sphere", cure="mark a shiny sphere, not overexposed")
    peak, usual = float(level[inside].max()), float(np.median(level[inside]))
    spot = inside & (level > usual + 0.8 * (peak - usual))
    _, labels = cv2.connectedComponents(spot.astype(np.uint8))
    brightest = labels[np.unravel_index(int(np.argmax(np.where(inside, level, -1))), level.shape)]
    chosen = (labels == brightest) & spot
    nx, ny = float(dx[chosen].mean()), float(dy[chosen].mean())
    nz = float(np.sqrt(max(0.0, 1 - nx * nx - ny * ny)))
    light = np.array([2 * nz * nx, 2 * nz * ny, 2 * nz * nz - 1])
    if light[2] <= 0:
        raise PhotoError("The highlight lies too near the sphere's edge: the lamp stands behind the piece",
                         cure="mark the sphere's outline again")
    return float(light[0]), float(light[1]), float(light[2])


@dataclass(frozen=True, slots=True)
class EstimatedLights:
    """Lights found from the photos themselves. ``explained`` is the share of the brightness they account for; ``note``
    says what was assumed and must be checked by eye."""

    lights: tuple[Light, ...]
    explained: float
    note: str


def estimated(images: Sequence[Any]) -> EstimatedLights:
    """Lights of four or more photos of one unmoved, on the whole flat surface, lamps of one strength.

    What varies round the level ground, freed of albedo, has two factors, slopes and the lamps' sideways parts, up to a
    2 x 2 matrix. Slopes of a surface have no curl, which gives the matrix up to its size (total least squares on the
    four derivatives, with weights against shadows; after Yuille and Snow 1997), and lamps of different strength do
    not disturb it. Size and heights come from lights of unit length and level ground. A half turn is left: a lamp near
    by lights its own side more, and where none does, cuts are taken to be hollow.
    Raises PhotoError for fewer than four photos, different sizes, photos whose lights hardly differ, and a surface
    whose cuts all run one way.
    """
    stack = stacked(images, least=4)
    factor = min(1.0, 400 / max(stack.shape[1:]))
    small = np.stack([cv2.resize(s, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA) for s in stack])
    count, height, width = small.shape
    flat = np.asarray([np.median(v) for v in small], np.float64)
    if (flat < 1e-4).any():
        raise PhotoError("A photo is black", f"number {int(np.argmin(flat)) + 1}", "expose it longer, or leave it out")
    even = np.stack([v / (blurred(v, 40.0) + 1e-4) * m for v, m in zip(small, flat, strict=True)])
    ratio = even.reshape(count, -1) / (even.reshape(count, -1).mean(axis=0) + 1e-4)
    ratio -= np.median(ratio, axis=1, keepdims=True)
    ratio = np.clip(ratio, -0.6, 0.6)  # highlights and shadows count, but not for all
    u, s, _ = np.linalg.svd(ratio @ ratio.T / ratio.shape[1])
    if s[1] < 1e-5 or s[1] < 0.01 * s[0]:
        raise PhotoError("The photos hardly differ in their light", cure="take them with the lamp at different sides")
    factors = np.stack([cv2.GaussianBlur(v.reshape(height, width).astype(np.float32), (0, 0), 1.0)
                        for v in u[:, :2].T @ ratio]).astype(np.float64)
    matrix = curl_free(factors)
    if matrix is None:
        raise PhotoError("The surface does not tell where the lamps stood", "its cuts run one way, or hardly show",
                         "note the light directions, or photograph a shiny sphere beside it")
    sideways = u[:, :2] @ np.linalg.inv(matrix)
    rises = flat / flat.mean()
    length = (sideways**2).sum(axis=1)
    size = float(np.median(length))
    prior = np.array([[0, 3.0 * count**0.5]])  # lamps at one height tell little of it: about 32 degrees
    rows = np.vstack([np.stack([length / size, rises**2], axis=1), prior])
    flatness, up = np.linalg.lstsq(rows, np.r_[np.ones(count), 0.28 * prior[0, 1]], rcond=None)[0]
    scale = float(np.sqrt(max(flatness, 0.05) / size))
    up = float(np.clip(up, 0.02, 0.8))
    x, y = sideways.T * scale
    p, q = np.einsum("ij,jyx->iyx", matrix / scale, factors)
    towards = float(np.mean([_brighter(v) @ (i, j) for v, i, j in zip(small, x, y, strict=True)]))
    if (towards if abs(towards) > 0.1 else _hollow(p, q)) < 0:
        x, y = -x, -y
    lights = np.stack([x, y, np.sqrt(up) * rises], axis=1)
    lights /= np.linalg.norm(lights, axis=1, keepdims=True)
    return EstimatedLights(tuple((float(i), float(j), float(k)) for i, j, k in lights), float(s[:2].sum() / s.sum()),
                           "Estimated on a surface flat on the whole: the sides from its shape, the heights taken as "
                           "about 30 degrees, so depths are not to scale. If cuts come out raised, turn all lights by "
                           "180 degrees.")


def curl_free(factors: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """The 2 x 2 matrix, up to its size, that makes two factors (2, height, width) the slopes of a surface; None
    where more than one does."""
    down, across = (np.stack([np.gradient(v, axis=axis) for v in factors]) for axis in (0, 1))
    rows = np.concatenate([down, -across]).reshape(4, -1)
    weight = np.ones(rows.shape[1])
    for _ in range(6):
        power, axes = np.linalg.eigh((rows * weight) @ rows.T)
        rest = axes[:, 0] @ rows
        spread = 1.4826 * float(np.median(np.abs(rest))) + 1e-9
        weight = 1 / (1 + (rest / (2 * spread)) ** 2)
    matrix = axes[:, 0].reshape(2, 2)
    if power[0] > 0.25 * power[1] or abs(np.linalg.det(matrix)) < 0.02:  # plates with cuts stay below 0.06
        return None
    return np.asarray(matrix, np.float64)


def stacked(images: Sequence[Any], least: int) -> Floats:
    """Photos as one grey array (count, height, width) 0..1; raises PhotoError for too few, or of different sizes."""
    if len(images) < least:
        told = "1 photo" if len(images) == 1 else f"{len(images)} photos"
        raise PhotoError(f"{told} under different lights; {least} are needed",
                         cure="take more, the lamp at other sides, camera and piece unmoved")
    arrays = [checked(image, f"Photo {i + 1}") for i, image in enumerate(images)]
    sizes = {a.shape[:2] for a in arrays}
    if len(sizes) > 1:
        told = ", ".join(f"{w} x {h}" for h, w in sorted(sizes))
        raise PhotoError("The photos differ in size", told, "align them first, or take them from one camera position")
    kinds = {a.dtype for a in arrays}
    if len(kinds) > 1:
        raise PhotoError("The photos differ in depth", ", ".join(sorted(map(str, kinds))), "save them all alike")
    if arrays[0].dtype.kind == "f":  # one scale for all, not each to its own largest value
        top = 1.0 if max(float(a.max()) for a in arrays) <= 1.0 else 255.0
        weights = np.array([0.299, 0.587, 0.114], np.float32)
        levels = [np.asarray(a @ weights if a.ndim == 3 else a, np.float32) / np.float32(top) for a in arrays]
    else:
        levels = [grey(a) for a in arrays]
    for number, level in enumerate(levels, start=1):
        if float(np.percentile(level, 99)) < 1e-4:
            raise PhotoError("A photo is black", f"number {number}", "expose it longer, or leave it out")
        white = float((level > 0.995).mean())
        if white > BURNT:
            raise PhotoError("A photo is overexposed", f"number {number}, {white:.0%} of it white",
                             "expose it shorter, or leave it out")
    return np.stack(levels)


def _hollow(p: NDArray[np.float64], q: NDArray[np.float64]) -> float:
    """Skewness of the surface's bend: above 0 where the sharpest bends are at the bottom of cuts."""
    bend = -np.gradient(p, axis=1) - np.gradient(q, axis=0)  # p, q are the normal's sideways parts: minus the slopes
    bend = np.asarray(cv2.GaussianBlur(bend, (0, 0), 1.5), np.float64)
    return float(((bend - bend.mean()) ** 3).mean() / (bend.std() ** 3 + 1e-12))


def _brighter(level: Floats) -> NDArray[np.float64]:
    """Direction in which a photo grows brighter on the whole, by a straight-line fit."""
    small = cv2.resize(level, (24, 24), interpolation=cv2.INTER_AREA)
    y, x = np.mgrid[-1:1:24j, -1:1:24j]
    mean = float(small.mean()) + 1e-6
    return np.array([float((small * x).sum() / (x * x).sum()), float((small * y).sum() / (y * y).sum())]) / mean
