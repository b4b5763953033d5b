"""Rendered rulers with known graduations, laid by a known homography on a rendered piece.

Conventions: the ruler's own plane is in mm, x along it, y from its graduated edge inwards; ``plane`` takes mm to pixels
of the picture. Mark lengths: common practice (mm short, 5 mm longer, cm longest), no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from tests.photo.rendered import field, render

FINE = 24  # px a mm of the drawing before it is laid into the picture
KINDS = ("paper", "steel", "black", "worn", "covered")
STEPS = {"mm": 1.0, "half mm": 0.5, "inch": 25.4 / 16}


@dataclass(frozen=True)
class Rendered:
    image: np.ndarray
    plane: np.ndarray
    step: float

    def length(self, a, b) -> float:
        """True distance in mm of two pixels on the ruler."""
        points = np.array([[*a, 1.0], [*b, 1.0]]) @ np.linalg.inv(self.plane).T
        p, q = points[:, :2] / points[:, 2:]
        return float(np.hypot(*(p - q)))


def rank(n: int, unit: str) -> float:
    """Length of mark ``n`` in mm."""
    if unit == "mm":
        return 6.5 if n % 10 == 0 else 4.8 if n % 5 == 0 else 3.2
    if unit == "half mm":
        return 6.5 if n % 20 == 0 else 5.2 if n % 10 == 0 else 3.8 if n % 2 == 0 else 2.4
    return 8.0 if n % 16 == 0 else 6.2 if n % 8 == 0 else 4.8 if n % 4 == 0 else 3.6 if n % 2 == 0 else 2.4


def drawn(rng, kind: str, unit: str, length: int) -> tuple[np.ndarray, np.ndarray]:
    """The ruler's face (h, w, 3) and the mask of its marks, ``FINE`` px a mm."""
    width, height = int((length + 8) * FINE), 14 * FINE
    marks, figures = np.zeros((height, width), np.float32), np.zeros((height, width), np.uint8)
    step, thick = STEPS[unit], (0.09 if unit == "half mm" else 0.16)
    for n in range(int(length / step) + 1):
        x = (4 + n * step) * FINE
        high = rank(n, unit)
        left, right = round(x - thick * FINE / 2), round(x + thick * FINE / 2) + 1
        strength = 1.0
        if kind == "worn":
            strength = rng.uniform(0.35, 1.0) * (rng.random() > 0.06)
        marks[int(0.2 * FINE):int(high * FINE), left:right] = strength
        per = {"mm": 10, "half mm": 20, "inch": 16}[unit]
        if n % per == 0:
            text, size = str(n // per), 0.045 * FINE
            (w, h), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, size, 3)
            cv2.putText(figures, text, (int(x - w / 2), int(8.2 * FINE + h)), cv2.FONT_HERSHEY_SIMPLEX, size, 255, 5,
                        cv2.LINE_AA)
    marks = np.maximum(marks, figures.astype(np.float32) / 255)
    grain = field(rng, marks.shape, 3)[:, :, None]
    if kind == "steel":  # engraved: dark floor, one bright flank, brushed ground
        ground = np.array([172, 174, 176.0]) + 9 * cv2.blur(field(rng, marks.shape, 2), (61, 1))[:, :, None] + 3 * grain
        flank = np.clip(np.roll(marks, 3, axis=1) - marks, 0, 1)[:, :, None]
        face = ground * (1 - 0.45 * marks[:, :, None]) + 50 * flank
    elif kind == "black":
        face = np.array([38, 38, 40.0]) + 2 * grain + 195 * marks[:, :, None]
    else:
        ground = np.array([236, 234, 226.0]) - (14 * np.abs(field(rng, marks.shape, 40))[:, :, None]
                                                if kind == "worn" else 0)
        face = ground + 3 * grain - (ground - 35) * marks[:, :, None] * (0.8 if kind == "worn" else 1.0)
    return np.clip(face, 0, 255), marks


def scene(seed: int, kind: str = "paper", unit: str = "mm", per_mm: float | None = None, angle: float | None = None,
          tilt: float | None = None) -> Rendered:
    """A piece with a ruler beside it. ``per_mm``: px a mm; ``angle``: degrees; ``tilt``: perspective, share of change
    of scale over 1,000 px."""
    rng = np.random.default_rng(seed)
    height, width = 1200, 1600
    back = cv2.resize(render(seed, "regular", size=60.0).image, (width, height)).astype(np.float32)
    per_mm = per_mm or float(rng.uniform(4.5, 14))
    angle = float(rng.choice([0, 90, 180, 270]) + rng.normal(0, 3)) if angle is None else angle
    tilt = float(rng.uniform(0, 0.06)) if tilt is None else tilt
    length = int(np.clip(0.62 * height / per_mm, 25, 150) // 10 * 10)
    face, _ = drawn(rng, kind, unit, length)
    a = np.deg2rad(angle)
    turn = per_mm * np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    middle = np.array([length / 2 + 4, 7])
    side = np.array([np.sin(a), -np.cos(a)]) if rng.random() < 0.5 else np.array([-np.sin(a), np.cos(a)])
    centre = np.array([width / 2, height / 2]) + side * rng.uniform(0, 0.25) * height
    flat = np.eye(3)
    flat[:2, :2], flat[:2, 2] = turn, centre - turn @ middle
    bend = np.eye(3)
    direction = rng.uniform(0, 2 * np.pi)
    bend[2, :2] = tilt / 1000 * np.array([np.cos(direction), np.sin(direction)])
    shift = np.array([[1, 0, width / 2], [0, 1, height / 2], [0, 0, 1.0]])
    plane = shift @ bend @ np.linalg.inv(shift) @ flat
    paste = plane @ np.diag([1 / FINE, 1 / FINE, 1.0])
    factor = per_mm / FINE
    soft = cv2.GaussianBlur(face.astype(np.float32), (0, 0), max(0.3, 0.45 / factor))
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    paste = np.linalg.inv(half) @ paste @ half
    lying = cv2.warpPerspective(soft, paste, (width, height), flags=cv2.INTER_LINEAR)
    there = cv2.warpPerspective(np.ones(face.shape[:2], np.float32), paste, (width, height))[:, :, None]
    image = back * (1 - there) + lying * there
    if kind == "covered":
        n = rng.uniform(0.3, 0.7) * length
        corner = plane @ np.array([n, -2, 1.0])
        radius = int(per_mm * rng.uniform(4, 7))
        cv2.circle(image, tuple(int(v) for v in corner[:2] / corner[2]), radius, (120, 96, 70), -1, cv2.LINE_AA)
    if kind == "steel":  # a streak of light over the ruler
        x = np.arange(width) - rng.uniform(0.2, 0.8) * width
        image += 45 * np.exp(-(x / 250) ** 2)[None, :, None] * there
    y = np.mgrid[0:height, 0:width][0] / height
    image = image * (0.9 + 0.2 * y)[:, :, None]
    image = cv2.GaussianBlur(image.astype(np.float32), (0, 0), 0.7) + rng.normal(0, 3.0, image.shape)
    coded = cv2.imencode(".jpg", np.clip(image, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 88])[1]
    return Rendered(np.asarray(cv2.imdecode(coded, 1)), plane, STEPS[unit])
