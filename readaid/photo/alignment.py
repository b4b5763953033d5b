"""Laying one photo over another of the same surface, so that a zone holds in both; refused where it does not hold.

Conventions: the homography (3 x 3, row-major in ``values``) takes pixels of photo b to pixels of photo a,
both full size, (x, y), origin top-left; errors in pixels of a.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from readaid.core.errors import PhotoError, unknown_option
from readaid.photo.operators import blurred
from readaid.photo.raster import Bytes, Floats, checked, fitted, grey, reduced_grey
from readaid.photo.rectify import Plane, sampled
from readaid.photo.spectrum import turns

METHODS = ("auto", "shift", "features", "spectrum")
_LONGEST = 1400
#: Below this quality an alignment is refused. Unrelated photos reach 0.1, the same surface under opposite raking lights
#: 0.35 and more (measured on rendered plates and on a coin under four lights).
LEAST = 0.28
_CELLS = 0.12
#: Below this quality "auto" also tries the spectra.
_DOUBT = 0.45


@dataclass(frozen=True)
class Alignment:
    """``matrix`` takes pixels of b to pixels of a; ``quality`` 0..1 is how well edges then agree; ``error`` the median
    distance of matched points (pixels of a), ``matches`` how many; ``method`` "shift", "features" or "spectrum"."""

    matrix: NDArray[np.float64]
    quality: float
    error: float
    matches: int
    method: str

    @property
    def values(self) -> tuple[float, ...]:
        """Nine numbers, row-major, as a photo's record keeps them."""
        return tuple(float(v) for v in self.matrix.ravel())

    def to_a(self, points: ArrayLike) -> NDArray[np.float64]:
        """Points (n, 2) of photo b in photo a."""
        return Plane(self.matrix, (1, 1)).to_original(points)

    def to_b(self, points: ArrayLike) -> NDArray[np.float64]:
        """Points (n, 2) of photo a in photo b."""
        return Plane(self.matrix, (1, 1)).from_original(points)

    def laid_over(self, b: Any, size: tuple[int, int]) -> Any:
        """Photo b as seen in photo a, whose ``size`` is (width, height); white where b does not reach."""
        return sampled(checked(b), Plane(np.asarray(np.linalg.inv(self.matrix), np.float64), size))


def align(a: Any, b: Any, method: str = "auto") -> Alignment:
    """Find how photo ``b`` lies on photo ``a`` of the same surface.

    "shift" is phase correlation (Kuglin and Hines 1975) for a camera that hardly moved, the only one that also works
    between opposite raking lights on bare ground; "features" ORB points with a RANSAC homography, then refined on the
    edges (ECC, Evangelidis and Psarakis 2008); "spectrum" turn and size from the spectra of the edges, for infrared and
    ultraviolet over visible, where greys change places and parts are missing; "auto" takes the best, and tries the
    third only where the others leave doubt.
    Raises PhotoError for a wrong or blank image, and where no alignment holds; OptionError for an unknown method.
    """
    if method not in METHODS:
        raise unknown_option("method", method, METHODS)
    small_a, fa = reduced_grey(a, _LONGEST, "Photo a")
    small_b, fb = reduced_grey(b, _LONGEST, "Photo b")
    for name, level in (("a", small_a), ("b", small_b)):
        # A lens cap and a blank wall fit anything.
        if min(level.shape) < 24 or float(level.std()) < 1e-3:
            raise PhotoError(f"Photo {name} shows nothing to align by", cure="choose a photo of the surface in focus")
    edges_a, edges_b = _edges(small_a), _edges(small_b)
    found: list[tuple[float, float, int, str, NDArray[np.float64]]] = []
    if method in ("auto", "shift"):
        found.append((*_checked_shift(edges_a, edges_b),))
    if method in ("auto", "features"):
        by_points = _features(small_a, small_b, edges_a, edges_b)
        if by_points is not None:
            found.append(by_points)
    refined = [_refined(f, edges_a, edges_b) for f in found]
    # only in doubt: turn and size are free there, and an oval stain then finds another oval stain
    if method == "spectrum" or (method == "auto" and max((f[0] for f in refined), default=0.0) < _DOUBT):
        by_spectrum = _refined(_by_spectrum(small_a, small_b, edges_a, edges_b), edges_a, edges_b)
        if _everywhere(edges_a, edges_b, by_spectrum[4]):
            refined.append(by_spectrum)
    if not refined:
        raise _refused(0.0)
    # of two that agree as well the shift: a homography bends with every bit of noise
    quality, error, matches, name, matrix = max(refined, key=lambda f: f[0] + (0.03 if f[3] == "shift" else 0.0))
    if quality < LEAST:
        raise _refused(quality)
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])  # OpenCV counts from the middle of the first pixel
    up, down = np.diag([1 / fa, 1 / fa, 1.0]) @ half, np.linalg.inv(half) @ np.diag([fb, fb, 1.0])
    whole = up @ matrix @ down
    return Alignment(np.asarray(whole / whole[2, 2], np.float64), float(quality), float(error / fa), matches, name)


