"""Fit the chances of zones on pieces of the training renderer, as ``train.py`` leaves them: prints CALIBRATION.

Run from the repository: ``PYTHONPATH=. python data/train_zones/calibrate.py PIECES.npz [zones.onnx]``
"""

import sys
from pathlib import Path

import numpy as np
from scipy.optimize import linear_sum_assignment, minimize

from readaid.photo import chains, learned


def overlap(a, b):
    w = np.minimum(a[:, None, 2], b[None, :, 2]) - np.maximum(a[:, None, 0], b[None, :, 0])
    h = np.minimum(a[:, None, 3], b[None, :, 3]) - np.maximum(a[:, None, 1], b[None, :, 1])
    both = np.clip(w, 0, None) * np.clip(h, 0, None)
    area = [(x[:, 2] - x[:, 0]) * (x[:, 3] - x[:, 1]) for x in (a, b)]
    return both / (area[0][:, None] + area[1][None] - both + 1e-6)


def main(pieces: str, model: str | None = None) -> None:
    if model:
        learned.FILE = Path(model)
    held = np.load(pieces)
    rows, right, missed = [], [], 0
    for image, boxes, there, doubt in zip(held["image"], held["boxes"], held["there"], held["doubt"], strict=True):
        if there.sum() < 4:
            continue
        found = chains.find(np.ascontiguousarray(image.transpose(1, 2, 0)), None, None)
        if found is None:
            missed += there.sum()
            continue
        spots = [(s, chain) for chain in found.chains for s in chain]
        at = np.array([(s.left, s.top, s.right, s.bottom) for s, _ in spots])
        true, unsure = boxes[there], boxes[doubt]
        table = overlap(at, true)
        i, j = linear_sum_assignment((table < 0.5) - table * 1e-3)
        hit = np.zeros(len(at), bool)
        hit[i] = table[i, j] >= 0.5
        missed += there.sum() - hit.sum()
        skip = (overlap(at, unsure) > 0.1).any(1) & ~hit if len(unsure) else np.zeros(len(at), bool)
        for k, (s, chain) in enumerate(spots):
            if not skip[k]:
                odds = [np.log(np.clip(c.sure, 1e-3, 1 - 1e-3) / np.clip(1 - c.sure, 1e-3, 1)) for c in chain]
                own = np.log(np.clip(s.sure, 1e-3, 1 - 1e-3) / np.clip(1 - s.sure, 1e-3, 1))
                rows.append((own, float(np.mean(odds)), 1.0))
                right.append(hit[k])
    x, y = np.array(rows), np.array(right, float)

    def cost(w):
        z = x @ w
        return float(np.mean(np.logaddexp(0, z) - y * z) + 1e-3 * np.sum((w - [1, 0, 0]) ** 2))

    best = minimize(cost, np.array([1.0, 0, 0])).x
    print(f"{len(y)} zones, {y.mean():.3f} right, {missed} signs missed; CALIBRATION = {tuple(np.round(best, 3))}")


if __name__ == "__main__":
    main(*sys.argv[1:3])
