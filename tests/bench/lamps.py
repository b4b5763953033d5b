"""The next lamp: signs wrong after one more photograph, from the side that is named and from any other side.

    READAID_KANJI_REAL=FILE python -m tests.bench lamps

Conventions: columns of six real kanji of old hands that were left out of the training (``tests.bench.candidates``),
cut into metal by ``tests.photo.rendered`` and shown under eight lamps. Each lamp in turn is the first; wrong is a
first choice among kanji that is not the sign. An interval is a bootstrap of the plates (a plate's signs are seen
eight times).
"""

from __future__ import annotations

import os
from pathlib import Path

import cv2
import numpy as np

from readaid.core.candidate import Suggestion
from readaid.glyphs.candidates import Weighed, weigh_many
from readaid.photo.file import cut
from readaid.piece.lamps import SIDES
from readaid.piece.next_lamp import gains
from readaid.reading import stretches
from tests.bench import candidates
from tests.photo import rendered

Row = tuple[str, float, str, str]
AZIMUTHS = tuple(SIDES.values())
SIGNS = 6
_LEAST = 100


def plate(seed: int, pictures: np.ndarray, characters: np.ndarray, kind: str) -> tuple[list[list[Weighed]], list[str]]:
    """What shape says of each sign under each lamp, and the signs."""
    rng = np.random.default_rng(seed)
    size = float(rng.uniform(45, 85))
    ink = np.zeros((int(size * (1.25 * SIGNS + 2)), int(size * 3.2)), np.float32)
    boxes, truth, y = [], [], int(size)
    for at in rng.integers(len(pictures), size=SIGNS):
        rows, columns = np.nonzero(pictures[at] > _LEAST)
        crop = pictures[at][rows.min():rows.max() + 1, columns.min():columns.max() + 1] if len(rows) else None
        if crop is None:
            continue
        h, w = int(size * rng.uniform(0.85, 1.05)), int(size * rng.uniform(0.75, 1.0))
        mark = np.clip(cv2.resize(crop, (w, h), interpolation=cv2.INTER_CUBIC).astype(np.float32) / 255, 0, 1)
        x = (ink.shape[1] - w) // 2
        ink[y:y + h, x:x + w] = np.maximum(ink[y:y + h, x:x + w], mark)
        boxes.append((float(x), float(y), float(w), float(h)))
        truth.append(str(characters[at]))
        y += h + int(size * 0.15)
    seen = []
    for image in rendered.metal(rng, ink, kind, size, tuple(np.radians(AZIMUTHS))):
        noisy = cv2.GaussianBlur(image.astype(np.float32), (0, 0), 0.6)
        noisy += np.random.default_rng(seed).normal(0, 2.5, noisy.shape)
        even = stretches.evened(np.clip(noisy, 0, 255).astype(np.uint8), size)
        seen.append([weigh_many([cut(even, b, stretches.MARGIN)], 200, "kanji")[0] for b in boxes])
    return seen, truth


def wrong(looks: list[list[Weighed]], truth: list[str]) -> int:
    """Signs wrong by the mean of several lamps."""
    none = (Suggestion("", (), 0.0),)
    return sum((stretches.mean([look[n] for look in looks]).suggestions or none)[0].character != sign
               for n, sign in enumerate(truth))


def counts(seen: list[list[Weighed]], truth: list[str], rng: np.random.Generator) -> np.ndarray:
    """(signs, one lamp, a second from any side, the one named, a third from any side, the one named), all firsts."""
    out = np.zeros(6)
    for first in range(len(AZIMUTHS)):
        second = int(rng.choice([n for n in range(len(AZIMUTHS)) if n != first]))
        out[:2] += len(truth), wrong([seen[first]], truth)
        for column, have in ((2, [first]), (4, [first, second])):
            looks = [seen[n] for n in have]
            now = {n: stretches.mean([look[n] for look in looks]) for n in range(len(truth))}
            each = gains(now, [float(AZIMUTHS[n]) for n in have])
            after = {side: wrong([*looks, seen[list(SIDES).index(side)]], truth) for side in each}
            out[column] += float(np.mean(list(after.values())))
            out[column + 1] += after[max(each, key=lambda s: sum(each[s].values()))]
    return out


def bench() -> list[Row]:
    path = Path(os.environ.get("READAID_KANJI_REAL", "") or "-")
    if not path.is_file():
        return []
    real = candidates.training()
    pictures, characters, parts = real.read(path)
    pictures, characters = pictures[parts == real.EXAMINE], characters[parts == real.EXAMINE]
    plates = int(os.environ.get("READAID_PLATES", 100))
    out: list[Row] = []
    for kind in ("regular", "worn"):
        rng = np.random.default_rng(0)
        each = np.array([counts(*plate(9000 + n, pictures, characters, kind), rng) for n in range(plates)])
        whole = each.sum(0)
        n = int(whole[0] / len(AZIMUTHS))
        drawn = [each[rng.integers(len(each), size=len(each))].sum(0) for _ in range(1000)]
        for name, column in (("one lamp", 1), ("a second from any side", 2), ("the second named", 3),
                             ("a third from any side", 4), ("the third named", 5)):
            out.append((f"kanji wrong, {kind} cuts, {name} (n {n})", 100 * whole[column] / whole[0], "%", ""))
        for name, a, b in (("second", 2, 3), ("third", 4, 5)):
            low, high = np.percentile([100 * (d[a] - d[b]) / d[0] for d in drawn], [2.5, 97.5])
            out.append((f"fewer wrong by the {name} lamp named, {kind} cuts ({low:.2f} to {high:.2f})",
                        100 * (whole[a] - whole[b]) / whole[0], "points", "> 0"))
    return out