def overlay(a: Any, b: Any, alignment: Alignment) -> Bytes:
    """Both photos' edges in two colours, a red and b blue, for the eye to judge: uint8 in the size of a."""
    level = grey(checked(a, "Photo a"))
    other = grey(alignment.laid_over(b, (level.shape[1], level.shape[0])))
    ea, eb = (np.clip(_edges(v) * 0.35, 0, 1) for v in (level, other))
    return np.asarray(255 - 255 * np.stack([eb, np.maximum(ea, eb) * 0.9, ea], axis=-1), np.uint8)


def _refused(quality: float) -> PhotoError:
    return PhotoError("The two photos cannot be laid over each other", f"quality {quality:.2f}, {LEAST:.2f} is needed",
                      "check that they show the same surface, or click four common points", quality=quality)


def _edges(level: Floats) -> Floats:
    """Strength of edges whatever their sign, evened out: opposite lights turn bright flanks into dark ones."""
    smooth = blurred(np.asarray(level, np.float32), 1.2)
    dy, dx = np.gradient(smooth)
    strength = np.hypot(dx, dy)
    mean = blurred(np.asarray(strength, np.float32), 12) + float(np.percentile(strength, 60)) + 1e-4
    return np.asarray(np.minimum(strength / mean, 4.0), np.float32)


def _agreement(edges_a: Floats, edges_b: Floats, matrix: NDArray[np.float64]) -> float:
    """Correlation of the edges where both photos reach; 0 where they overlap by less than a tenth."""
    size = (edges_a.shape[1], edges_a.shape[0])
    moved = cv2.warpPerspective(edges_b, matrix, size, flags=cv2.INTER_LINEAR)
    there = cv2.warpPerspective(np.ones_like(edges_b), matrix, size, flags=cv2.INTER_NEAREST) > 0.5
    # Two corners that overlap by a few pixels may agree perfectly.
    if there.sum() < 0.1 * min(edges_a.size, edges_b.size):
        return 0.0
    u = blurred(edges_a, 1.5)[there]
    v = blurred(np.asarray(moved, np.float32), 1.5)[there]
    spread = float(u.std() * v.std())
    return float(((u - u.mean()) * (v - v.mean())).mean() / spread) if spread > 1e-9 else 0.0


def _everywhere(edges_a: Floats, edges_b: Floats, matrix: NDArray[np.float64]) -> bool:
    """Whether the edges agree in most of a 4 x 4 grid and not in one place: with turn and size free, one oval stain of
    a strange photo was laid on another (median of the cells 0.07; the same surface reached 0.23 and more)."""
    size = (edges_a.shape[1], edges_a.shape[0])
    u = blurred(edges_a, 1.5)
    v = blurred(np.asarray(cv2.warpPerspective(edges_b, matrix, size, flags=cv2.INTER_LINEAR), np.float32), 1.5)
    there = cv2.warpPerspective(np.ones_like(edges_b), matrix, size, flags=cv2.INTER_NEAREST) > 0.5
    rows, columns = (np.flatnonzero(there.any(axis=axis)) for axis in (1, 0))
    if len(rows) < 32 or len(columns) < 32:
        return False
    cells = []
    for part in np.array_split(rows, 4):
        for other in np.array_split(columns, 4):
            box = np.s_[part[0]:part[-1] + 1, other[0]:other[-1] + 1]
            inside = there[box]
            if inside.mean() > 0.5:
                p, q = u[box][inside], v[box][inside]
                spread = float(p.std() * q.std())
                cells.append(float(((p - p.mean()) * (q - q.mean())).mean() / spread) if spread > 1e-9 else 0.0)
    return len(cells) > 5 and float(np.median(cells)) > _CELLS


