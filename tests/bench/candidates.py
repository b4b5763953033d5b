"""Candidates by shape: speed, real cursive kana, kanji of an unseen font. Run: python -m tests.bench.candidates

Conventions: ``bench()`` gives rows (name, value, unit, goal). READAID_KANA_REAL names an .npz of real crops (``images``
(n, 28, 28) white on black, ``labels``, ``kana``); such crops are for measuring only, never for training or for setting
a threshold. READAID_UNSEEN_FONT names a TrueType/OpenType font the model was not trained on: its kanji are
rendered clean and cut into metal by another renderer than the training's (carved V grooves from a distance
transform, three lamps, cast shadows). Rows without their data are left out.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import numpy as np

from readaid.glyphs import character_net
from readaid.glyphs.candidates import probabilities, suggest
from readaid.glyphs.classes import classes, sounds
from readaid.glyphs.references import reference
from readaid.glyphs.window import window

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


def real_kana(path: str) -> list[Row]:
    data = np.load(path, allow_pickle=False)
    windows = [window(i.astype(np.float32) / 255) for i in data["images"]]
    label = np.array([sounds().index(data["kana"][k]) for k in data["labels"]])
    rows: list[Row] = []
    kana = sound_shares(all_probabilities(windows, "kana"))
    place = ranks(kana, label)
    for k, goal in ((1, ">= 70"), (5, ">= 92"), (10, ">= 97")):
        rows.append((f"real kana among 48 sounds, first {k}", float((place < k).mean() * 100), "%", goal))
    held = np.minimum((np.sort(kana, 1)[:, ::-1].cumsum(1) < 0.9).sum(1) + 1, 48)
    rows.append(("set holding 90 %, mean size", float(held.mean()), "sounds", "<= 5"))
    rows.append(("set holding 90 %, coverage", float((place < held).mean() * 100), "%", ">= 90"))
    rows.append(("calibration error, 48 sounds", calibration(kana, label), "", "< 0.03"))
    every = sound_shares(all_probabilities(windows, "all"), kanji=True)
    place = ranks(every, label)
    for k, goal in ((5, ">= 88"), (10, ">= 95")):
        rows.append((f"real kana among kana and kanji, first {k}", float((place < k).mean() * 100), "%", goal))
    rows.append(("calibration error, kana and kanji", calibration(every, label), "", ""))
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
    return [("one crop, all views, one thread (processor time)", spent, "ms", "< 8"),
            ("model file", character_net.FILE.stat().st_size / 2**20, "MiB", "< 4")]


def bench() -> list[Row]:
    rows = speed()
    real, font = os.environ.get("READAID_KANA_REAL", ""), os.environ.get("READAID_UNSEEN_FONT", "")
    if real and Path(real).is_file():
        rows += real_kana(real)
    if font and Path(font).is_file():
        rows += unseen_font(font)
    return rows


if __name__ == "__main__":
    for name, value, unit, goal in bench():
        print(f"{name:52s} {value:9.3f} {unit:7s} {goal}")
