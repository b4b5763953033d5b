"""Rendered inscriptions with known zones: a height field in metal under raking light, or ink on paper.

Conventions: boxes (x, y, width, height) of the drawn strokes in pixels, columns from the right, top to bottom. Signs
are drawn with the brush fonts of ``tests/fonts`` (cuts of public-domain fonts; a sign that is drawn anew must be cut
out there first). FIT is what the finder was tuned on, HELD what it never saw.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

FONTS = Path(__file__).resolve().parents[1] / "fonts"
FIT = (FONTS / "KouzanBrushFontSousyo.ttf", FONTS / "kouzan-mouhitsu.ttf")
HELD = (FONTS / "aoyagi-soseki.ttf", FONTS / "AoyagiKouzanT.ttf", FONTS / "kouzan-mouhitsu-gyosho.ttf")
SIGNS = ("春夏秋冬花鳥風雪山水松竹梅里野原草木空雲雨露霜霞田川海浦岩谷千年行人心色音声夜朝夕友旅宿文書"
         "永安天宝政治嘉元正貞延享久之作住法橋斎翁")
KANA = "はるなつあきふゆやまみつかせのとりもすそしろくにほひてけりらむをよせたえこゑ"
KINDS = ("regular", "scattered", "worn")


@dataclass(frozen=True)
class Rendered:
    image: np.ndarray
    columns: list[list[tuple[float, float, float, float]]]

    @property
    def boxes(self):
        return [b for column in self.columns for b in column]


def glyph(sign: str, font: Path, size: int) -> np.ndarray | None:
    """The sign's ink as a float mask 0..1, cut to its strokes; None where the font has no strokes for it."""
    face = ImageFont.truetype(str(font), size)
    canvas = Image.new("L", (size * 2, size * 2))
    ImageDraw.Draw(canvas).text((size // 2, size // 4), sign, fill=255, font=face)
    mask = np.asarray(canvas, np.float32) / 255
    rows, columns = np.where(mask > 0.4)
    if len(rows) < 12:
        return None
    return mask[rows.min():rows.max() + 1, columns.min():columns.max() + 1]


def line(signs: str = "はるのやま") -> tuple[np.ndarray, list[tuple[float, float, float, float]]]:
    """One line of signs in ink, upright and clear, and their boxes."""
    page, boxes, y = np.full((520, 140), 235, np.uint8), [], 30
    for sign in signs:
        mark = glyph(sign, FIT[1], 70)
        h, w = mark.shape
        x = 70 - w // 2
        page[y:y + h, x:x + w] = (235 - 200 * mark).astype(np.uint8)
        boxes.append((float(x), float(y), float(w), float(h)))
        y += h + 18
    return page, boxes


def layout(rng, kind: str, fonts, size: float):
    """Signs placed on a field: the ink mask, wear per sign, and the boxes by column."""
    font = fonts[rng.integers(len(fonts))]
    signs = SIGNS if rng.random() < 0.5 else SIGNS + KANA * 2
    count, loose = int(rng.integers(2, 6)), kind == "scattered"
    pitch_x, longest = size * rng.uniform(1.35, 2.1), int(rng.integers(4, 9))
    edge = size * rng.uniform(1.3, 2.2)
    width = int(2 * edge + count * pitch_x)
    height = int(2 * edge + longest * size * 1.25 + (2.0 * size if loose else 0))
    ink, columns = np.zeros((height, width), np.float32), []
    for c in range(count):
        x = width - edge - pitch_x * (c + 0.5)
        y = edge + (rng.uniform(0, 2.4) * size if loose else 0) + (size * rng.uniform(0, 0.1))
        length = longest if c < count - 1 else int(rng.integers(2, longest + 1))
        length = int(rng.integers(3, longest + 1)) if loose else length
        lean, gap, boxes = rng.normal(0, 0.05 if loose else 0.01), rng.uniform(0.08, 0.25), []
        for _ in range(length):
            own = size * (rng.uniform(0.6, 1.25) if loose else rng.uniform(0.88, 1.1))
            mark = None
            while mark is None:
                mark = glyph(signs[rng.integers(len(signs))], font, max(10, int(own)))
            h, w = mark.shape
            left = int(x - w / 2 + rng.normal(0, 0.08 if loose else 0.03) * size)
            top = int(y)
            if top + h + 4 >= height - edge * 0.7 or left < 2 or left + w + 2 > width:
                break
            ink[top:top + h, left:left + w] = np.maximum(ink[top:top + h, left:left + w], mark)
            boxes.append((left, top, w, h))
            y += h + gap * size * (rng.uniform(0.5, 1.5))
            x += lean * size
        if boxes:
            columns.append(boxes)
    return ink, columns


def field(rng, shape, scale):
    """Smooth noise, zero mean, unit spread."""
    small = rng.normal(size=(max(2, int(shape[0] / scale) + 2), max(2, int(shape[1] / scale) + 2))).astype(np.float32)
    return cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)


def scratches(rng, shape, count, size):
    lines = np.zeros(shape, np.float32)
    for _ in range(count):
        p = rng.uniform(0, 1, 2) * shape[::-1]
        angle, length = rng.uniform(0, np.pi), size * rng.uniform(0.8, 6)
        q = p + length * np.array([np.cos(angle), np.sin(angle)])
        one = np.zeros(shape, np.float32)
        cv2.line(one, tuple(map(int, p)), tuple(map(int, q)), 1.0, 1, cv2.LINE_AA)
        lines = np.maximum(lines, one * rng.uniform(0.2, 0.8))
    return lines


def shadows(height, light):
    """Share of light that reaches each point: a walk towards the lamp over the height field (pixels)."""
    flat = np.hypot(light[0], light[1])
    rise, lit = light[2] / max(flat, 1e-3), np.ones_like(height)
    for step in range(1, 14):
        dx, dy = light[0] / flat * step, light[1] / flat * step
        moved = cv2.warpAffine(height, np.float32([[1, 0, -dx], [0, 1, -dy]]), height.shape[::-1],
                               flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        lit = np.minimum(lit, np.clip(1 - (moved - height - step * rise) * 2, 0, 1))
    return lit


def metal(rng, ink, kind, size, lamps=()):
    """Strokes cut as grooves into a plate with a frame, lit from one side; wear, pits, stains, scratches.

    ``lamps``: angles (radians, clockwise from the right) under which the same plate is shown, a list of pictures then.
    """
    inside = cv2.distanceTransform((ink > 0.4).astype(np.uint8), cv2.DIST_L2, 5)
    depth = np.minimum(inside, size * 0.05) * rng.uniform(0.9, 1.5)
    worn = 1.0 if kind != "worn" else np.clip(0.62 + 0.33 * field(rng, ink.shape, size * 2.5), 0.16, 1.0)
    height = -depth * worn + 0.06 * field(rng, ink.shape, 2) + 0.3 * field(rng, ink.shape, size * 0.8)
    count = rng.integers(25, 45) if kind == "worn" else rng.integers(3, 12)
    height -= 0.9 * scratches(rng, ink.shape, int(count), size)
    if kind == "worn":
        height -= np.clip(field(rng, ink.shape, size * 0.08) - 1.9, 0, 1) * 2.0
    if rng.random() < 0.5:
        m = int(size * 0.35)
        frame = np.zeros_like(ink)
        cv2.rectangle(frame, (m, m), (ink.shape[1] - m, ink.shape[0] - m), 1.0, 2)
        height -= frame * 1.5
    height = cv2.GaussianBlur(height, (0, 0), 0.8)
    angle, up = rng.uniform(0, 2 * np.pi), rng.uniform(0.4, 0.75)
    stain = np.clip(1 + (0.16 if kind == "worn" else 0.07) * field(rng, ink.shape, size * 1.7), 0.5, 1.4)
    tint = np.array([[0.62, 0.47, 0.34], [0.5, 0.5, 0.52], [0.4, 0.33, 0.28]][rng.integers(3)])
    green = np.clip(field(rng, ink.shape, size * 1.2) - 1.2, 0, 0.5)[:, :, None]
    pictures = [lit(height, one, up, stain, tint) * (1 - green) + green * np.array([90, 130, 110])
                for one in (lamps or (angle,))]
    return pictures if lamps else pictures[0]


def lit(height, angle, up, stain, tint):
    """A height field under a lamp: ``angle`` clockwise from the right, ``up`` the tangent of its height."""
    light = np.array([np.cos(angle), np.sin(angle), up]) / np.hypot(1, up)
    dy, dx = np.gradient(height)
    normal = np.stack([-dx, -dy, np.ones_like(height)], -1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    half = light + np.array([0, 0, 1.0])
    half /= np.linalg.norm(half)
    shade = 0.16 + 0.8 * np.clip(normal @ light, 0, 1) * shadows(height, light)
    shade += 0.35 * np.clip(normal @ half, 0, 1) ** 40
    y, x = np.mgrid[0:height.shape[0], 0:height.shape[1]]
    fall = 1 + 0.25 * ((x / height.shape[1] - 0.5) * light[0] + (y / height.shape[0] - 0.5) * light[1])
    return (shade * stain * fall)[:, :, None] * tint * 255


def paper(rng, ink, kind, size, light_writing=False):
    """Ink on paper, or light inlay on a dark ground; foxing, fading, fibres."""
    fade = 1.0 if kind != "worn" else np.clip(0.6 + 0.3 * field(rng, ink.shape, size * 2), 0.2, 1)
    ground = np.array([222, 208, 176.0]) * (1 + 0.03 * field(rng, ink.shape, size))[:, :, None]
    ground *= 1 - 0.1 * np.clip(field(rng, ink.shape, size * 0.7) - (0.8 if kind == "worn" else 1.5), 0, 1)[:, :, None]
    ground += 3 * rng.normal(size=(*ink.shape, 1))
    stroke = cv2.GaussianBlur(ink, (0, 0), 0.7)[:, :, None] * (fade if np.isscalar(fade) else fade[:, :, None])
    image = ground * (1 - stroke) + np.array([40, 36, 34.0]) * stroke
    return 245 - image * 0.8 if light_writing else image


def render(seed: int, kind: str = "regular", fonts=FIT, size: float | None = None, surface: str = "metal") -> Rendered:
    """One piece; ``surface`` is "metal", "paper" or "inlay"."""
    rng = np.random.default_rng(seed)
    size = size or float(rng.uniform(38, 90))
    ink, columns = layout(rng, kind, fonts, size)
    image = metal(rng, ink, kind, size) if surface == "metal" else paper(rng, ink, kind, size, surface == "inlay")
    image = cv2.GaussianBlur(image.astype(np.float32), (0, 0), 0.6) + rng.normal(0, 2.5, (*ink.shape, 3))
    return Rendered(np.clip(image, 0, 255).astype(np.uint8), columns)


def overlap(a, b) -> float:
    """Intersection over union of two boxes (x, y, width, height)."""
    w = min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0])
    h = min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1])
    both = max(0.0, w) * max(0.0, h)
    return both / (a[2] * a[3] + b[2] * b[3] - both)