def _checked_shift(edges_a: Floats, edges_b: Floats) -> tuple[float, float, int, str, NDArray[np.float64]]:
    height, width = (max(edges_a.shape[i], edges_b.shape[i]) for i in (0, 1))
    fields = [np.zeros((height, width), np.float32) for _ in range(2)]
    for canvas, edges in zip(fields, (edges_a, edges_b), strict=True):
        canvas[:edges.shape[0], :edges.shape[1]] = edges - edges.mean()
    (dx, dy), _ = cv2.phaseCorrelate(fields[1], fields[0], cv2.createHanningWindow((width, height), cv2.CV_32F))
    matrix = np.array([[1, 0, dx], [0, 1, dy], [0, 0, 1.0]])
    quality = _agreement(edges_a, edges_b, matrix)
    still = _agreement(edges_a, edges_b, np.eye(3))
    if still > quality - 0.03:  # a fixed camera: shadows that wander must not move the photo
        matrix, quality = np.eye(3), still
    return quality, 0.5, 0, "shift", matrix


def _features(level_a: Floats, level_b: Floats, edges_a: Floats,
              edges_b: Floats) -> tuple[float, float, int, str, NDArray[np.float64]] | None:
    best = None
    # grey values first, then edges: under opposite lamps every flank changes from bright to dark
    for pair in ((level_a, level_b), (edges_a / 4, edges_b / 4)):
        pictures = [np.clip(v * 255 / max(float(v.max()), 1e-6), 0, 255).astype(np.uint8) for v in pair]
        pictures = [cv2.createCLAHE(2.0, (8, 8)).apply(p) for p in pictures]
        orb = cv2.ORB.create(nfeatures=3000, fastThreshold=8)
        (ka, da), (kb, db) = (orb.detectAndCompute(p, None) for p in pictures)
        if da is None or db is None or len(ka) < 12 or len(kb) < 12:
            continue
        pairs = [m for m, *rest in cv2.BFMatcher(cv2.NORM_HAMMING).knnMatch(db, da, k=2)
                 if rest and m.distance < 0.82 * rest[0].distance]
        if len(pairs) < 12:
            continue
        source = np.array([kb[m.queryIdx].pt for m in pairs], np.float32)
        target = np.array([ka[m.trainIdx].pt for m in pairs], np.float32)
        # the sampling of OpenCV is random: the same two photos must give the same alignment
        cv2.setRNGSeed(1)
        raw, inside = cv2.findHomography(source, target, cv2.RANSAC, 3.0)
        matrix = np.zeros((3, 3)) if raw is None else np.asarray(raw, np.float64)
        if raw is None or not _sane(matrix, level_b.shape) or int(inside.sum()) < 10:
            continue
        kept = inside.ravel() > 0
        moved = cv2.perspectiveTransform(source[kept][:, None], matrix)[:, 0]
        error = float(np.median(np.linalg.norm(moved - target[kept], axis=1)))
        quality = _agreement(edges_a, edges_b, matrix)
        if best is None or quality > best[0]:
            best = (quality, error, int(kept.sum()), "features", matrix)
    return best


