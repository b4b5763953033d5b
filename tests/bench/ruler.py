"""Rulers found on rendered ones (truth by homography), false alarms on rendered inscriptions, and photographs in other
light laid over visible ones (corner error against the known homography)."""

import time

import numpy as np

SEEDS = range(1000, 1004)


def bench():
    from readaid.photo import scale
    from tests.photo.rendered import FIT, KINDS, render
    from tests.photo.rulers import KINDS as MADE
    from tests.photo.rulers import STEPS, scene

    rows = []
    for unit in STEPS:
        found, off, spent = 0, [], 0.0
        scenes = [scene(seed, kind, unit) for kind in MADE for seed in SEEDS]
        for truth in scenes:
            start = time.process_time()
            ruler = scale.ruler(truth.image)
            spent += time.process_time() - start
            if ruler is not None:
                found += 1
                off.append(abs(ruler.millimetres / truth.length(ruler.a, ruler.b) - 1))
        rows += [(f"rulers in {unit}: found", 100 * found / len(scenes), "%", ""),
                 (f"rulers in {unit}: largest error of the scale", 100 * max(off), "%", "< 1"),
                 (f"rulers in {unit}: processor time a photo of 2 MP", spent / len(scenes), "s", "")]
    pieces = [render(seed, kind, FIT, surface=surface).image for seed in range(7000, 7005) for kind in KINDS
              for surface in ("metal", "paper")]
    seen = sum(scale.ruler(p) is not None for p in pieces)
    rows.append(("rulers seen where there is none", seen, f"of {len(pieces)}", "0"))
    return rows + _other_light()


def _other_light():
    from readaid.core.errors import PhotoError
    from readaid.photo.alignment import align
    from tests.photo.bands import KINDS, pair

    rows = []
    for kind in KINDS:
        for hard in (False, True):
            off, refused = [], 0
            for seed in range(6):
                truth = pair(seed, kind, hard)
                try:
                    off.append(truth.corner_error(align(truth.visible, truth.other).matrix))
                except PhotoError:
                    refused += 1
            name = f"{kind} over visible, {'half size, noisy, turned' if hard else 'nearly unmoved'}"
            rows += [(f"{name}: largest corner error", float(np.max(off)), "px", ""),
                     (f"{name}: refused", refused, "of 6", "0")]
    return rows
