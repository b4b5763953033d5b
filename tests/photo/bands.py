"""Rendered pairs of one lacquered surface: visible light, and infrared or ultraviolet, by a known homography.

Visible: gold and red on black lacquer. Infrared: the lacquer lets the wood show and turns light, gold is darker than
it, red is gone, an ink sketch beneath shows that nobody sees otherwise. Ultraviolet: varnish glows in clouds, gold is
dark, two retouches are black, red is grey. Relations after what infrared and ultraviolet photographs of lacquer usually
show (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from tests.photo.rendered import FIT, field, layout

KINDS = ("infrared", "ultraviolet")


@dataclass(frozen=True)
class Pair:
    visible: np.ndarray
    other: np.ndarray
    to_visible: np.ndarray  # homography, pixels of the other to pixels of the visible one

    def corner_error(self, matrix) -> float:
        """Mean distance (pixels of the visible photo) of the four corners from where they belong."""
        height, width = self.other.shape[:2]
        corners = np.float64([[[0, 0], [width, 0], [width, height], [0, height]]])
        there, found = (cv2.perspectiveTransform(corners, np.asarray(m, float)) for m in (self.to_visible, matrix))
        return float(np.linalg.norm(there - found, axis=-1).mean())


def drawing(rng, shape):
    """Masks: writing and leaves in gold, blossoms in red, a sketch beneath; 0..1."""
    gold, red, sketch = (np.zeros(shape, np.float32) for _ in range(3))
    ink, _ = layout(rng, "scattered", FIT, 62.0)
    ink = ink[:shape[0] - 40, :shape[1] - 40]
    y, x = rng.integers(10, [shape[0] - ink.shape[0] - 5, shape[1] - ink.shape[1] - 5])
    gold[y:y + ink.shape[0], x:x + ink.shape[1]] = ink
    for _ in range(7):
        p = rng.uniform(0.05, 0.95, 2) * shape[::-1]
        curve = p + np.cumsum(rng.normal(0, 22, (14, 2)) + rng.normal(0, 14, 2), axis=0)
        cv2.polylines(gold, [curve.astype(np.int32)], False, 1.0, int(rng.integers(2, 6)), cv2.LINE_AA)
        for q in curve[::3]:
            cv2.ellipse(gold, tuple(int(v) for v in q), (int(rng.uniform(8, 22)), int(rng.uniform(4, 9))),
                        float(rng.uniform(0, 180)), 0, 360, 1.0, -1, cv2.LINE_AA)
    for _ in range(9):
        q = rng.uniform(0.05, 0.95, 2) * shape[::-1]
        cv2.circle(red, tuple(int(v) for v in q), int(rng.uniform(8, 26)), 1.0, -1, cv2.LINE_AA)
    for _ in range(5):
        p = rng.uniform(0.1, 0.9, 2) * shape[::-1]
        curve = p + np.cumsum(rng.normal(0, 30, (10, 2)), axis=0)
        cv2.polylines(sketch, [curve.astype(np.int32)], False, 1.0, 2, cv2.LINE_AA)
    return gold, red * (1 - gold), sketch


def pair(seed: int, kind: str = "infrared", hard: bool = False) -> Pair:
    """One pair; ``hard``: larger turn and shift, half the resolution, more noise."""
    rng = np.random.default_rng(seed)
    shape = (760, 1000)
    gold, red, sketch = drawing(rng, shape)
    worn = np.clip(0.75 + 0.3 * field(rng, shape, 60), 0.2, 1)
    gold = gold * worn
    grain, cloud = field(rng, shape, 2), field(rng, shape, 140)
    y, x = np.mgrid[0:shape[0], 0:shape[1]] / np.array(shape)[:, None, None]
    ground = 30 + 6 * cloud + 3 * grain + 40 * np.exp(-((x - 0.3) ** 2 + (y - 0.2) ** 2) / 0.08)
    visible = ground[:, :, None] * np.array([1.0, 0.95, 0.9])
    for mask, colour in ((red, (150, 42, 30)), (gold, (190, 158, 92))):
        paint = np.array(colour) * (1 + 0.06 * field(rng, shape, 3))[:, :, None]
        visible = visible * (1 - mask[:, :, None]) + paint * mask[:, :, None]
    wood = np.sin((y * 60 + 2.2 * field(rng, shape, 180)) * 2 * np.pi) * 0.5 + 0.5
    if kind == "infrared":
        other = 165 + 22 * wood + 8 * cloud + 3 * grain - 70 * sketch
        other = other * (1 - gold) + (92 + 6 * grain) * gold
    else:
        other = 95 + 40 * field(rng, shape, 90) + 4 * grain
        other = other * (1 - 0.7 * red) + 62 * red
        other = other * (1 - gold) + (28 + 4 * grain) * gold
        for _ in range(2):
            q = rng.uniform(0.2, 0.8, 2) * shape[::-1]
            cv2.ellipse(other, tuple(int(v) for v in q), (70, 45), float(rng.uniform(0, 180)), 0, 360, 12.0, -1)
    scale, turn, away = (0.5, 9.0, 70.0) if hard else (0.8, 3.0, 25.0)
    scale *= float(rng.uniform(0.95, 1.05))
    a, shift = np.deg2rad(rng.uniform(-turn, turn)), rng.uniform(-away, away, 2)
    c, s = scale * np.cos(a), scale * np.sin(a)
    middle = np.array(shape[::-1]) / 2
    matrix = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])
    matrix[:2, 2] = scale * (middle + shift) - matrix[:2, :2] @ middle
    matrix[2, :2] = rng.uniform(-3e-5, 3e-5, 2)
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    size = (round(shape[1] * scale), round(shape[0] * scale))
    seen = cv2.warpPerspective(np.asarray(other, np.float32), np.linalg.inv(half) @ matrix @ half, size,
                               flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REFLECT)
    v, u = np.mgrid[0:size[1], 0:size[0]] / np.array(size[::-1])[:, None, None]
    seen = seen * (1.08 - 0.5 * ((u - 0.5) ** 2 + (v - 0.5) ** 2))
    seen = cv2.GaussianBlur(seen, (0, 0), 1.0) + rng.normal(0, 7 if hard else 4, seen.shape)
    visible = cv2.GaussianBlur(visible.astype(np.float32), (0, 0), 0.6) + rng.normal(0, 2, visible.shape)
    return Pair(np.clip(visible, 0, 255).astype(np.uint8), np.clip(seen, 0, 255).astype(np.uint8),
                np.linalg.inv(matrix))
