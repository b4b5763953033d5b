"""Candidates by shape: speed, real cursive kana, kanji of an unseen font. Run: python -m tests.bench.candidates

Conventions: ``bench()`` gives rows (name, value, unit, goal). READAID_KANA_REAL names an .npz of real kana (``images``
(n, 28, 28) white on black, ``labels``, ``kana``), READAID_KANJI_REAL the file of real kanji that
``data/train_glyphs/real.py`` reads; only the crops left out of the training are looked at here, and nothing is set by
them. READAID_CROPS shortens the run of kanji. READAID_UNSEEN_FONT names a TrueType/OpenType font the model was not
trained on (else the 120 kanji of ``tests/fonts/ZhiMangXing.ttf``): its kanji are rendered clean and cut into metal by
another renderer than the training's (carved V grooves from a distance transform, three lamps, cast shadows). Rows
without their data are left out.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import numpy as np

from readaid.copies.calibration import wilson
from readaid.glyphs import character_net
from readaid.glyphs.candidates import probabilities, suggest
from readaid.glyphs.classes import classes, sounds
from readaid.glyphs.references import reference
from readaid.glyphs.window import window
from tests.fonts.make import UNSEEN

Row = tuple[str, float, str, str]


def sound_shares(shares, kanji=False):
    """(n, 48) summed over the letters of each sound; with ``kanji`` every kanji as a further column."""
    out = np.zeros((len(shares), 48))
    for c in classes():
        for s in c.sounds:
            out[:, sounds().index(s)] += shares[:, c.number] / len(c.sounds)
    if kanji:
        out = np.concatenate([out, shares[:, [c.number for c in classes() if c.kind == "kanji"]]], 1)
    return out


def ranks(shares, label):
    return (shares > shares[np.arange(len(label)), label][:, None]).sum(1)


def calibration(shares, label):
    """Expected calibration error of the first choice, 15 bins of equal width."""
    sure, right = shares.max(1), shares.argmax(1) == label
    bins = np.minimum((sure * 15).astype(int), 14)
    return float(sum(abs(right[bins == b].mean() - sure[bins == b].mean()) * (bins == b).mean() for b in set(bins)))


def all_probabilities(windows, among):
    return np.concatenate([probabilities(windows[i:i + 64], among)[0] for i in range(0, len(windows), 64)])


def training():
    """``data/train_glyphs/real.py``: how the crops were parted into training, choosing and examination."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "data" / "train_glyphs"))
    try:
        import real
    finally:
        del sys.path[0]
    return real


def told(good: np.ndarray) -> str:
    """Number of crops and Wilson's interval (95 in 100) of a share, in 100."""
    low, high = wilson(int(good.sum()), len(good))
    return f"n {len(good)}, {100 * low:.1f}-{100 * high:.1f}"


def placed(name: str, place: np.ndarray, goals: dict[int, str]) -> list[Row]:
    return [(f"{name}, first {k} ({told(place < k)})", float((place < k).mean() * 100), "%", goal)
            for k, goal in goals.items()]


def sets(name: str, shares: np.ndarray, place: np.ndarray, goal: tuple[str, str] = ("", "")) -> list[Row]:
    """Size and coverage of the set that holds 90 %; "none of these", the last column, may be of it."""
    held = np.minimum((np.sort(shares, 1)[:, ::-1].cumsum(1) < 0.9).sum(1) + 1, shares.shape[1])
    return [(f"{name}, set holding 90 %, mean size", float(held.mean()), "signs", goal[0]),
            (f"{name}, set holding 90 %, coverage ({told(place < held)})", float((place < held).mean() * 100), "%",
             goal[1])]


def real_kana(path: str) -> list[Row]:
    """Kana the training did not see: the crops left out for examination (40 in 100 of each of ten sounds)."""
    data, real = np.load(path, allow_pickle=False), training()
    left = np.array([real.kana_part(p) == real.EXAMINE for p in data["images"]])
    windows = [window(i.astype(np.float32) / 255) for i in data["images"][left]]
    label = np.array([sounds().index(data["kana"][k]) for k in data["labels"][left]])
    shares = all_probabilities(windows, "kana")
    kana = sound_shares(shares)
    place = ranks(kana, label)
    rows = placed("real kana among 48 sounds", place, {1: "", 5: "", 10: ""})
    whole = np.concatenate([kana, shares[:, -1:]], 1)
    rows += sets("real kana", whole, ranks(whole, label), ("< 4", ">= 90"))
    rows.append(("calibration error, 48 sounds", calibration(kana, label), "", "< 0.03"))
    every = sound_shares(all_probabilities(windows, "all"), kanji=True)
    place = ranks(every, label)
    rows += placed("real kana among kana and kanji", place, {1: "", 5: "", 10: ""})
    rows.append(("calibration error, real kana among kana and kanji", calibration(every, label), "", "< 0.03"))
    return rows


