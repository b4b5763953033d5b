"""Fit the chances of zones: prints CALIBRATION.

On pieces of the training renderer, as ``train.py`` leaves them, and on pieces of the examining renderer in fonts that
were trained on (``tests/photo/rendered.py``, FIT, seeds of their own). The first alone are views with signs cut off,
harder than whole pieces are, and chances fitted on them come out too low.

Run from the repository: ``PYTHONPATH=. python data/train_zones/calibrate.py PIECES.npz [zones.onnx]``
"""

import sys
from pathlib import Path

import numpy as np
from scipy.optimize import linear_sum_assignment, minimize

from readaid.photo import chains, zone_net
from tests.photo import rendered


def overlap(a, b):
    w = np.minimum(a[:, None, 2], b[None, :, 2]) - np.maximum(a[:, None, 0], b[None, :, 0])
    h = np.minimum(a[:, None, 3], b[None, :, 3]) - np.maximum(a[:, None, 1], b[None, :, 1])
    both = np.clip(w, 0, None) * np.clip(h, 0, None)
    area = [(x[:, 2] - x[:, 0]) * (x[:, 3] - x[:, 1]) for x in (a, b)]
    return both / (area[0][:, None] + area[1][None] - both + 1e-6)


def odds(sure):
    return float(np.log(np.clip(sure, 1e-3, 1 - 1e-3) / np.clip(1 - sure, 1e-3, 1)))


def scenes(pieces):
    """Images with true boxes (left, top, right, bottom) and boxes not to be judged."""
    held = np.load(pieces)
    for image, boxes, there, doubt in zip(held["image"], held["boxes"], held["there"], held["doubt"], strict=True):
        if there.sum() >= 4:
            yield np.ascontiguousarray(image.transpose(1, 2, 0)), boxes[there], boxes[doubt]
    for kind in rendered.KINDS:
        for i in range(8):
            piece = rendered.render(7000 + i, kind, rendered.FIT, surface=("metal", "metal", "paper", "inlay")[i % 4])
            yield piece.image, np.array([(x, y, x + w, y + h) for x, y, w, h in piece.boxes], float), np.empty((0, 4))


def main(pieces: str, model: str | None = None) -> None:
    if model:
        zone_net.FILE = Path(model)
    rows, right, missed = [], [], 0
    for image, true, unsure in scenes(pieces):
        found = chains.find(image, None, None)
        if found is None:
            missed += len(true)
            continue
        spots = [(s, chain) for chain in found.chains for s in chain]
        at = np.array([(s.left, s.top, s.right, s.bottom) for s, _ in spots])
        table = overlap(at, true)
        i, j = linear_sum_assignment((table < 0.5) - table * 1e-3)
        hit = np.zeros(len(at), bool)
        hit[i] = table[i, j] >= 0.5
        missed += len(true) - hit.sum()
        skip = (overlap(at, unsure) > 0.1).any(1) & ~hit if len(unsure) else np.zeros(len(at), bool)
        for k, (s, chain) in enumerate(spots):
            if not skip[k]:
                rows.append((odds(s.sure), float(np.mean([odds(c.sure) for c in chain])), 1.0))
                right.append(hit[k])
    x, y = np.array(rows), np.array(right, float)

    def cost(w):
        z = x @ w
        return float(np.mean(np.logaddexp(0, z) - y * z) + 1e-3 * np.sum((w - [1, 0, 0]) ** 2))

    best = minimize(cost, np.array([1.0, 0, 0])).x
    print(f"{len(y)} zones, {y.mean():.3f} right, {missed} signs missed; CALIBRATION = {tuple(np.round(best, 3))}")


if __name__ == "__main__":
    main(*sys.argv[1:3])
