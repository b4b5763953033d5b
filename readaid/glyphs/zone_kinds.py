"""What a zone holds: writing, a signature, a monogram, a seal, a figure, or nothing that was written.

Conventions
-----------
* ``shares`` gives each zone the probability of every kind of ``core.photo.ZONE_KINDS``; they sum to 1. Columns from
  the right, zones from top to bottom, boxes (x, y, width, height) in pixels of the picture.
* What is asked of a zone is its place (last, lower, apart, smaller), its strokes (frame, holes, pieces, redness) and
  how sure the character model is of it; ``FEATURES`` names them in the order of the weights.
* The weights are fitted on pieces of our own drawing (``data/fit/zone_kinds.py``): a proposal for real pieces, never a
  judgement. ``zone_kinds.tsv`` holds one row a feature.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from readaid.core.errors import ReadaidError
from readaid.core.photo import ZONE_KINDS as KINDS
from readaid.core.tsv import load, number
from readaid.glyphs.candidates import weigh_many
from readaid.photo import marks
from readaid.photo.file import cut
from readaid.photo.raster import checked, eight_bit, grey

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]
FEATURES = ("one", "size", "size squared", "wide", "none of these", "sure", "ink", "frame", "frame of all sides",
            "round", "red", "pieces", "holes", "gap above", "gap aside", "last in column", "alone", "last column",
            "column's signs", "column's size", "column starts lower", "stands out")
FILE = Path(__file__).with_name("zone_kinds.tsv")
#: Angles at which a frame is looked for, and how far out (share of the box's half side) it has to lie.
ANGLES, OUT = 32, 0.72


@dataclass(frozen=True, slots=True)
class ZoneKind:
    """A kind and its probability, 0..1."""

    kind: str
    probability: float


def shares(image: Any, columns: Sequence[Sequence[Box]]) -> list[list[tuple[ZoneKind, ...]]]:
    """For each zone of each column the kinds, likeliest first.

    >>> page = np.full((160, 90), 240, np.uint8)
    >>> for top in (20, 70): page[top:top + 8, 30:60] = 20
    >>> [[k[0].kind in KINDS for k in column] for column in shares(page, [[(28, 12, 34, 24), (28, 62, 34, 24)]])]
    [[True, True]]
    """
    rows = features(image, columns)
    if not len(rows):
        return [[] for _ in columns]
    powers = rows @ _weights()
    each = np.exp(powers - powers.max(1, keepdims=True))
    each /= each.sum(1, keepdims=True)
    found = iter(each)
    out: list[list[tuple[ZoneKind, ...]]] = []
    for column in columns:
        ranked = [sorted(zip(KINDS, next(found), strict=True), key=lambda x: -x[1]) for _ in column]
        out.append([tuple(ZoneKind(kind, float(p)) for kind, p in one) for one in ranked])
    return out


@lru_cache(maxsize=1)
def _weights() -> Floats:
    held = dict(load(FILE, ("feature", *KINDS), lambda row: (row["feature"], [number(row[kind]) for kind in KINDS])))
    return np.array([held[name] for name in FEATURES])


def features(image: Any, columns: Sequence[Sequence[Box]]) -> Floats:
    """(zones, len(FEATURES)) in reading order."""
    boxes = [b for column in columns for b in column]
    if not boxes:
        return np.zeros((0, len(FEATURES)))
    usual = float(np.median([max(b[2], b[3]) for b in boxes]))
    left, top, right, bottom = _around(image, boxes, usual)
    pixels = np.ascontiguousarray(eight_bit(checked(image))[top:bottom, left:right])
    columns = [[(x - left, y - top, w, h) for x, y, w, h in column] for column in columns]
    strokes = _Strokes(pixels, usual)
    middles = [float(np.median([b[0] + b[2] / 2 for b in c])) if c else 0.0 for c in columns]
    tops = [min(b[1] for b in c) for c in columns if c]
    rows = []
    for n, column in enumerate(columns):
        aside = min((abs(m - middles[n]) for k, m in enumerate(middles) if k != n and columns[k]),
                    default=3 * usual)
        for at, box in enumerate(column):
            above = box[1] - column[at - 1][1] - column[at - 1][3] if at else 0.0
            side = max(box[2], box[3]) / usual
            row = [1.0, np.log(side), np.log(side) ** 2, np.log(box[2] / box[3]), *strokes.sureness(box),
                   *strokes.look(box), np.clip(above / usual, -0.5, 3), np.clip(aside / usual, 0, 4),
                   float(at == len(column) - 1), float(len(column) == 1), float(n == len(columns) - 1),
                   np.log(len(column)), np.log(np.median([max(b[2], b[3]) for b in column]) / usual),
                   np.clip((column[0][1] - min(tops)) / usual, 0, 5)]
            rows.append([*row, strokes.strength(box)])
    held = np.array(rows, np.float64)
    held[:, -1] = np.log((held[:, -1] + 0.02) / (np.median(held[:, -1]) + 0.02))
    return held


def _around(image: Any, boxes: Sequence[Box], usual: float) -> tuple[int, int, int, int]:
    """The part of the picture with all zones and two signs' room round them: left, top, right, bottom."""
    room = 2 * usual
    return (max(0, int(min(b[0] for b in boxes) - room)), max(0, int(min(b[1] for b in boxes) - room)),
            min(image.shape[1], round(max(b[0] + b[2] for b in boxes) + room)),
            min(image.shape[0], round(max(b[1] + b[3] for b in boxes) + room)))


