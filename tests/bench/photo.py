"""Photographs: first paint, bytes, memory of large JPEGs; zones right on rendered pieces. Relief: see ``relief``.

Zones are counted right at IoU >= 0.5, one found zone for each true one. FIT fonts were tuned on, HELD fonts never seen.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import cv2
import numpy as np

PIECES = 12
SURFACES = ("metal", "metal", "paper", "inlay")
GOALS = {"regular": 98, "scattered": 90, "worn": 85}
_PAINT = """
import resource, sys, time
start = time.perf_counter()
from readaid.photo.pyramid import Pyramid
p = Pyramid(sys.argv[1])
paint = time.perf_counter() - start
p.tile(0, 1, 1)
tile = time.perf_counter() - start - paint
print(paint, len(p.overview), tile, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def bench():
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for megapixels, size in ((24, (4000, 6000)), (60, (6336, 9504))):
            path = Path(folder) / f"{megapixels}.jpg"
            _photo(path, size)
            out = subprocess.run([sys.executable, "-c", _PAINT, str(path)], capture_output=True, text=True, check=True)
            paint, sent, tile, memory = (float(v) for v in out.stdout.split())
            rows += [(f"{megapixels} MP JPEG: imports and first paint", paint, "s", "< 2"),
                     (f"{megapixels} MP JPEG: bytes of the first paint", sent / 1e6, "MB", "< 3"),
                     (f"{megapixels} MP JPEG: first full-size tile", tile, "s", ""),
                     (f"{megapixels} MP JPEG: peak memory with all levels asked", memory, "MB", "< 1000")]
    return rows + _views() + _zones()


def _photo(path, size):
    rng = np.random.default_rng(1)
    small = rng.normal(170, 18, (size[0] // 8, size[1] // 8, 3)).clip(0, 255).astype(np.uint8)
    cv2.imwrite(str(path), cv2.resize(small, size[::-1], interpolation=cv2.INTER_CUBIC), [cv2.IMWRITE_JPEG_QUALITY, 90])


def _views():
    from readaid.photo import views
    tile = np.random.default_rng(0).integers(0, 255, (512, 512, 3), dtype=np.uint8)
    rows = []
    for name in views.VIEWS:
        whole = views.whole(name, tile, views.setting(name)[1], 1.0)
        start = time.perf_counter()
        views.apply(name, tile, whole=whole)
        rows.append((f"view of one tile: {name}", (time.perf_counter() - start) * 1e3, "ms", "< 100"))
    return rows


def _zones():
    from readaid.photo.columns import propose
    from tests.photo.rendered import FIT, HELD, KINDS, calibration_error, matched, render
    rows = []
    for name, fonts, seed in (("tuned fonts, new seeds", FIT, 200), ("unseen fonts", HELD, 500)):
        sure, good = [], []
        for kind in KINDS:
            hits = true = extra = 0
            spent = 0.0
            for i in range(PIECES):
                piece = render(seed + i, kind, fonts, surface=SURFACES[i % 4])
                start = time.process_time()
                zones = [z for c in propose(piece.image) for z in c.zones]
                spent += time.process_time() - start
                ok = matched([_box(z) for z in zones], piece.boxes)
                hits, true, extra = hits + sum(ok), true + len(piece.boxes), extra + len(ok) - sum(ok)
                sure, good = sure + [z.confidence for z in zones], good + ok
            rows += [(f"zones right, {kind}, {name}", 100 * hits / true, "%", f">= {GOALS[kind]}"),
                     (f"zones too many or wrong, {kind}, {name}", 100 * extra / true, "% of true", ""),
                     (f"processor time a piece, {kind}, {name}", spent / PIECES, "s", "")]
        rows.append((f"calibration error of zones, {name}", calibration_error(sure, good), "", "< 0.06"))
    return rows + _large_zones()


def _box(zone):
    (left, top), (right, bottom) = zone.outline[0], zone.outline[2]
    return left, top, right - left, bottom - top


_LARGE = """
import re, sys, time
import cv2
from readaid.photo.columns import propose
small = cv2.imread(sys.argv[1])
photo = cv2.resize(small, (int(sys.argv[2]), int(sys.argv[3])), interpolation=cv2.INTER_LINEAR)
propose(small[:200, :200])
start = time.process_time()
found = sum(len(c.zones) for c in propose(photo))
spent = time.process_time() - start  # the peak from Linux itself: ru_maxrss is inherited from a larger parent
print(spent, int(re.search(r"VmHWM:\\s+(\\d+)", open("/proc/self/status").read())[1]) / 1024, found)
"""


def _large_zones():
    """One page of ink as a photo of 2 and of 60 million pixels, in a process of its own."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.png"
        cv2.imwrite(str(path), _page())
        for name, width, height in (("2 MP", 1250, 1600), ("60 MP", 6840, 8772)):
            out = subprocess.run([sys.executable, "-c", _LARGE, str(path), str(width), str(height)],
                                 capture_output=True, text=True, check=True)
            spent, peak, found = (float(v) for v in out.stdout.split())
            rows += [(f"zones on a photo of {name}: processor time", spent, "s", "< 1.5" if name == "2 MP" else ""),
                     (f"zones on a photo of {name}: peak memory with the photo", peak, "MB", "< 1000"),
                     (f"zones on a photo of {name}: found of 60", found, "", "60")]
    return rows


def _page():
    """Six columns of ten signs: 1250 x 1600, drawn with OpenCV's own letters so that no font is needed."""
    page = np.full((1600, 1250, 3), 225, np.uint8)
    page = (page + np.random.default_rng(3).normal(0, 4, page.shape)).clip(0, 255).astype(np.uint8)
    for i in range(60):
        x, y = 1030 - 190 * (i // 10), 150 + 140 * (i % 10)
        for k in range(3):  # a cross of strokes with a foot
            cv2.line(page, (x + 20, y - 70 + 35 * k), (x + 90 - 12 * ((i + k) % 3), y - 76 + 35 * k), (50, 40, 40), 9)
        cv2.line(page, (x + 55, y - 85), (x + 50 - 20 * (i % 2), y + 20), (50, 40, 40), 10)
    return page
