"""A second ground truth for relief, made by other means than ``test_relief.scene``: chiselled metal under a microfacet
model, with marched shadows, light thrown back within the cuts, noise and JPEG.

Conventions: height in pixels towards the camera, normals (height, width, 3) with y down, photos uint8 in sRGB or uint16
linear. Sources: GGX microfacets (Walter et al. 2007) with Smith's masking and Schlick's Fresnel term, sRGB by IEC
61966-2-1; shadows by marching along rays of a bilinear height field; one bounce of light as a blurred share of the
light round a place, more where it lies deep (an approximation of interreflection).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter, map_coordinates
from scipy.spatial import cKDTree


@dataclass(frozen=True)
class Plate:
    height: np.ndarray
    normals: np.ndarray
    cut: np.ndarray
    lights: np.ndarray
    photos: list[np.ndarray]


def surface(rng, rows=200, columns=240):
    """Chisel strokes of changing depth with V walls and a burr beside them, a raised boss, pits, hammer marks."""
    y, x = np.mgrid[0:rows, 0:columns].astype(float)
    height = 0.8 * gaussian_filter(rng.normal(size=(rows, columns)), 25, mode="wrap") * 25
    cut = np.zeros((rows, columns), bool)
    grid = np.c_[x.ravel(), y.ravel()]
    for _ in range(9):
        knots = rng.uniform([25, 25], [columns - 25, rows - 25], 2)
        points = knots + np.cumsum(rng.normal(0, 22, (4, 2)), axis=0)
        path = CubicSpline(np.arange(4), points)(np.linspace(0, 3, 400))
        depth = 4.2 * np.sin(np.linspace(0.25, 2.6, 400)) * rng.uniform(0.7, 1.1)  # the hand presses and lets go
        far, at = cKDTree(path).query(grid)
        far, deep = far.reshape(rows, columns), depth[at].reshape(rows, columns)
        wall = deep - 0.9 * far
        inside = wall > 0
        burr = 0.5 * np.exp(-((far - deep / 0.9 - 1.2) / 1.1) ** 2) * (~inside)
        height = np.where(inside, np.minimum(height, height - wall), height + burr)
        cut |= inside
    boss = np.hypot(x - rng.uniform(60, 180), y - rng.uniform(60, 140))
    height += 3.0 * np.clip(1 - (boss / 22) ** 2, 0, 1) ** 1.5 * ~cut
    for px, py in rng.uniform(5, 195, (40, 2)):
        height -= 0.8 * np.exp(-((x - px) ** 2 + (y - py) ** 2) / rng.uniform(1, 4))
    return gaussian_filter(height, 0.9), cut


def normal_map(height):
    down, across = np.gradient(height)
    n = np.dstack([-across, -down, np.ones_like(height)])
    return n / np.linalg.norm(n, axis=2, keepdims=True)


def lit(height, light, reach=60.0):
    """Share of the lamp (its disc about 3 degrees wide) seen from each place, by marching in half pixels."""
    rows, columns = height.shape
    y, x = np.mgrid[0:rows, 0:columns].astype(float)
    flat = np.hypot(light[0], light[1])
    clear = np.full(height.shape, np.inf)
    for t in np.arange(0.7, min(reach, 8.0 * flat / light[2] + 2), 0.5):
        above = map_coordinates(height, [y + t * light[1] / flat, x + t * light[0] / flat], order=1, mode="nearest")
        clear = np.minimum(clear, np.arctan2(light[2], flat) - np.arctan2(above - height, t))
    return np.clip(clear / np.deg2rad(3) + 0.5, 0, 1)


def reflected(normals, light, patina, rough, metal):
    """Diffuse patina and GGX highlights of the metal under it, camera straight above."""
    view = np.array([0, 0, 1.0])
    half = (light + view) / np.linalg.norm(light + view)
    nl, nv, nh = (np.clip(normals @ v, 1e-4, 1) for v in (light, view, half))
    a = rough**2
    spread = a**2 / (np.pi * (nh**2 * (a**2 - 1) + 1) ** 2)
    masked = 1.0
    for cosine in (nl, nv):
        masked = masked * 2 * cosine / (cosine + np.sqrt(a**2 + (1 - a**2) * cosine**2))
    fresnel = metal + (1 - metal) * (1 - float(half @ light)) ** 5
    return nl * (patina + spread * masked * fresnel / (4 * nl * nv))


def plate(seed=0, count=8, noise=0.01, coded="jpeg", rough=0.42, metal=0.35, strengths=None) -> Plate:
    """``coded``: "jpeg" (sRGB, quality 92) or "linear" (uint16)."""
    rng = np.random.default_rng(seed)
    height, cut = surface(rng)
    normals = normal_map(height)
    patina = np.clip(0.42 + 0.10 * gaussian_filter(rng.normal(size=height.shape), 12) * 12, 0.12, 0.8)
    patina = patina * np.where(cut, 0.85, 1.0)  # dirt in the cuts
    turn = rng.uniform(0, 2 * np.pi)
    lights = []
    for k in range(count):
        around, up = turn + 2 * np.pi * k / count + rng.normal(0, 0.08), np.deg2rad(rng.uniform(26, 44))
        lights.append([np.cos(up) * np.cos(around), np.cos(up) * np.sin(around), np.sin(up)])
    lights = np.array(lights)
    deep = np.clip(gaussian_filter(height, 8) - height, 0, 3) / 3
    photos = []
    for k, light in enumerate(lights):
        direct = reflected(normals, light, patina, rough, metal) * lit(height, light)
        thrown = 0.35 * deep * patina * gaussian_filter(direct, 4) / max(float(patina.mean()), 1e-6)
        level = (direct + thrown + 0.01) * (1.0 if strengths is None else strengths[k])
        photos.append(level)
    top = np.percentile(np.stack(photos), 99.5)  # the brightest highlights burn out
    stack = []
    for level in photos:
        level = np.clip(level / top + rng.normal(0, noise, level.shape), 0, 1)
        if coded == "linear":
            stack.append(np.rint(level * 65535).astype(np.uint16))
            continue
        curve = np.where(level <= 0.0031308, 12.92 * level, 1.055 * level ** (1 / 2.4) - 0.055)
        stack.append(jpeg(np.repeat(np.rint(curve * 255).astype(np.uint8)[:, :, None], 3, axis=2)))
    return Plate(height, normals, cut, lights, stack)


def jpeg(pixels):
    import io

    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "JPEG", quality=92)
    return np.asarray(Image.open(stream))