def real_kanji(path: str, most: int) -> list[Row]:
    """Kanji of the tenth that was left out, by how many crops of the character the training saw."""
    real = training()
    pictures, characters, part = real.read(Path(path))
    at = np.flatnonzero(part == real.EXAMINE)
    at = np.sort(np.random.default_rng(13).permutation(at)[:most])
    windows = [window(p.astype(np.float32) / 255) for p in pictures[at]]
    known = {c.character: c.number for c in classes()}
    label = np.array([known.get(c, -1) for c in characters[at]])  # -1: the training had no crop and the table no class
    crops = np.array([classes()[n].crops if n >= 0 else 0 for n in label])
    rows: list[Row] = []
    for among, goals in (("kanji", {1: ">= 90", 5: ">= 97", 10: ">= 98"}), ("all", {1: "", 5: "", 10: ""})):
        shares = all_probabilities(windows, among)
        own = np.where(label >= 0, shares[np.arange(len(label)), label], -1.0)
        place = np.where(label >= 0, (shares > own[:, None]).sum(1), 10**6)
        rows += placed(f"real kanji among {among}", place, goals)
        for low, high, goal in ((100, 999, {}), (20, 99, {}), (5, 19, {}), (1, 4, {1: ">= 60", 5: ">= 85"})):
            use = (crops >= low) & (crops <= high) & (label >= 0)
            if use.any():
                rows += placed(f"real kanji among {among}, {low}-{high} training crops", place[use],
                               {1: goal.get(1, ""), 5: goal.get(5, "")} if among == "kanji" else {1: "", 5: ""})
        rows += sets(f"real kanji among {among}", shares, place, ("< 4", ">= 90") if among == "kanji" else ("", ""))
        rows.append((f"calibration error, real kanji among {among}", calibration(shares[:, :-1], label), "",
                     "< 0.03" if among == "kanji" else ""))
    return rows


def cut(ink, rng):
    """Carved in metal: ink (n, n) bool -> grey 0..1; V grooves, three lamps, cast shadows, brushed ground."""
    from scipy import ndimage

    depth = np.minimum(ndimage.distance_transform_edt(ink), 4) * rng.uniform(0.5, 1.0)
    brushed = ndimage.gaussian_filter(rng.normal(size=ink.shape), (0.4, 6)) * rng.uniform(0.1, 0.5)
    height = ndimage.gaussian_filter(-depth, 0.8) + brushed
    dy, dx = np.gradient(height)
    normal = np.dstack([-dx, -dy, np.ones_like(dx)])
    normal /= np.linalg.norm(normal, axis=2, keepdims=True)
    grey = np.full(ink.shape, 0.08)
    for strength in (1.0, 0.35, 0.2):
        turn, up = rng.uniform(0, 2 * np.pi), rng.uniform(0.35, 0.9)
        lamp = np.array([np.cos(turn) * np.cos(up), np.sin(turn) * np.cos(up), np.sin(up)])
        shadow = np.zeros(ink.shape, bool)
        for step in range(1, 7):  # a wall towards the lamp that stands higher than the ray casts a shadow
            wall = ndimage.shift(height, (-lamp[1] * step, -lamp[0] * step), order=1, mode="nearest")
            shadow |= wall > height + step * np.tan(up)
        half = lamp + np.array([0.0, 0.0, 1.0])
        half /= np.linalg.norm(half)
        light = np.clip(normal @ lamp, 0, None) * 0.7 + np.clip(normal @ half, 0, None) ** 30 * 0.5
        grey += strength * light * np.where(shadow, 0.35, 1)
    grey = grey / grey.max() + rng.normal(0, 0.02, ink.shape)
    return np.clip(grey, 0, 1).astype(np.float32)


def unseen_font(path: str, many: int = 600) -> list[Row]:
    from PIL import Image, ImageDraw, ImageFont

    face = ImageFont.truetype(path, 110)
    blank = face.getmask("\U0010FFFD").getbbox()
    rng = np.random.default_rng(4)
    pages, label = [], []
    kanji = [c for c in classes() if c.kind == "kanji" and c.weight == 1]
    for c in rng.permutation(np.array(kanji, object)):
        page = Image.new("L", (160, 160), 0)
        ImageDraw.Draw(page).text((80, 80), c.character, font=face, fill=255, anchor="mm")
        box = page.getbbox()
        if box is None or face.getmask(c.character).getbbox() == blank:
            continue
        pages.append(np.pad(np.asarray(page.crop(box)), 8))
        label.append(c.number)
        if len(pages) == many:
            break
    rows: list[Row] = []
    for name, goals, look in (("clean", (">= 85", ">= 97"), lambda p: 1 - p.astype(np.float32) / 255),
                              ("cut in metal", (">= 70", ">= 88"), lambda p: cut(p > 127, rng))):
        shares = all_probabilities([window(look(p)) for p in pages], "kanji")[:, :-1]
        place = ranks(shares, np.array(label))
        for k, goal in zip((1, 5), goals, strict=True):
            rows.append((f"kanji of an unseen font, {name}, first {k}", float((place < k).mean() * 100), "%", goal))
    return rows


def speed() -> list[Row]:
    page = np.kron(reference("鶴").picture, np.ones((4, 4), np.uint8))
    suggest(page)
    start = time.process_time()
    for _ in range(60):
        suggest(page)
    spent = (time.process_time() - start) / 60 * 1000
    return [("one crop, all views, one thread (processor time)", spent, "ms", "< 10"),
            ("model file", character_net.FILE.stat().st_size / 1e6, "MB", "<= 8")]


def bench() -> list[Row]:
    rows = speed()
    real, font = os.environ.get("READAID_KANA_REAL", ""), os.environ.get("READAID_UNSEEN_FONT", str(UNSEEN))
    if real and Path(real).is_file():
        rows += real_kana(real)
    kanji = os.environ.get("READAID_KANJI_REAL", "")
    if kanji and Path(kanji).is_file():
        rows += real_kanji(kanji, int(os.environ.get("READAID_CROPS", 10**6)))
    if font and Path(font).is_file():
        rows += unseen_font(font)
    return rows


if __name__ == "__main__":
    for name, value, unit, goal in bench():
        print(f"{name:88s} {value:9.3f} {unit:7s} {goal}")