class _Strokes:
    """The strokes of a picture at working size, and what they are like within a box."""

    def __init__(self, pixels: Any, usual: float) -> None:
        self._pixels, self._factor = pixels, marks.CHARACTER / usual
        colour = marks.at_size(pixels, usual)
        dark, light = marks.strengths(grey(colour))
        # cuts leave a dark and a light flank: both are strokes, whatever the surface
        self._found = marks.of_kind(dark, light, "cut")
        self._mask = marks.mask(self._found)[0]
        self._red = colour[..., 0] - (colour[..., 1] + colour[..., 2]) / 2 if colour.ndim == 3 else None

    def sureness(self, box: Box) -> tuple[float, float]:
        """Log odds of "none of these" and the share of the first choice, by the character model."""
        with contextlib.suppress(ReadaidError):  # no stroke in it
            seen = weigh_many([cut(self._pixels, box, 0.08)], 1, "all")[0]
            none = min(max(seen.none, 1e-4), 1 - 1e-4)
            return float(np.log(none / (1 - none))), seen.suggestions[0].probability
        return 4.0, 0.0

    def _part(self, box: Box) -> tuple[slice, slice]:
        f, (height, width) = self._factor, self._mask.shape
        x, y = min(width - 2, max(0, int(box[0] * f))), min(height - 2, max(0, int(box[1] * f)))
        return (slice(y, min(height, max(y + 2, round((box[1] + box[3]) * f)))),
                slice(x, min(width, max(x + 2, round((box[0] + box[2]) * f)))))

    def strength(self, box: Box) -> float:
        """How strong the strokes are, 0..1."""
        return float(np.percentile(self._found[self._part(box)], 90))

    def look(self, box: Box) -> tuple[float, ...]:
        """Ink, frame (mean and least side), roundness, redness, pieces, holes."""
        part = self._part(box)
        ink = np.ascontiguousarray(self._mask[part]).astype(np.uint8)
        h, w = ink.shape
        band_y, band_x = max(1, round(0.16 * h)), max(1, round(0.16 * w))
        sides = [ink[:band_y].any(0).mean(), ink[-band_y:].any(0).mean(), ink[:, :band_x].any(1).mean(),
                 ink[:, -band_x:].any(1).mean()]
        red = 0.0
        if self._red is not None and ink.any():
            red = float(np.clip(self._red[part][ink > 0].mean() - np.median(self._red), -0.3, 0.5))
        pieces = cv2.connectedComponents(ink, connectivity=8)[0] - 1
        holes = cv2.connectedComponents(np.pad(1 - ink, 1, constant_values=1), connectivity=4)[0] - 2
        return (float(ink.mean()), float(np.mean(sides)), float(min(sides)), _round(ink), red, float(np.log1p(pieces)),
                float(np.log1p(max(0, holes))))


def _round(ink: NDArray[np.uint8]) -> float:
    """Share of the directions from the middle in which there is ink far out: 1 for a closed frame, round or square."""
    h, w = ink.shape
    y, x = np.nonzero(ink)
    v, u = (y + 0.5) / h * 2 - 1, (x + 0.5) / w * 2 - 1
    far = np.hypot(u, v) >= OUT
    hit = np.floor((np.arctan2(v[far], u[far]) / (2 * np.pi) + 0.5) * ANGLES).astype(int) % ANGLES
    return len(np.unique(hit)) / ANGLES
