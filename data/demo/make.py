"""Make the demo photographs: an invented inscription cut in a worn, stained copper-alloy plate.

A height field in millimetres (plate, bevel, frame line, V-shaped cuts, wear, scratches, pits) is lit from one
side (Lambert + highlight + cast shadows) and photographed with noise. Nothing here is a picture of a real object;
piece, verse, makers and monograms are invented.

    python data/demo/make.py                 # writes the photographs beside this script
    python data/demo/make.py --to DIR --pixels-per-mm 8

Draws with cuts of public-domain brush fonts (``tests/fonts``, so it runs in a checkout). Conventions: millimetres in
the scene; the seed fixes every random choice; truth zones are written as full-size pixels (x, y, width, height).
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

HERE = Path(__file__).resolve().parent
FONTS = HERE.parents[1] / "tests" / "fonts"
GRASS = "KouzanBrushFontSousyo.ttf"
RUNNING = "kouzan-mouhitsu-gyosho.ttf"
Array = NDArray[np.float32]
SEED = 20260
PLATE = (62.0, 41.0)  # mm
MARGIN = 7.0  # mm of felt round the plate; the scale card lies in the lower one


@dataclass(frozen=True)
class Sign:
    """A sign to cut: the glyph drawn, its font, centre and size in mm on the plate, depth factor, wear 0..1."""

    key: str
    glyph: str
    font: str
    x: float
    y: float
    size: float
    depth: float = 1.0
    wear: float = 0.0


def verse_signs() -> list[Sign]:
    """Three columns of the verse, right to left; (letter drawn as the grass form of its parent kanji, or kana)."""
    columns = ["須ゝ者良飛止", "飛良能う良尓", "王良飛こ衛"]
    worn = {"飛良能う良尓": {3: 0.55, 4: 0.35}, "王良飛こ衛": {4: 0.45}}
    out = []
    for c, text in enumerate(columns):
        x, y = 50.5 - 16.5 * c, 3.2 + (1.0, 0.0, 3.2)[c]
        for i, g in enumerate(text):
            size = {"ゝ": 5.0, "こ": 5.6}.get(g, 6.6)
            step = {"ゝ": 3.6, "こ": 5.6}.get(g, 5.95)
            jitter = ((i * 7 + c * 5) % 5 - 2) * 0.22
            out.append(Sign(f"{c}-{i}", g, GRASS, x + jitter, y + step / 2, size, wear=worn.get(text, {}).get(i, 0.1)))
            y += step
    return out


def signature_signs() -> list[Sign]:
    """Date and signature in two columns, the monogram below them to the left."""
    out = []
    for c, (text, size) in enumerate((("文政己丑季冬", 4.6), ("霜野鷺汀鐫之", 5.2))):
        y = 3.6 + 2.4 * c
        for i, g in enumerate(text):
            x = 47.0 - 14.0 * c + ((i * 3 + c) % 4 - 1.5) * 0.25
            out.append(Sign(f"{c}-{i}", g, RUNNING, x, y + size / 2, size, wear=0.12 if c == 0 else 0.2))
            y += size * 1.05
    return out


#: The monogram's strokes on a 10 x 10 grid (polylines, smoothed): invented. Pupils' forms vary it, see ``variant``.
MONOGRAM = (
    ((1.0, 2.2), (4.8, 1.6), (9.0, 2.0)),
    ((5.0, 0.4), (4.4, 3.0), (2.4, 5.6), (1.2, 7.0)),
    ((3.4, 4.2), (6.4, 3.8), (7.6, 5.0), (6.2, 6.6), (3.8, 6.2), (3.4, 4.2)),
    ((6.8, 6.4), (7.4, 8.0), (9.2, 8.4)),
    ((0.8, 9.0), (5.0, 8.4), (9.6, 9.4)),
    ((8.6, 4.0), (8.9, 4.4)),
)


def variant(rng: np.random.Generator, spread: float, drop: int | None = None, extra: bool = False) -> list[Array]:
    """Strokes of one impression: control points moved by ``spread`` (grid units), a stroke dropped or a dot added."""
    strokes = [np.asarray(s, np.float32) + rng.normal(0, spread, (len(s), 2)).astype(np.float32) for s in MONOGRAM]
    if drop is not None:
        strokes.pop(drop)
    if extra:
        strokes.append(np.asarray([(2.0, 3.6), (2.3, 4.0)], np.float32))
    return strokes


def draw_strokes(mask: Array, strokes: list[Array], x: float, y: float, size: float, ppm: float) -> None:
    """Draw smooth strokes of swelling width into ``mask`` (1 = cut); x, y is the top-left in mm."""
    for stroke in strokes:
        t = np.linspace(0, len(stroke) - 1, 400)
        k = np.arange(len(stroke))
        pts = np.stack([_smooth(np.interp(t, k, stroke[:, d])) for d in (0, 1)], 1)
        for i, (px, py) in enumerate(pts):
            width = (0.045 + 0.035 * np.sin(np.pi * (0.15 + 0.8 * i / len(pts)))) * size
            centre = (round((x + px * size / 10) * ppm * 16), round((y + py * size / 10) * ppm * 16))
            cv2.circle(mask, centre, max(16, int(width * ppm * 8)), 1.0, -1, cv2.LINE_AA, 4)


def _smooth(values: NDArray[np.float64]) -> NDArray[np.float64]:
    padded = np.pad(values, 30, mode="edge")
    return np.convolve(padded, np.ones(61) / 61, "valid")


def glyph_mask(sign: Sign, shape: tuple[int, int], ppm: float) -> tuple[Array, tuple[float, float, float, float]]:
    """Mask (H, W) of one sign on the plate and its ink box in plate pixels."""
    font = ImageFont.truetype(str(FONTS / sign.font), max(8, int(sign.size * ppm)))
    image = Image.new("L", (shape[1], shape[0]))
    draw = ImageDraw.Draw(image)
    left, top, right, bottom = draw.textbbox((0, 0), sign.glyph, font=font)
    if right <= left or bottom <= top:
        raise ValueError(f"the font has no outline for {sign.glyph}")
    at = (sign.x * ppm - (left + right) / 2, sign.y * ppm - (top + bottom) / 2)
    draw.text(at, sign.glyph, fill=255, font=font)
    mask = np.asarray(image, np.float32) / 255
    ys, xs = np.nonzero(mask > 0.3)  # the font's own box is as wide as the advance, not as the ink
    return mask, (float(xs.min()), float(ys.min()), float(np.ptp(xs) + 1), float(np.ptp(ys) + 1))


def noise(shape: tuple[int, int], rng: np.random.Generator, cell: float, octaves: int = 4) -> Array:
    """Cloud noise 0..1; ``cell`` is the size of the coarsest cloud in pixels."""
    total = np.zeros(shape, np.float32)
    weight = 0.0
    for o in range(octaves):
        step = max(1.0, cell / 2**o)
        small = rng.random((int(shape[0] / step) + 2, int(shape[1] / step) + 2)).astype(np.float32)
        total += cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC) * 0.5**o
        weight += 0.5**o
    total /= weight
    return (total - total.min()) / max(1e-6, float(total.max() - total.min()))


def cut(height: Array, mask: Array, ppm: float, depth: float, wear: Array | float) -> None:
    """Take a V-shaped groove out of ``height`` (mm) under ``mask``; wear fills and softens it."""
    inside = cv2.distanceTransform((mask > 0.5).astype(np.uint8), cv2.DIST_L2, 5) / ppm
    inside = cv2.GaussianBlur(inside, (0, 0), 0.05 * ppm)  # the binary mask would leave steps on level strokes
    groove = np.minimum(inside * 1.5, 0.32) * depth
    burr = cv2.GaussianBlur(mask, (0, 0), 0.12 * ppm) * 0.03 * (1 - (mask > 0.5))
    height += (burr - groove) * (1 - wear)


def build_plate(signs: list[Sign], ppm: float, rng: np.random.Generator, kao: list[Array] | None
                ) -> tuple[Array, dict[str, list[float]]]:
    """Height field of the plate in mm and the ink box of each sign in plate pixels."""
    h, w = int(PLATE[1] * ppm), int(PLATE[0] * ppm)
    yy, xx = np.mgrid[0:h, 0:w].astype(np.float32)
    edge = np.minimum.reduce([xx, w - 1 - xx, yy, h - 1 - yy]) / ppm
    height = np.minimum(edge, 1.2) * 0.5 - 0.6 * (((xx / w - 0.5) ** 2) + ((yy / h - 0.5) ** 2))
    frame = ((edge > 2.0) & (edge < 2.22)).astype(np.float32)
    cut(height, frame, ppm, 0.5, 0.3)
    boxes: dict[str, list[float]] = {}
    for sign in signs:
        mask, box = glyph_mask(sign, (h, w), ppm)
        patchy = np.clip(sign.wear + 0.9 * sign.wear * (noise((h, w), rng, 2.5 * ppm, 2) - 0.3), 0, 0.93)
        cut(height, mask, ppm, sign.depth, patchy)
        boxes[sign.key] = list(box)
    if kao is not None:
        mask = np.zeros((h, w), np.float32)
        x, y, size = 13.5, 24.5, 10.5
        draw_strokes(mask, kao, x, y, size, ppm)
        cut(height, mask, ppm, 1.0, 0.15)
        ys, xs = np.nonzero(mask > 0.5)
        boxes["kao"] = [float(xs.min()), float(ys.min()), float(np.ptp(xs)) + 1, float(np.ptp(ys)) + 1]
    for _ in range(90):  # scratches from use
        a = rng.uniform((0, 0), (w, h))
        angle, length = rng.normal(0.5, 0.7), rng.gamma(2.0, 4.0) * ppm
        b = a + length * np.array([np.cos(angle), np.sin(angle)])
        line = np.zeros((h, w), np.uint8)
        cv2.line(line, (int(a[0]), int(a[1])), (int(b[0]), int(b[1])), 255, 1, cv2.LINE_AA)
        height -= line.astype(np.float32) / 255 * rng.uniform(0.004, 0.02)
    pits = noise((h, w), rng, 0.5 * ppm, 2) * noise((h, w), rng, 9 * ppm, 2)
    height -= np.clip(pits - 0.45, 0, 1) * 0.10
    height += (noise((h, w), rng, 0.8 * ppm, 3) - 0.5) * 0.012
    return cv2.GaussianBlur(height, (0, 0), 0.035 * ppm), boxes


def albedo_of(shape: tuple[int, int], ppm: float, rng: np.random.Generator) -> Array:
    """Colour (H, W, 3) 0..1 of brown patina with dark stain and traces of green."""
    base = np.array([0.47, 0.34, 0.24], np.float32)
    tone = 0.8 + 0.4 * noise(shape, rng, 12 * ppm)
    colour = base * tone[..., None]
    stain = np.clip(noise(shape, rng, 16 * ppm, 5) * 2.1 - 0.9, 0, 1)[..., None]
    colour = colour * (1 - 0.62 * stain) + np.array([0.08, 0.06, 0.05], np.float32) * 0.62 * stain
    green = np.clip(noise(shape, rng, 7 * ppm, 5) * 2.2 - 1.5, 0, 1)[..., None]
    return (colour * (1 - 0.6 * green) + np.array([0.28, 0.40, 0.33], np.float32) * 0.6 * green).astype(np.float32)


def shadows(height: Array, light: Array, ppm: float) -> Array:
    """1 where the lamp is hidden behind higher metal within 2.5 mm, softened."""
    shade = np.zeros_like(height)
    flat = float(np.hypot(light[0], light[1]))
    rise = float(light[2]) / max(flat, 1e-6)
    h, w = height.shape
    for step in np.linspace(0.06, 2.5, 28):
        dx, dy = light[0] / flat * step * ppm, light[1] / flat * step * ppm
        moved = cv2.warpAffine(height, np.float32([[1, 0, -dx], [0, 1, -dy]]), (w, h), borderMode=cv2.BORDER_REPLICATE)
        np.maximum(shade, np.clip((moved - height - rise * step) * 40, 0, 1), out=shade)
    return cv2.GaussianBlur(shade, (0, 0), 0.04 * ppm)


def photograph(height: Array, albedo: Array, light: tuple[float, float, float], ppm: float,
               rng: np.random.Generator) -> NDArray[np.uint8]:
    """Light the plate and lay it on felt with a scale card; returns (H, W, 3) uint8."""
    to_lamp = np.asarray(light, np.float32)
    to_lamp /= np.linalg.norm(to_lamp)
    gy, gx = np.gradient(height * ppm)
    normal = np.dstack([-gx, -gy, np.ones_like(height)])
    normal /= np.linalg.norm(normal, axis=2, keepdims=True)
    lit = np.clip(normal @ to_lamp, 0, None) * (1 - 0.8 * shadows(height, to_lamp, ppm))
    half = to_lamp + np.array([0, 0, 1], np.float32)
    shine = np.clip(normal @ (half / np.linalg.norm(half)), 0, None) ** 40
    plate = albedo * (0.16 + 1.25 * lit[..., None]) + 0.20 * shine[..., None]
    m = int(MARGIN * ppm)
    scene = np.empty((height.shape[0] + 2 * m, height.shape[1] + 2 * m, 3), np.float32)
    scene[:] = np.array([0.11, 0.11, 0.12]) * (0.8 + 0.4 * noise(scene.shape[:2], rng, 0.3 * ppm, 2)[..., None])
    scene[m:-m, m:-m] = plate
    _scale_card(scene, m, ppm)
    yy, xx = np.mgrid[0:scene.shape[0], 0:scene.shape[1]].astype(np.float32)
    fall = 1 + 0.22 * ((xx / scene.shape[1] - 0.5) * to_lamp[0] + (yy / scene.shape[0] - 0.5) * to_lamp[1])
    scene *= fall[..., None]
    scene = cv2.GaussianBlur(scene, (0, 0), 0.018 * ppm)
    scene += rng.normal(0, 0.012, scene.shape).astype(np.float32)
    picture: NDArray[np.uint8] = (np.clip(scene, 0, 1) ** (1 / 1.6) * 255).astype(np.uint8)
    return picture


def _scale_card(scene: Array, m: int, ppm: float) -> None:
    """A grey card with a 30 mm rule in 1 and 5 mm steps, in the lower margin."""
    top, left = scene.shape[0] - m + int(1.2 * ppm), m + int(2 * ppm)
    scene[top:top + int(4.6 * ppm), left - int(1.5 * ppm):left + int(35 * ppm)] = 0.62
    for mm in range(31):
        x = left + round(mm * ppm)
        long = 2.6 if mm % 10 == 0 else 1.9 if mm % 5 == 0 else 1.1
        scene[top:top + int(long * ppm), x:x + max(1, int(0.12 * ppm))] = 0.05
    digits = np.zeros(scene.shape[:2], np.uint8)
    for mm in (0, 10, 20, 30):
        cv2.putText(digits, str(mm), (left + int(mm * ppm) + int(0.4 * ppm), top + int(4.1 * ppm)),
                    cv2.FONT_HERSHEY_SIMPLEX, ppm / 18, 255, max(1, int(ppm / 14)), cv2.LINE_AA)
    scene *= 1 - 0.9 * digits[..., None].astype(np.float32) / 255


#: Name of the lamp's side and the direction towards it (x right, y down, z to the camera).
LIGHTS = {"left": (-0.86, -0.18, 0.48), "top": (0.10, -0.88, 0.47), "right": (0.87, -0.12, 0.48),
          "bottom": (-0.12, 0.87, 0.48)}


def make(to: Path, ppm: float = 26.0) -> dict[str, object]:
    """Write all photographs and ``truth.json`` into ``to``; returns the truth."""
    to.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(SEED)
    m = int(MARGIN * ppm)
    truth: dict[str, object] = {"pixels_per_mm": ppm, "lights": LIGHTS, "rule_mm": 30.0,
                                "rule_ends": [[m + int(2 * ppm), 0.0], [m + int(32 * ppm), 0.0]]}
    sides = {"verse": list(LIGHTS), "signature": ["left", "top"]}
    for name, signs in (("verse", verse_signs()), ("signature", signature_signs())):
        kao = variant(np.random.default_rng(1), 0.0) if name == "signature" else None
        height, boxes = build_plate(signs, ppm, rng, kao)
        albedo = albedo_of(height.shape, ppm, rng)
        for side in sides[name]:
            picture = photograph(height, albedo, LIGHTS[side], ppm, rng)
            Image.fromarray(picture).save(to / f"{name}_{side}.jpg", quality=86)
        y = picture.shape[0] - m + int(1.6 * ppm)
        truth["rule_ends"] = [[p[0], float(y)] for p in truth["rule_ends"]]  # type: ignore[index,attr-defined]
        truth[name] = {"size": [picture.shape[1], picture.shape[0]],
                       "signs": {s.key: s.glyph for s in signs},
                       "boxes": {k: [round(b[0] + m, 1), round(b[1] + m, 1), round(b[2], 1), round(b[3], 1)]
                                 for k, b in boxes.items()}}
    _specimens(to, ppm * 0.6)
    (to / "truth.json").write_text(json.dumps(truth, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return truth


#: Specimens of the invented school: (file, spread of the control points, stroke dropped, dot added).
SPECIMENS = (("rotei_1", 0.08, None, False), ("rotei_2", 0.14, None, False), ("rosetsu_1", 0.32, None, True),
             ("rosetsu_2", 0.34, None, True), ("roseki_1", 0.42, 3, False), ("roseki_2", 0.44, 3, False))


def _specimens(to: Path, ppm: float) -> None:
    """Photographs of single monograms of the school, each 14 x 14 mm."""
    for n, (name, spread, drop, extra) in enumerate(SPECIMENS):
        hand = np.random.default_rng(100 + n // 2)  # both forms of one maker share the hand's habit
        rng = np.random.default_rng(500 + n)
        size = int(14 * ppm)
        strokes = variant(hand, spread, drop, extra)
        strokes = [s + rng.normal(0, 0.07, s.shape).astype(np.float32) for s in strokes]
        mask = np.zeros((size, size), np.float32)
        draw_strokes(mask, strokes, 2.0, 2.0, 10.0, ppm)
        height = (noise((size, size), rng, 0.8 * ppm, 3) - 0.5) * 0.014
        cut(height, mask, ppm, 1.0, 0.1)
        height = cv2.GaussianBlur(height, (0, 0), 0.04 * ppm)
        picture = photograph(height, albedo_of((size, size), ppm, rng), LIGHTS["left"], ppm, rng)
        m = int(MARGIN * ppm)
        Image.fromarray(picture[m:-m, m:-m]).save(to / f"specimen_{name}.jpg", quality=86)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--to", type=Path, default=HERE / "photos")
    parser.add_argument("--pixels-per-mm", type=float, default=26.0)
    chosen = parser.parse_args()
    make(chosen.to, chosen.pixels_per_mm)
