"""Surface shape from photos under several lights: normals, albedo, height, and pictures that show cuts and hide
colour.

Conventions: photos are of one size, camera and piece unmoved; a light is a unit vector towards the lamp, x right,
y down, z to the camera; normals (height, width, 3) likewise; height grows towards the camera, in pixels, or
mm with a scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.fft import dctn, idctn

from readaid.core.errors import PhotoError, unknown_option
from readaid.photo.lights import Lights, checked_lights, curl_free, stacked
from readaid.photo.operators import blurred
from readaid.photo.raster import Bytes, Floats, grey

METHODS = ("robust", "least squares")
ENCODINGS = ("auto", "linear", "srgb")
_CHUNK = 60_000
_SUBSETS = 70


@dataclass(frozen=True)
class Relief:
    """Surface found: ``normals`` (height, width, 3), ``albedo`` (height, width) 0..1, ``error`` (height, width): mean
    departure of the photos used from the fit, as a share of the albedo, ``used``: photos trusted at each pixel."""

    normals: Floats
    albedo: Floats
    error: Floats
    used: NDArray[np.uint8]
    lights: Lights
    encoding: str
    note: str = ""


def solve(images: Sequence[Any], lights: ArrayLike, method: str = "robust", encoding: str = "auto",
          strengths: ArrayLike | None = None) -> Relief:
    """Normals and albedo by photometric stereo (Woodham 1980), Lambert's law fitted to each pixel's brightness.

    Parameters
    ----------
    images: three or more (height, width[, 3]) arrays; five or more make "robust" worth its name.
    lights: (count, 3) unit vectors, one for each photo.
    method: "robust" leaves out highlights and cast shadows pixel by pixel: of all triples of lights the one that most
        other photos agree with (least trimmed squares), then weighted least squares on those; of four, three fit
        anything, so one is left out only where it looks like a shadow or a highlight and the albedo then agrees better
        with its surroundings; or "least squares".
    encoding: "linear" (raw frames), "srgb" (ordinary JPEGs), or "auto": whichever fits better from five photos on, with
        fewer sRGB for 8-bit photos and linear for others.
    strengths: relative lamp strengths or exposures, one per photo; None: equal.

    Raises PhotoError for fewer than three photos, different sizes, lights that are not one for each photo, lie in one
    plane or do not match the photos; OptionError for an unknown method or encoding.
    """
    if method not in METHODS:
        raise unknown_option("method", method, METHODS)
    if encoding not in ENCODINGS:
        raise unknown_option("encoding", encoding, ENCODINGS)
    stack = stacked(images, least=3)
    directions = checked_lights(lights, len(stack))
    # Lamps in one plane with the camera say nothing of the slope across that plane.
    if np.linalg.svd(directions, compute_uv=False)[2] < 0.05:
        raise PhotoError("The lights lie in one plane", cure="add a photo with the lamp at another side")
    power = np.ones(len(stack)) if strengths is None else np.asarray(strengths, float)
    if power.shape != (len(stack),) or not np.isfinite(power).all() or (power <= 0).any():
        raise PhotoError("The lamp strengths do not fit the photos", cure="give one number above 0 for each photo")
    chosen = _encoding(stack, directions, power, encoding, np.asarray(images[0]).dtype == np.uint8)
    if chosen == "srgb":
        stack = _linear(stack)
    # Once for all: from here on every lamp counts as equally strong.
    values = np.asarray(stack / power[:, None, None], np.float32).reshape(len(stack), -1)
    _matching(values, directions)
    shape = stack.shape[1:]
    scaled, error, used = _fitted(values, directions, shape, method)
    albedo = np.linalg.norm(scaled, axis=0)
    normals = np.where(albedo > 1e-6, scaled / np.maximum(albedo, 1e-6), np.array([[0], [0], [1]], np.float32))
    few = f"{len(stack)} lights: highlights and cast shadows cannot be told from the surface."
    note = "" if len(stack) > 4 else few
    field = np.ascontiguousarray(normals.T.reshape(*shape, 3).astype(np.float32))
    _a_surface(field)
    return Relief(field, np.clip(albedo, 0, None).reshape(shape).astype(np.float32), error.reshape(shape),
                  used.reshape(shape), directions, chosen, note)


def _fitted(values: Floats, lights: Lights, shape: tuple[int, ...],
            method: str) -> tuple[Floats, Floats, NDArray[np.uint8]]:
    """Normals times albedo (3, pixels), the fit's error, and how many photos were trusted."""
    # of four photos any three fit exactly; trimming them by the fit left one out at random
    if method == "robust" and len(values) == 4:
        return _four(values, lights, shape)
    fit = _trimmed if method == "robust" and len(values) > 4 else _plain
    scaled = np.empty((3, values.shape[1]), np.float32)
    error, used = np.empty(values.shape[1], np.float32), np.empty(values.shape[1], np.uint8)
    for start in range(0, values.shape[1], _CHUNK):  # by parts: all triples of 8 lights at once take gigabytes
        part = slice(start, start + _CHUNK)
        scaled[:, part], error[part], used[part] = fit(values[:, part], lights)
    return scaled, error, used


