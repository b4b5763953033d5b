"""Rendered pieces in real old hands, read with nobody helping. Run: python -m tests.bench real_hands

Conventions: pieces as in ``tests.bench.rendered`` (verses of the test set, with kanji, cut in metal by a renderer the
model was not trained with), but every kanji and every kana of the ten sounds of KMNIST is a crop of a real hand that
was left out of the training; the rest is drawn with the brush font and not counted. A real sign is wrong where the
alignment with the fewest edits gives it another sign or none. READAID_KANJI_REAL, READAID_KANA_REAL and
READAID_UNSEEN_BRUSH name the data; READAID_PIECES shortens the run; READAID_PART "choose" takes the crops left out to
choose by instead of those of the examination.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from readaid.copies.calibration import wilson
from readaid.reading import sight, stretches
from tests.bench import candidates, rendered

Row = tuple[str, float, str, str]
GOALS = {"fresh": "< 5", "worn": "< 8"}


@dataclass(frozen=True)
class RealHand(rendered.Hand):
    """A brush font in which the signs of ``crops`` are real crops (48 x 48 or 28 x 28, ink high)."""

    crops: dict[str, np.ndarray]

    def has(self, sign: str) -> bool:
        return sign in self.crops or super().has(sign)

    def ink(self, sign: str, size: int, rng: np.random.Generator) -> np.ndarray | None:
        drawn = super().ink(sign, size, rng) if self.file(sign) else None
        if sign not in self.crops:
            return drawn
        crop = self.crops[sign][rng.integers(len(self.crops[sign]))]
        ys, xs = np.nonzero(crop > 100)
        if not len(ys):
            return drawn
        crop = crop[ys.min():ys.max() + 1, xs.min():xs.max() + 1]
        # the crops were squeezed square: they are given back the width and height that the font has
        height, width = drawn.shape if drawn is not None else (size, size)
        big = cv2.resize(crop, (max(4, width), max(4, height)), interpolation=cv2.INTER_CUBIC)
        return np.clip(big.astype(np.float32) / 255, 0, 1)


def crops(kanji: Path, kana: Path, part: int) -> dict[str, np.ndarray]:
    """Crops of one part by the sign they show; a sign with its own crops only."""
    real = candidates.training()
    pictures, characters, parts = real.read(kanji)
    held = {c: pictures[(parts == part) & (characters == c)] for c in np.unique(characters[parts == part])}
    data = np.load(kana, allow_pickle=False)
    ours = np.array([real.kana_part(p) == part for p in data["images"]])
    for number, sound in enumerate(data["kana"]):
        held[str(sound)] = data["images"][ours & (data["labels"] == number)]
    return held


def matched(read: Sequence[str], truth: Sequence[str]) -> list[bool]:
    """Which signs of ``truth`` the alignment with the fewest edits finds.

    >>> matched("はるのや", "はなのやま")
    [True, False, True, True, False]
    """
    n, m = len(truth), len(read)
    cost = np.zeros((n + 1, m + 1), int)
    cost[:, 0], cost[0] = range(n + 1), range(m + 1)
    for i in range(1, n + 1):
        for j in range(1, m + 1):
            cost[i, j] = min(cost[i - 1, j] + 1, cost[i, j - 1] + 1,
                             cost[i - 1, j - 1] + (truth[i - 1] != read[j - 1]))
    out = [False] * n
    i, j = n, m
    while i and j:
        if cost[i, j] == cost[i - 1, j - 1] + (truth[i - 1] != read[j - 1]):
            i, j = i - 1, j - 1
            out[i] = truth[i] == read[j]
        elif cost[i, j] == cost[i - 1, j] + 1:
            i -= 1
        else:
            j -= 1
    return out


def bench() -> list[Row]:
    names = ("READAID_KANJI_REAL", "READAID_KANA_REAL", "READAID_UNSEEN_BRUSH")
    paths = [Path(os.environ.get(n, "") or "-") for n in names]
    if not all(p.exists() for p in paths):
        return []
    real = candidates.training()
    part = real.CHOOSE if os.environ.get("READAID_PART") == "choose" else real.EXAMINE
    plain = rendered.Hand.of(paths[2])
    hand = RealHand(plain.files, crops(paths[0], paths[1], part))
    most = int(os.environ.get("READAID_PIECES", 12))
    texts = rendered.texts()
    texts = texts[::max(1, len(texts) // most)][:most]
    good: dict[tuple[str, str], list[bool]] = {}
    for number, (_, text, form) in enumerate(texts):
        for place, kind in enumerate(GOALS):
            piece = rendered.make(text, form, hand, "metal", kind, 1000 + 10 * number + place)
            if piece is None:
                continue
            truth = [rendered.compared(s) for s in piece.truth]
            ours = [s in hand.crops for s in piece.signs]
            zones = rendered.found(piece.image)
            for way, columns, free in (("nobody helping", zones, True), ("true zones", piece.columns, False)):
                seen: list[str] = []
                if any(columns):
                    seen = rendered.signs_of(sight.read_zones(piece.image, columns, k=1, free=free,
                                                              expected=0.25).solution.readings[0])
                found = matched(seen, truth)
                good.setdefault((kind, way), []).extend(f for f, own in zip(found, ours, strict=True) if own)
                alone: list[str] = []
                if any(columns):
                    alone = rendered.shape_alone(stretches.of_zones(piece.image, columns, free=False))
                good.setdefault((kind, f"{way}, shape alone"), []).extend(
                    f for f, own in zip(matched(alone, truth), ours, strict=True) if own)
    out: list[Row] = []
    for (kind, way), held in good.items():
        low, high = wilson(len(held) - sum(held), len(held))
        out.append((f"real hands in metal, {kind}, {way} (n {len(held)}, {100 * low:.1f}-{100 * high:.1f})",
                    100 * (1 - float(np.mean(held))), "%", GOALS[kind] if way == "nobody helping" else ""))
    return out