def _by_spectrum(level_a: Floats, level_b: Floats, edges_a: Floats,
                 edges_b: Floats) -> tuple[float, float, int, str, NDArray[np.float64]]:
    """Turn and size from the spectra, the shift by phase correlation, drawn together on small pictures, where noise has
    been averaged away."""
    (small_a, fa), (small_b, fb) = (fitted(v, 512) for v in (level_a, level_b))
    ea, eb = _edges(np.asarray(small_a, np.float32)), _edges(np.asarray(small_b, np.float32))
    best: tuple[float, float, int, str, NDArray[np.float64]] = (-1.0, 0.0, 0, "spectrum", np.eye(3))
    for degrees, size in turns(ea, eb):
        for half in (0.0, 180.0):
            if not 0.25 < size < 4:
                continue
            forward = cv2.getRotationMatrix2D((0, 0), -(degrees + half), size)  # a to b, no shift yet
            back = np.linalg.inv(np.vstack([forward, [0, 0, 1]]))
            corners = np.array([[0, 0], [eb.shape[1], 0], [0, eb.shape[0]], list(eb.shape[::-1])]) @ back[:2, :2].T
            back[:2, 2] = -corners.min(axis=0)
            reach = np.ceil(np.ptp(corners, axis=0)).astype(int)
            width, height = max(int(reach[0]), ea.shape[1]), max(int(reach[1]), ea.shape[0])
            if width * height > 4_000_000:
                continue
            turned = cv2.warpPerspective(eb - eb.mean(), back, (width, height))
            canvas = np.zeros((height, width), np.float32)
            canvas[:ea.shape[0], :ea.shape[1]] = ea - ea.mean()
            (dx, dy), _ = cv2.phaseCorrelate(turned, canvas)
            # the correlation wraps round: a shift to the left is one to the right by the whole width less it
            for sx, sy in ((0, 0), (width, 0), (0, height), (width, height)):
                x, y = dx - np.copysign(sx, dx), dy - np.copysign(sy, dy)
                matrix = np.array([[1, 0, x], [0, 1, y], [0, 0, 1.0]]) @ back
                quality = _agreement(ea, eb, matrix)
                if quality > best[0]:
                    best = (quality, 0.5, 0, "spectrum", matrix)
    best = _refined(best, ea, eb)
    matrix = np.diag([1 / fa, 1 / fa, 1.0]) @ best[4] @ np.diag([fb, fb, 1.0])
    return _agreement(edges_a, edges_b, matrix), 0.5 / fa, 0, "spectrum", matrix / matrix[2, 2]


def _sane(matrix: NDArray[np.float64], shape: tuple[int, ...]) -> bool:
    """No folding, no scale beyond four times, no wild perspective."""
    height, width = shape[:2]
    corners = np.array([[[0, 0]], [[width, 0]], [[width, height]], [[0, height]]], np.float32)
    moved = cv2.perspectiveTransform(corners, matrix)[:, 0]
    area = float(cv2.contourArea(moved.astype(np.float32), oriented=True)) / (width * height)
    return bool(np.isfinite(moved).all() and cv2.isContourConvex(moved.astype(np.float32)) and 1 / 16 < abs(area) < 16
                and area > 0)


def _refined(found: tuple[float, float, int, str, NDArray[np.float64]], edges_a: Floats,
             edges_b: Floats) -> tuple[float, float, int, str, NDArray[np.float64]]:
    """ECC on the edges from the start found; kept only where the edges then agree better."""
    quality, error, matches, name, matrix = found
    kind = cv2.MOTION_TRANSLATION if name == "shift" else cv2.MOTION_HOMOGRAPHY
    start = np.linalg.inv(matrix)
    start = (start / start[2, 2]).astype(np.float32)
    stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 40, 1e-5)
    try:
        everywhere = np.full(edges_b.shape, 255, np.uint8)
        _, warp = cv2.findTransformECC(edges_a, edges_b, start[:2] if name == "shift" else start, kind, stop,
                                       everywhere, 5)
    except cv2.error:  # it says so by an exception when it does not converge
        return found
    back = np.vstack([warp, [0, 0, 1]]) if name == "shift" else warp
    try:
        better = np.linalg.inv(np.asarray(back, float))
    except np.linalg.LinAlgError:
        return found
    better /= better[2, 2]
    now = _agreement(edges_a, edges_b, better)
    gain = 0.03 if name == "shift" else 0.0
    return (now, error, matches, name, better) if now > quality + gain and _sane(better, edges_b.shape) else found