def right(found, truth, least: float = 0.5) -> int:
    """How many true boxes have a found one of their own at IoU >= ``least``."""
    from scipy.optimize import linear_sum_assignment

    if not found or not truth:
        return 0
    table = np.array([[overlap(f, t) for t in truth] for f in found])
    rows, columns = linear_sum_assignment((table < least) - table * 1e-3)
    return int((table[rows, columns] >= least).sum())


def matched(found, truth, least: float = 0.5) -> list[bool]:
    """Whether each found box has a true one of its own at IoU >= ``least``."""
    from scipy.optimize import linear_sum_assignment

    good = np.zeros(len(found), bool)
    if found and truth:
        table = np.array([[overlap(f, t) for t in truth] for f in found])
        rows, columns = linear_sum_assignment((table < least) - table * 1e-3)
        good[rows] = table[rows, columns] >= least
    return good.tolist()


def calibration_error(sure, good, bins: int = 10) -> float:
    """Expected calibration error: how far the mean chance of each tenth is from its share right, by their numbers."""
    sure, good = np.asarray(sure, float), np.asarray(good, float)
    which = np.minimum((sure * bins).astype(int), bins - 1)
    return float(sum(abs((sure - good)[which == k].sum()) for k in range(bins)) / max(1, len(sure)))