def _linear(values: Floats) -> Floats:
    """sRGB values 0..1 to linear light (IEC 61966-2-1)."""
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4).astype(np.float32)


def _encoding(stack: Floats, lights: Lights, power: NDArray[np.float64], wanted: str, eight_bit: bool) -> str:
    """For "auto" the encoding under which a sample of pixels fits better, or the usual one unless clearly worse."""
    usual, other = ("srgb", "linear") if eight_bit else ("linear", "srgb")
    if wanted != "auto" or len(stack) < 5:
        return wanted if wanted != "auto" else usual
    sample = stack.reshape(len(stack), -1)
    sample = sample[:, :: max(1, sample.shape[1] // 4000)]
    rests = {}
    for name, values in (("linear", sample), ("srgb", _linear(sample))):
        _, error, _ = _trimmed(np.asarray(values / power[:, None], np.float32), lights)
        rests[name] = float(np.median(error))
    # A JPEG is sRGB unless it fits much worse so: noise alone must not change what the normals are.
    return other if rests[other] < (0.6 if eight_bit else 0.8) * rests[usual] else usual


def _matching(values: Floats, lights: Lights) -> None:
    """Refuse lights that leave far more unexplained than the best three unknown ones would."""
    sample = values[:, :: max(1, values.shape[1] // 20_000)].astype(np.float64)
    usable = sample.mean(axis=0) > 1e-4
    if usable.sum() < 10:
        raise PhotoError("The photos are black", cure="expose them longer, or choose others")
    # Black surroundings would agree with any light.
    sample = sample[:, usable]
    sample = sample / sample.mean(axis=0)  # without the albedo: what is left varies with the light
    varies = float(((sample - np.median(sample, axis=1, keepdims=True)) ** 2).sum()) + 1e-12
    free = float(np.linalg.svd(sample @ sample.T, compute_uv=False)[3:].sum()) / varies
    given = float(((sample - lights @ (np.linalg.pinv(lights) @ sample)) ** 2).sum()) / varies
    if len(values) > 3 and given - free > 0.27:  # right lights stay below 0.07, exchanged neighbours of four reach 0.29
        raise PhotoError("The lights do not match the photos", "their changes of brightness stay unexplained",
                         "check which light belongs to which photo, and the lamp strengths")


def _a_surface(normals: Floats) -> None:
    """Refuse lights that fit each other but not the surface: slopes that are those of a surface only once they have
    been turned, mirrored or sheared. (A half turn exchanges raised and sunk and cannot be seen.)

    Right lights reach 1.00 and sides off by 30 degrees 0.99, all turned by an eighth 0.71, mirrored ones 0.04.
    """
    factor = max(1, max(normals.shape[:2]) // 500)
    n = cv2.resize(normals, (normals.shape[1] // factor, normals.shape[0] // factor), interpolation=cv2.INTER_AREA)
    slopes = np.stack([cv2.GaussianBlur(np.clip(n[..., i] / np.maximum(n[..., 2], 0.05), -2, 2), (0, 0), 1.0)
                       for i in (0, 1)]).astype(np.float64)
    matrix = curl_free(slopes)
    if matrix is None:  # level ground, or cuts that run one way: nothing speaks against the lights
        return
    # Lambert's law fits lights that are turned or mirrored as a whole; only the slopes betray them
    if abs(float(np.trace(matrix))) < 0.85 * 2**0.5 * float(np.linalg.norm(matrix)):
        cure = ("let y point down the picture, or check which light belongs to which photo"
                if np.linalg.det(matrix) < 0 else "check from which side each lamp shone")
        raise PhotoError("The lights do not match the photos", "the slopes found belong to no surface", cure)


def _plain(values: Floats, lights: Lights) -> tuple[Floats, Floats, NDArray[np.uint8]]:
    scaled = (np.linalg.pinv(lights) @ values).astype(np.float32)
    rest = np.abs(values - lights.astype(np.float32) @ scaled).mean(axis=0)
    error = np.asarray(rest / np.maximum(np.linalg.norm(scaled, axis=0), 1e-4), np.float32)
    return scaled, error, np.full(values.shape[1], len(values), np.uint8)


def _trimmed(values: Floats, lights: Lights) -> tuple[Floats, Floats, NDArray[np.uint8]]:
    """Least squares where all photos agree with it; elsewhere least trimmed squares over triples, then weighted.

    Most of a plate is bare ground in which all lights agree; the search costs a hundred times the plain fit.
    """
    rays = lights.astype(np.float32)
    count = len(values)
    scaled, error, used = _plain(values, lights)
    rest = np.abs(values - rays @ scaled)
    noise = _noise(rest)
    limit = 3.0 * noise + 0.02 * np.maximum(rays @ scaled, 0)
    # triples for every pixel were 30 times slower, and noisier on bare ground, than for the odd ones alone
    odd = np.flatnonzero((rest > limit).any(axis=0) | (scaled[2] <= 0))
    if not len(odd):
        return scaled, error, used
    hard = values[:, odd]
    keep = max(3, min(count - 1, int(np.ceil(0.62 * count))))
    triples = [t for t in combinations(range(count), 3) if abs(np.linalg.det(lights[list(t)])) > 0.04]
    if len(triples) > _SUBSETS:
        # seeded: the same photos give the same surface each time
        triples = [triples[i] for i in np.random.default_rng(0).choice(len(triples), _SUBSETS, replace=False)]
    best, cost = scaled[:, odd], np.full(len(odd), np.inf, np.float32)
    for start in [best, *(np.linalg.inv(lights[list(t)]).astype(np.float32) @ hard[list(t)] for t in triples)]:
        away = np.abs(hard - np.maximum(rays @ start, 0))
        away.partition(keep - 1, axis=0)
        # A surface that looks away from the camera cannot be seen: three shadows may fit one.
        total = np.where(start[2] > 0, away[:keep].sum(axis=0), np.inf)
        better = total < cost
        best, cost = np.where(better, start, best), np.where(better, total, cost)
    trusted = np.full(len(odd), count, np.uint8)
    for _ in range(3):
        predicted = rays @ best
        off = (hard - predicted) / (4.5 * noise + 0.04 * np.maximum(predicted, 0))
        # Tukey's biweight: what is far off has no say at all, what is near the limit little.
        weight = np.where((np.abs(off) < 1) & (predicted > 0), (1 - off**2) ** 2, 0).astype(np.float32)
        normal = np.einsum("kp,ki,kj->pij", weight, rays, rays) + 1e-6 * np.eye(3, dtype=np.float32)
        solved = np.linalg.solve(normal, np.einsum("kp,ki,kp->pi", weight, rays, hard)[:, :, None])[:, :, 0].T
        enough = ((weight > 0.05).sum(axis=0) >= 3) & (np.linalg.det(normal) > 2e-4) & (solved[2] > 0)
        best = np.where(enough, solved, best).astype(np.float32)
        trusted = np.where(enough, (weight > 0.05).sum(axis=0), trusted).astype(np.uint8)
    away = np.partition(np.abs(hard - np.maximum(rays @ best, 0)), keep - 1, axis=0)[:keep].mean(axis=0)
    scaled[:, odd], used[odd] = best, trusted
    error[odd] = away / np.maximum(np.linalg.norm(best, axis=0), 1e-4)
    return scaled, error, used


def _four(values: Floats, lights: Lights, shape: tuple[int, ...]) -> tuple[Floats, Floats, NDArray[np.uint8]]:
    """Least squares over four photos, or over three where the fourth looks like a shadow (under half of what the three
    say) or a highlight (the brightest, and more than they say) and the albedo found without it is nearer to that
    around: any three fit exactly, so the fit itself cannot tell."""
    scaled, error, used = _plain(values, lights)
    albedo = np.linalg.norm(scaled, axis=0).reshape(shape).astype(np.float32)
    around = blurred(np.asarray(cv2.medianBlur(albedo, 5), np.float32), 6.0).ravel() + 1e-4
    cost = np.abs(np.log(np.maximum(albedo.ravel(), 1e-4) / around))
    brightest = values.max(axis=0)
    for out in range(4):
        kept = [k for k in range(4) if k != out]
        if abs(np.linalg.det(lights[kept])) < 0.04:
            continue
        three = (np.linalg.inv(lights[kept]) @ values[kept]).astype(np.float32)
        said = lights[out].astype(np.float32) @ three
        strong = np.linalg.norm(three, axis=0)
        odd = (values[out] < 0.5 * said) | ((values[out] > 1.15 * np.maximum(said, 0)) & (values[out] >= brightest))
        off = np.abs(np.log(np.maximum(strong, 1e-4) / around)) + 0.05
        better = odd & (three[2] > 0.1 * strong) & (off < cost)
        scaled, cost = np.where(better, three, scaled), np.where(better, off, cost)
        used[better] = 3
    return np.asarray(scaled, np.float32), error, used


def _noise(rest: Floats) -> float:
    """Spread of the photos' noise from the better-fitting half of the pixels."""
    count = len(rest)
    per_pixel = np.sqrt((rest**2).sum(axis=0) / max(1, count - 3))
    return float(np.percentile(per_pixel, 40)) + 1e-5


def heights(normals: Any, mm_per_pixel: float = 1.0, steepest: float = 80.0) -> Floats:
    """Height map (height, width) whose slopes come nearest to the normals', mean 0, in pixels or mm.

    Least squares over the whole picture (Poisson's equation by the cosine transform: Frankot and Chellappa 1988 with
    the free edges of Simchony et al. 1990). Slopes above ``steepest`` degrees are cut off. Raises PhotoError for a
    wrong shape.

    >>> heights(np.dstack([np.zeros((4, 6)), np.zeros((4, 6)), np.ones((4, 6))])).any()
    np.False_
    """
    n = _normals(normals)
    # a normal that lies flat has no slope at all: one such pixel would lift a spike through the whole map
    most = np.tan(np.deg2rad(steepest))
    z = np.maximum(n[..., 2], 1e-3)
    p, q = np.clip(-n[..., 0] / z, -most, most), np.clip(-n[..., 1] / z, -most, most)
    rows, columns = p.shape
    f = np.zeros((rows, columns))
    across, down = (p[:, 1:] + p[:, :-1]) / 2, (q[1:] + q[:-1]) / 2  # slope between neighbours
    f[:, :-1] += across
    f[:, 1:] -= across
    f[:-1] += down
    f[1:] -= down
    wave = (2 * np.cos(np.pi * np.arange(rows) / rows) - 2)[:, None] + (
        2 * np.cos(np.pi * np.arange(columns) / columns) - 2)
    # The mean height is not in the slopes; it is set to 0 below.
    wave[0, 0] = 1.0
    spectrum = dctn(f, norm="ortho") / wave
    spectrum[0, 0] = 0.0
    return np.asarray(idctn(spectrum, norm="ortho") * mm_per_pixel, np.float32)


def shaded(normals: Any, light: Sequence[float] = (-0.6, -0.6, 0.53)) -> Bytes:
    """The bare surface, of one colour, under a lamp wherever wanted: uint8 (height, width, 3)."""
    n = _normals(normals)
    direction = checked_lights([light], 1)[0].astype(np.float32)
    level = np.clip(n @ direction / max(float(direction[2]), 0.2) * 0.5, 0, 1)
    return _picture(level)


def cuts(normals: Any, stroke: float = 8.0, strength: float = 1.0) -> Bytes:
    """Cuts dark, raised lines light, level ground mid grey, colour and slow bends gone: uint8 (height, width, 3).

    Height less its surroundings over three stroke widths (``stroke`` in pixels), so no light favours a stroke.
    """
    if not stroke > 0:
        raise PhotoError(f"A stroke {stroke:g} px wide cannot be looked for", cure="give a width above 0")
    height = heights(normals)
    local = blurred(height, max(0.5, stroke / 6)) - blurred(height, 3.0 * stroke)
    spread = float(np.percentile(np.abs(local), 98)) + 1e-6
    return _picture(np.clip(0.5 + 0.42 * strength * local / spread, 0, 1))


def colours(normals: Any) -> Bytes:
    """Normals as a picture, the usual way: red right, green up, blue to the camera."""
    n = _normals(normals)
    return np.asarray(np.clip((n * np.array([1, -1, 1], np.float32) + 1) * 127.5 + 0.5, 0, 255), np.uint8)


@dataclass(frozen=True)
class SecondBest:
    """What one photo can give: a picture like ``cuts``, and what it cannot show."""

    picture: Bytes
    note: str


def single(image: Any, light: Sequence[float] | None = None, stroke: float = 8.0) -> SecondBest:
    """The second best from one photo. With its light: slopes along the light made into height (linear shading, Pentland
    1990); without: lines of one width, whether cut or painted. Not a surface shape; the note says so."""
    level = grey(image)
    if not stroke > 0:
        raise PhotoError(f"A stroke {stroke:g} px wide cannot be looked for", cure="give a width above 0")
    even = level / (blurred(level, 4 * stroke) + 0.02) - 1
    if light is None:
        from readaid.photo.operators import ridges

        dark, bright = ridges(np.asarray(even, np.float32), stroke)
        lines = np.maximum(dark, bright)
        shown = np.clip(0.9 - lines / (float(np.percentile(lines, 99)) + 1e-6), 0, 1)
        return SecondBest(_picture(shown),
                          "One photo, light not known: lines of this width are shown, cut or painted alike.")
    x, y, _ = checked_lights([light], 1)[0]
    flat = float(np.hypot(x, y))
    if flat < 0.1:
        raise PhotoError("A light from straight above shows no slopes", cure="choose a photo under raking light")
    rows, columns = even.shape
    # Mirrored at the edges: the transform takes the picture for endless, and a left edge beside a right one is a
    # step.
    padded = np.pad(even, ((0, rows), (0, columns)), mode="symmetric")
    v, u = np.meshgrid(np.fft.fftfreq(2 * rows), np.fft.fftfreq(2 * columns), indexing="ij")
    along = 2j * np.pi * (u * x + v * y) / flat
    damping = 1 / (6 * stroke)
    spectrum = np.fft.fft2(padded) * -np.conj(along) / (np.abs(along) ** 2 + damping**2)
    height = np.fft.ifft2(spectrum).real[:rows, :columns]
    local = np.asarray(height - blurred(height.astype(np.float32), 3 * stroke), np.float32)
    spread = float(np.percentile(np.abs(local), 98)) + 1e-6
    return SecondBest(_picture(np.clip(0.5 + 0.42 * local / spread, 0, 1)),
                      "One photo only: slopes along the light are shown, stains pass for slopes, and cuts that run "
                      "towards the lamp are missing. Four lights or more give the surface shape.")


def _normals(normals: Any) -> Floats:
    array = np.asarray(normals)
    if array.ndim != 3 or array.shape[2] != 3 or array.size == 0 or array.dtype.kind != "f":
        raise PhotoError(f"Normals of shape {array.shape} cannot be used",
                         cure="give (height, width, 3) as solve() does")
    if not np.isfinite(array).all():
        raise PhotoError("The normals hold values that are not numbers", cure="solve the relief again")
    return array.astype(np.float32)


def _picture(level: NDArray[Any]) -> Bytes:
    return np.repeat(np.rint(level * 255).astype(np.uint8)[:, :, None], 3, axis=2)
