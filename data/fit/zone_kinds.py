"""Pieces with all kinds of marks, drawn by us, and the fit of what a zone holds (``readaid/glyphs/zone_kinds.tsv``).

Conventions: a piece has columns of writing, often a signature at the left (lower, smaller), and by chance a monogram
under it, a seal, a figure, and marks that nobody wrote. Ink, seals in red, and cuts in metal by
``tests.photo.rendered`` (fonts FIT to fit on, HELD to examine; figures and monograms by seeds of their own). A zone
is what the mark is that it lies on by more than half of the smaller of the two; "not writing" where it lies on none.
Nothing here is a real piece.

Run from the repository: ``PYTHONPATH=. python -m data.fit.zone_kinds`` writes the table (an hour of one processor);
``examined`` is what ``tests.bench.zones`` runs.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from multiprocessing import Pool

import cv2
import numpy as np

from readaid.glyphs import zone_kinds
from readaid.photo import pitch
from readaid.photo.columns import propose
from readaid.script.kana import signs
from tests.photo import rendered

Mark = tuple[str, tuple[float, float, float, float]]
SIGNED = ("作", "住", "法橋", "斎", "翁", "春", "永", "安", "政", "文", "嘉", "元", "年")


def curves(rng: np.random.Generator, side: int, strokes: int, loops: float, width: float) -> np.ndarray:
    """Smooth swelling strokes in a square: a monogram's (few, looped) or a figure's."""
    page = np.zeros((side, side), np.float32)
    for _ in range(strokes):
        turn = rng.normal(0, 0.25) + rng.choice([-1, 1]) * loops * rng.uniform(0.1, 0.5)
        heading, step = rng.uniform(0, 2 * np.pi), side * rng.uniform(0.04, 0.09)
        at = rng.uniform(0.2, 0.8, 2) * side
        for n in range(int(rng.integers(8, 22))):
            to = at + step * np.array([np.cos(heading), np.sin(heading)])
            swell = width * side * (0.6 + 0.8 * np.sin(np.pi * (n + 1) / 16) ** 2)
            cv2.line(page, tuple(map(int, at)), tuple(map(int, to)), 1.0, max(1, round(swell)), cv2.LINE_AA)
            at, heading = to, heading + turn + rng.normal(0, 0.15)
    return page


def trimmed(page: np.ndarray) -> np.ndarray:
    rows, columns = np.where(page > 0.4)
    return page[rows.min():rows.max() + 1, columns.min():columns.max() + 1] if len(rows) > 20 else page


def monogram(rng: np.random.Generator, side: int, fonts) -> np.ndarray:
    """Two to four looped strokes between two level ones, or two kanji written into each other."""
    if rng.random() < 0.35:
        font = fonts[rng.integers(len(fonts))]
        parts = [rendered.glyph(rendered.SIGNS[rng.integers(len(rendered.SIGNS))], font, side) for _ in range(2)]
        page = np.zeros((2 * side, 2 * side), np.float32)
        for n, part in enumerate(p for p in parts if p is not None):
            h, w = part.shape
            y, x = int(n * 0.45 * side), int(side * rng.uniform(0.1, 0.4))
            page[y:y + h, x:x + w] = np.maximum(page[y:y + h, x:x + w], part[:2 * side - y, :2 * side - x])
        return trimmed(page)
    page = curves(rng, side, int(rng.integers(2, 5)), 1.0, rng.uniform(0.04, 0.09))
    for level in (0.1, 0.92):
        if rng.random() < 0.7:
            y = int(side * (level + rng.normal(0, 0.02)))
            cv2.line(page, (int(0.1 * side), y), (int(0.9 * side), y + int(rng.normal(0, 0.03) * side)), 1.0,
                     max(1, round(side * rng.uniform(0.04, 0.08))), cv2.LINE_AA)
    return trimmed(page)


def seal(rng: np.random.Generator, side: int, fonts) -> np.ndarray:
    """A square, round or jar-shaped frame round one to four signs, or the signs spared out of a filled one."""
    page, signs_ = np.zeros((side, side), np.float32), np.zeros((side, side), np.float32)
    shape, wide = rng.integers(3), max(2, round(side * rng.uniform(0.03, 0.07)))
    filled = rng.random() < 0.35
    if shape == 0:
        cv2.rectangle(page, (wide, wide), (side - wide - 1, side - wide - 1), 1.0, -1 if filled else wide)
    elif shape == 1:
        cv2.circle(page, (side // 2, side // 2), side // 2 - wide, 1.0, -1 if filled else wide, cv2.LINE_AA)
    else:
        cv2.ellipse(page, (side // 2, side // 2), (int(side * 0.36), side // 2 - wide), 0, 0, 360, 1.0,
                    -1 if filled else wide, cv2.LINE_AA)
    many = int(rng.integers(1, 5))
    across = 1 if many < 3 else 2
    cell = int(side * (0.6 if many == 1 else 0.36))
    for n in range(many):
        mark = rendered.glyph(rendered.SIGNS[rng.integers(len(rendered.SIGNS))], fonts[rng.integers(len(fonts))], cell)
        if mark is None:
            continue
        down = -(-many // across)
        cx, cy = side * (n // down + 1) / (across + 1), side * (n % down + 1) / (down + 1)
        h, w = min(mark.shape[0], side), min(mark.shape[1], side)
        y, x = int(np.clip(cy - h / 2, 0, side - h)), int(np.clip(cx - w / 2, 0, side - w))
        signs_[y:y + h, x:x + w] = np.maximum(signs_[y:y + h, x:x + w], mark[:h, :w])
    return np.clip(page - signs_, 0, 1) if filled else np.maximum(page, signs_)


def figure(rng: np.random.Generator, side: int) -> np.ndarray:
    """A branch with leaves, a flower, waves."""
    page, kind = np.zeros((side, side), np.float32), rng.integers(3)
    line = max(1, round(side * rng.uniform(0.015, 0.04)))
    if kind == 0:
        page = curves(rng, side, 2, 0.15, 0.025)
        for _ in range(int(rng.integers(4, 10))):
            at, angle = rng.uniform(0.15, 0.85, 2) * side, rng.uniform(0, 360)
            cv2.ellipse(page, tuple(map(int, at)), (int(side * 0.1), int(side * 0.035)), angle, 0, 360, 1.0,
                        -1 if rng.random() < 0.5 else line, cv2.LINE_AA)
    elif kind == 1:
        petals, middle = int(rng.integers(5, 9)), side // 2
        for n in range(petals):
            angle = 2 * np.pi * n / petals
            at = (int(middle + 0.26 * side * np.cos(angle)), int(middle + 0.26 * side * np.sin(angle)))
            cv2.ellipse(page, at, (int(side * 0.18), int(side * 0.1)), float(np.degrees(angle)), 0, 360, 1.0, line,
                        cv2.LINE_AA)
        cv2.circle(page, (middle, middle), max(2, int(side * 0.06)), 1.0, -1, cv2.LINE_AA)
    else:
        for row in range(int(rng.integers(3, 6))):
            for n in range(5):
                cv2.ellipse(page, (int(side * (n + row % 2 / 2) / 4), int(side * (0.2 + 0.16 * row))),
                            (side // 8, side // 9), 0, 180, 360, 1.0, line, cv2.LINE_AA)
    return trimmed(page)


def nothing(rng: np.random.Generator, side: int) -> np.ndarray:
    """Bundles of scratches, a rivet, a dent, a ruling's end."""
    page, kind = np.zeros((side, side), np.float32), rng.integers(3)
    if kind == 0:
        angle = rng.uniform(0, np.pi)
        for _ in range(int(rng.integers(3, 9))):
            a = rng.uniform(0.1, 0.9, 2) * side
            b = a + side * rng.uniform(0.3, 0.8) * np.array([np.cos(angle), np.sin(angle)])
            cv2.line(page, tuple(map(int, a)), tuple(map(int, b)), 1.0, 1, cv2.LINE_AA)
            angle += rng.normal(0, 0.2)
    elif kind == 1:
        cv2.circle(page, (side // 2, side // 2), int(side * rng.uniform(0.15, 0.4)), 1.0, -1, cv2.LINE_AA)
    else:
        rough = cv2.GaussianBlur(rng.normal(size=(side, side)).astype(np.float32), (0, 0), side * 0.05)
        page = (rough > np.percentile(rough, 75)).astype(np.float32)
        page *= np.hypot(*(np.mgrid[:side, :side] / side - 0.5)) < 0.45
    return trimmed(page)


def piece(seed: int, fonts) -> tuple[np.ndarray, list[Mark]]:
    """A picture and what is on it."""
    rng = np.random.default_rng(seed)
    size = float(rng.uniform(40, 80))
    font, surface = fonts[rng.integers(len(fonts))], ("metal", "metal", "paper")[rng.integers(3)]
    count, longest = int(rng.integers(1, 5)), int(rng.integers(3, 8))
    edge, across = size * rng.uniform(1.0, 2.0), size * rng.uniform(1.4, 2.0)
    width = int(2 * edge + across * (count + 3.5))
    height = int(2 * edge + size * 1.3 * (longest + 2.5))
    ink, red, marks_ = np.zeros((height, width), np.float32), np.zeros((height, width), np.float32), []

    def lay(mark: np.ndarray | None, x: float, y: float, what: str, into: np.ndarray = ink) -> float:
        """Lay a mark with its middle at x and its top at y; returns its height, 0 where there is no room."""
        if mark is None:
            return 0.0
        h, w = mark.shape
        left, top = int(x - w / 2), int(y)
        if left < 2 or top < 2 or left + w + 2 > width or top + h + 2 > height:
            return 0.0
        if (np.maximum(ink, red)[top:top + h, left:left + w] > 0.3).any() and what != "nothing":
            return 0.0
        into[top:top + h, left:left + w] = np.maximum(into[top:top + h, left:left + w], mark)
        marks_.append((what, (float(left), float(top), float(w), float(h))))
        return float(h)

    pool = signs("".join(rendered.SIGNS) if rng.random() < 0.4 else rendered.KANA + rendered.SIGNS[:20])
    for c in range(count):
        x, y = width - edge - across * (c + 0.5), edge + size * rng.uniform(0, 0.3)
        for _ in range(longest if c < count - 1 else int(rng.integers(1, longest + 1))):
            own = max(12, int(size * rng.uniform(0.85, 1.1)))
            high = lay(rendered.glyph(pool[rng.integers(len(pool))], font, own), x + rng.normal(0, 0.03) * size, y,
                       "writing")
            y += (high or own) + size * rng.uniform(0.08, 0.25)
    x = width - edge - across * (count + rng.uniform(0.5, 1.0))
    y = edge + size * rng.uniform(0.5, 3.0)
    small = rng.uniform(0.55, 0.95)
    if rng.random() < 0.75:
        for _ in range(int(rng.integers(2, 5))):
            own = max(12, int(size * small))
            sign = SIGNED[rng.integers(len(SIGNED))][0]
            y += (lay(rendered.glyph(sign, font, own), x, y, "signature") or own) + size * rng.uniform(0.05, 0.2)
    if rng.random() < 0.6:
        y += size * rng.uniform(0.1, 0.6)
        y += lay(monogram(rng, int(size * rng.uniform(0.9, 1.7)), fonts), x, y, "monogram")
    if rng.random() < 0.5:
        into = red if surface == "paper" and rng.random() < 0.7 else ink
        place = (x, y + size * rng.uniform(0.1, 0.7)) if rng.random() < 0.6 else (
            rng.uniform(0.1, 0.9) * width, rng.uniform(0.6, 0.9) * height)
        lay(seal(rng, int(size * rng.uniform(0.7, 1.6)), fonts), *place, "seal", into)
    for _ in range(int(rng.integers(0, 3))):
        lay(figure(rng, int(size * rng.uniform(1.0, 3.2))), rng.uniform(0.05, 0.95) * width,
            rng.uniform(0.05, 0.8) * height, "figure")
    for _ in range(int(rng.integers(0, 4))):
        lay(nothing(rng, int(size * rng.uniform(0.5, 1.2))), rng.uniform(0.05, 0.95) * width,
            rng.uniform(0.05, 0.9) * height, "nothing")
    kind = "worn" if rng.random() < 0.35 else "regular"
    image = rendered.metal(rng, ink, kind, size) if surface == "metal" else rendered.paper(rng, ink, kind, size)
    stamp = cv2.GaussianBlur(red, (0, 0), 0.7)[:, :, None]
    image = image * (1 - 0.85 * stamp) + 0.85 * stamp * np.array([186, 52, 40.0])
    image = cv2.GaussianBlur(image.astype(np.float32), (0, 0), 0.6) + rng.normal(0, 2.5, (*ink.shape, 3))
    return np.clip(image, 0, 255).astype(np.uint8), marks_


def label(box: tuple[float, float, float, float], marks_: list[Mark]) -> str:
    """What a zone lies on."""
    best, kind = 0.5, "not writing"
    for what, (x, y, w, h) in marks_:
        a = max(0.0, min(x + w, box[0] + box[2]) - max(x, box[0]))
        b = max(0.0, min(y + h, box[1] + box[3]) - max(y, box[1]))
        share = a * b / min(w * h, box[2] * box[3])
        if share > best:
            best, kind = share, "not writing" if what == "nothing" else what
    return kind


def seen(seed: int, fonts) -> tuple[np.ndarray, list[str], list[Mark], list[tuple[float, ...]]]:
    """Features and true kinds of the zones found on a piece, all its marks, the zones."""
    cv2.setNumThreads(1)
    image, marks_ = piece(seed, fonts)
    columns = [[pitch.box(z) for z in c.zones if not z.guess] for c in propose(image)]
    boxes = [b for c in columns for b in c]
    return zone_kinds.features(image, columns), [label(b, marks_) for b in boxes], marks_, boxes


def fit_one(seed: int):
    return seen(seed, rendered.FIT)


def held_one(seed: int):
    return seen(seed, rendered.HELD)


def rows(work, seeds: range) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    with Pool(os.cpu_count()) as pool:
        for x, kinds, _, _ in pool.imap(work, seeds, chunksize=2):
            if len(x):
                yield x, np.array([zone_kinds.KINDS.index(k) for k in kinds])


def fit(x: np.ndarray, y: np.ndarray, much: float) -> np.ndarray:
    """Weights (features, kinds) of a multinomial logistic regression, held small by ``much``."""
    from scipy.optimize import minimize

    spread = x.std(0)
    spread[0] = 1.0
    z, want = x / np.maximum(spread, 1e-6), np.eye(len(zone_kinds.KINDS))[y]

    def cost(flat):
        w = flat.reshape(x.shape[1], -1)
        p = z @ w
        p -= p.max(1, keepdims=True)
        log = p - np.log(np.exp(p).sum(1, keepdims=True))
        slope = z.T @ (np.exp(log) - want) / len(y) + 2 * much * w
        return -(log * want).sum() / len(y) + much * (w**2).sum(), slope.ravel()

    found = minimize(cost, np.zeros(x.shape[1] * len(zone_kinds.KINDS)), jac=True, method="L-BFGS-B",
                     options={"maxiter": 800})
    return found.x.reshape(x.shape[1], -1) / np.maximum(spread, 1e-6)[:, None]


def main() -> None:
    parts = [tuple(np.concatenate(p) for p in zip(*rows(fit_one, s), strict=True))
             for s in (range(1000, 2200), range(2200, 2500))]
    (x, y), (cx, cy) = parts
    best = None
    for much in (1e-4, 3e-4, 1e-3, 3e-3):
        w = fit(x, y, much)
        p = cx @ w
        p -= p.max(1, keepdims=True)
        loss = float(-(p - np.log(np.exp(p).sum(1, keepdims=True)))[np.arange(len(cy)), cy].mean())
        print(much, round(loss, 4), "right", round(float((p.argmax(1) == cy).mean()), 4), flush=True)
        best = min(best or (9.0, None), (loss, much))
    w = fit(np.concatenate([x, cx]), np.concatenate([y, cy]), best[1])
    lines = ["# What a zone holds: weights of a multinomial logistic regression over glyphs.zone_kinds.FEATURES.",
             f"# Fitted by data/fit/zone_kinds.py on {len(y) + len(cy)} zones of pieces that we drew; no real piece.",
             "\t".join(("feature", *zone_kinds.KINDS))]
    lines += ["\t".join((name, *(f"{v:.4f}" for v in row))) for name, row in zip(zone_kinds.FEATURES, w, strict=True)]
    zone_kinds.FILE.write_text("\n".join([*lines, ""]), encoding="utf-8")


if __name__ == "__main__":
    main()
