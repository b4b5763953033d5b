"""Lines of evenly spaced marks in a picture: where they run, and the place of each mark along them.

Conventions: grey pictures 0..1; points (x, y) in pixels of the picture given, pixel centres at .5; a line's marks are
numbered from its left end (from its top end where it runs upright), with numbers left out where marks are covered.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import NDArray
from scipy.fft import rfft

from readaid.photo.periods import runs
from readaid.photo.raster import Floats

Numbers = NDArray[np.float64]

_FINE = 12  # samples a mark in the strip that is measured


@dataclass(frozen=True)
class Line:
    """One line of marks. ``start`` and ``along`` (unit vector) place it; mark ``n`` of ``numbers`` lies ``places`` px
    along it. ``curve`` is a cubic in n (lowest power first), which also holds perspective and the bend of a lens.
    ``rest`` is the spread of the marks about it as a share of the spacing, ``share`` how many of the numbers were seen.
    ``reach`` (last number + 1, 121) is how far each mark reaches: its darkness (or lightness, where not ``dark``)
    against the gaps beside it, in steps of a quarter of the spacing across the line, the middle of all marks at 60."""

    start: tuple[float, float]
    along: tuple[float, float]
    numbers: NDArray[np.int64]
    places: Numbers
    curve: tuple[float, ...]
    rest: float
    share: float
    reach: Floats
    dark: bool

    def place(self, n: float) -> float:
        """Pixels along the line where mark ``n`` is, or would be."""
        return float(np.polynomial.polynomial.polyval(n, self.curve))

    def spacing(self, n: float) -> float:
        """Pixels from mark to mark at mark ``n``."""
        return float(np.polynomial.polynomial.polyval(n, np.polynomial.polynomial.polyder(self.curve)))

    def point(self, n: float) -> tuple[float, float]:
        """The same as a pixel of the picture."""
        t = self.place(n)
        return self.start[0] + t * self.along[0], self.start[1] + t * self.along[1]


def find(level: Floats, most: int = 16) -> list[Line]:
    """Lines of marks in a grey picture, some ``most`` at most, the clearest first; an empty list without any."""
    lines: list[Line] = []
    for _, start, end in runs(level)[:most]:
        if any(_same(line, start, end) for line in lines):
            continue
        found = _measured(level, start, end)
        if all(line.share < 0.9 for line in found):  # an engraved mark has two flanks: it answers at half its spacing
            found += _measured(level, start, end, 2.0)
        lines += found
        if len(lines) >= most:
            break
    return lines


def _same(line: Line, a: Numbers, b: Numbers) -> bool:
    """Whether the middle of a-b lies on a line already measured, within one and a half spacings."""
    spacing = abs(line.spacing(line.numbers[-1] / 2))
    d = (a + b) / 2 - np.asarray(line.start)
    t, off = float(d @ line.along), float(abs(d[0] * line.along[1] - d[1] * line.along[0]))
    return off < 1.5 * spacing and line.places[0] <= t <= line.places[-1]


def _measured(level: Floats, start: Numbers, end: Numbers, times: float = 1.0) -> list[Line]:
    """The marks between two points, followed beyond them: dark ones, light ones (the gaps between dark marks are light
    ones of one length), or nothing where they are not evenly spaced. ``times`` the spacing that stands out is tried."""
    if abs(end[0] - start[0]) >= abs(end[1] - start[1]):
        start, end = (start, end) if start[0] <= end[0] else (end, start)
    else:
        start, end = (start, end) if start[1] <= end[1] else (end, start)
    on_it = start + np.linspace(0, 1, 201)[:, None] * (end - start)  # a turned run may begin outside the picture
    inside = ((on_it > 0.5) & (on_it < np.array(level.shape[::-1]) - 0.5)).all(axis=1)
    if inside.sum() < 20:
        return []
    start, end = on_it[inside][0], on_it[inside][-1]
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    spacing = _spacing(level, start, along, length)
    if spacing is None:
        return []
    spacing *= times
    strip, step, begin = _strip(level, start, along, length, spacing)
    middle = strip.shape[0] // 2
    band = _band(strip, middle)
    if band is None:
        return []
    top, bottom, lean = band
    strip = _upright(strip, lean, (top + bottom) / 2)
    found = []
    for sign in (-1.0, 1.0):
        followed = _marks(sign * strip[top:bottom].mean(axis=0), int((length / 2 - begin) / step))
        fit = _fitted(*followed) if followed is not None else None
        if followed is None or fit is None:
            continue
        curve, rest, kept = fit
        numbers, places = followed[0][kept], followed[1][kept]
        first = int(numbers[0])
        whole = (curve * step)(Polynomial([float(first), 1.0])) + begin + 0.5 * step
        base = start + ((top + bottom) / 2 - middle) * step * np.array([-along[1], along[0]])
        found.append(Line((float(base[0]), float(base[1])), (float(along[0]), float(along[1])), numbers - first,
                          begin + (places + 0.5) * step, tuple(float(v) for v in whole.coef), rest,
                          len(numbers) / (int(numbers[-1]) - first + 1),
                          _reach(sign * strip, numbers, curve, (top + bottom) / 2), sign < 0))
    return found


def _spacing(level: Floats, start: Numbers, along: Numbers, length: float) -> float | None:
    """Pixels a mark by the sharpest frequency of the middle part, refined by a parabola through its log power."""
    part = min(length, 512.0)
    count = max(64, int(2 * part))
    t = (length - part) / 2 + np.arange(count) * part / count
    normal = np.array([-along[1], along[0]])
    rows = [_sampled(level, start + t[:, None] * along + k * normal) for k in (-2.0, -1.0, 0.0, 1.0, 2.0)]
    row = np.mean(rows, axis=0)
    row = (row - row.mean()) * np.hanning(count)
    size = 8 * count
    power = np.log(np.abs(rfft(row, size)) ** 2 + 1e-12)
    scale = size * part / count  # px a whole transform spans
    low, high = max(2, int(scale / 100)), min(len(power) - 2, int(scale / 3.2))
    if high <= low:
        return None
    at = low + int(np.argmax(power[low:high]))
    before, here, after = power[at - 1:at + 2]
    bend = before - 2 * here + after
    return float(scale / (at + (0.5 * (before - after) / bend if bend < 0 else 0.0)))


def _sampled(level: Floats, points: Numbers) -> Numbers:
    x, y = (np.ascontiguousarray(points[..., i] - 0.5, np.float32) for i in (0, 1))
    if x.ndim == 1:
        x, y = x[None], y[None]
    got = cv2.remap(level, x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(got[0] if points.ndim == 2 else got, np.float64)


def _strip(level: Floats, start: Numbers, along: Numbers, length: float, spacing: float) -> tuple[Floats, float, float]:
    """The line laid flat, ``_FINE`` samples a mark both ways, followed to the picture's edge; the sample's size in px
    and where (px along the line) the first one lies."""
    step = spacing / _FINE
    if spacing > 2 * _FINE:  # a coarse ruler: what is finer than a sample must not alias
        level = np.asarray(cv2.GaussianBlur(level, (0, 0), 0.4 * step), np.float32)
    height, width = level.shape
    reach = []
    for side in (-1, 1):
        limits = [((width if side * a > 0 else 0.0) - p) / a if i == 0 else ((height if side * a > 0 else 0.0) - p) / a
                  for i, (p, a) in enumerate(zip(start, along, strict=True)) if abs(a) > 1e-6]
        reach.append(min(abs(v) for v in limits))
    begin, stop = -min(reach[0], 1.5 * length + 60 * spacing), min(reach[1], 2.5 * length + 60 * spacing)
    count = min(20_000, max(1, int((stop - begin) / step)))
    t = begin + (np.arange(count) + 0.5) * step
    across = (np.arange(-15 * _FINE, 15 * _FINE + 1)) * step
    normal = np.array([-along[1], along[0]])
    points = start + t[None, :, None] * along + across[:, None, None] * normal
    strip = _sampled(level, points).astype(np.float32)
    mean = cv2.blur(strip, (2 * _FINE + 1, 1), borderType=cv2.BORDER_REFLECT)
    rest = strip - mean
    spread = cv2.blur(rest * rest, (6 * _FINE + 1, 2 * _FINE + 1), borderType=cv2.BORDER_REFLECT)
    spread = np.sqrt(np.maximum(spread, 0))
    return np.asarray(rest / (spread + 0.01), np.float32), step, begin


def _band(strip: Floats, middle: int) -> tuple[int, int, float] | None:
    """Rows in which all marks stand, and how many samples a row they lean."""
    if strip.shape[1] < 12 * _FINE:
        return None
    windows = np.lib.stride_tricks.sliding_window_view(strip, 10 * _FINE, axis=1)[:, ::5 * _FINE]
    taper = np.hanning(10 * _FINE).astype(np.float32)
    spectrum = rfft(windows * taper, axis=-1)
    power = np.abs(spectrum) ** 2
    held = power[..., 9:12].sum(axis=-1) + power[..., 19:22].sum(axis=-1)
    share = held / (power[..., 2:].sum(axis=-1) + 1e-6)
    ranked = np.median(np.sort(share, axis=1)[:, share.shape[1] // 3:], axis=1)  # a covered third does not count
    near = slice(middle - 4 * _FINE, middle + 4 * _FINE + 1)
    best = near.start + int(np.argmax(np.convolve(ranked[near], np.ones(5) / 5, "same")))
    least = max(0.3, 0.75 * float(ranked[best]))
    if ranked[best] < 0.35:
        return None
    top = bottom = best
    while top > 1 and ranked[top - 1] > least:
        top -= 1
    while bottom < len(ranked) - 2 and ranked[bottom + 1] > least:
        bottom += 1
    if bottom - top < _FINE // 3:
        return None
    first = spectrum[top:bottom + 1, :, 10]
    turn = float(np.angle((first[1:] * np.conj(first[:-1])).sum()))
    return top, bottom + 1, -turn * _FINE / (2 * np.pi)


def _upright(strip: Floats, lean: float, centre: float) -> Floats:
    """The strip with leaning marks (perspective) set upright."""
    matrix = np.array([[1, lean, -lean * centre], [0, 1, 0]])
    return np.asarray(cv2.warpAffine(strip, matrix, (strip.shape[1], strip.shape[0]),
                                     flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE))


def _marks(profile: Floats, first: int) -> tuple[NDArray[np.int64], Numbers] | None:
    """Marks followed from the middle to both sides, each looked for where the last ones say."""
    smooth = cv2.GaussianBlur(profile[None].astype(np.float32), (0, 0), 1.2)[0]
    inner = smooth[1:-1]
    peaks = 1 + np.flatnonzero((inner > smooth[:-2]) & (inner >= smooth[2:]) & (inner > 0.25))
    if len(peaks) < 8:
        return None
    a, b, c = smooth[peaks - 1], smooth[peaks], smooth[peaks + 1]
    places = peaks + 0.5 * (a - c) / np.minimum(a - 2 * b + c, -1e-6)
    gaps = np.diff(places)
    even = np.abs(np.convolve(gaps, np.ones(6) / 6, "same") - _FINE) + np.abs(gaps - _FINE)
    centre = int(np.argmin(even + 0.002 * np.abs(places[1:] - first)))
    seen = {0: float(places[centre]), 1: float(places[centre + 1])}
    for side in (1, -1):
        n, missed = (1, 0) if side > 0 else (0, 0)
        while missed <= 25:
            n += side
            last = sorted(seen, key=lambda k: abs(k - n))[:14]
            spacing = _FINE if len(last) < 4 else float(np.polyfit(last, [seen[k] for k in last], 1)[0])
            spacing = min(max(spacing, 0.5 * _FINE), 2.0 * _FINE)
            near = last[0]
            wanted = seen[near] + (n - near) * spacing
            if not 0 <= wanted < len(profile):
                break
            at = int(np.argmin(np.abs(places - wanted)))
            if abs(places[at] - wanted) < (0.25 + 0.01 * missed) * spacing:
                seen[n], missed = float(places[at]), 0
            else:
                missed += 1
    numbers = np.array(sorted(seen), np.int64)
    return numbers, np.array([seen[int(n)] for n in numbers])


def _fitted(numbers: NDArray[np.int64], places: Numbers) -> tuple[Polynomial, float, NDArray[np.bool_]] | None:
    """A cubic through the marks (a parabola through fewer than 30), far ones dropped: fit, spread, which are kept.

    The stretch that fits best is kept: past a ruler's end, marks are found in anything.
    """
    kept = np.ones(len(numbers), bool)
    for _ in range(8):
        if kept.sum() < 12:
            return None
        curve = Polynomial.fit(numbers[kept], places[kept], 2 if kept.sum() < 30 else 3).convert()
        local = np.maximum(curve.deriv()(numbers), 1e-6)
        off = np.abs(places - curve(numbers)) / local
        limit = max(0.12, min(0.25, 3 * 1.4826 * float(np.median(off[kept]))))
        now = _stretch(numbers, off < limit)
        if (now == kept).all():
            break
        kept = now
    if kept.sum() < 12:
        return None
    return curve, float(np.sqrt(np.mean(off[kept] ** 2))), kept


def _stretch(numbers: NDArray[np.int64], good: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The stretch in which good marks outweigh missing and bad ones; what lies outside is dropped."""
    span = numbers[-1] - numbers[0] + 1
    worth = np.full(span, -1.0)
    worth[numbers - numbers[0]] = np.where(good, 1.0, -1.5)
    best, total, begin, ends = 0.0, 0.0, 0, (0, 0)
    for i, value in enumerate(worth):  # the heaviest run (Kadane's rule)
        if total <= 0:
            total, begin = 0.0, i
        total += float(value)
        if total > best:
            best, ends = total, (begin, i)
    inside = (numbers - numbers[0] >= ends[0]) & (numbers - numbers[0] <= ends[1])
    return np.asarray(good & inside, np.bool_)


def _reach(strip: Floats, numbers: NDArray[np.int64], curve: Polynomial, middle: float) -> Floats:
    """(count, 121) contrast of every mark, numbers left out included, in quarters of a spacing across the line."""
    wanted = np.arange(numbers[0], numbers[-1] + 1)
    x = curve(wanted)
    local = np.gradient(x)
    smooth = cv2.blur(strip, (3, _FINE // 4))

    def at(places: Numbers) -> Floats:
        y = middle + np.arange(-60, 61) * (_FINE / 4)
        mx, my = np.meshgrid(places, y, indexing="ij")
        return np.asarray(cv2.remap(smooth, mx.astype(np.float32), my.astype(np.float32), cv2.INTER_LINEAR,
                                    borderMode=cv2.BORDER_CONSTANT), np.float32)

    return np.asarray(at(x) - 0.5 * (at(x - 0.5 * local) + at(x + 0.5 * local)), np.float32)
