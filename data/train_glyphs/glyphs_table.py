"""Tables of classes and fonts, and how often each glyph is drawn; no font library needed."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

COLUMN = {"hiragana": "kana", "katakana": "kana", "letter": "letter", "kanji": "kanji"}


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8") as file:
        return list(csv.DictReader((line for line in file if not line.startswith("#")), delimiter="\t"))


def categories(
    classes: list[dict[str, str]], fonts: list[dict[str, str]], labels: np.ndarray, numbers: np.ndarray, role: str
) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """For each category the glyph numbers and their weights: class weight (dampened) times font weight."""
    kind = np.array([c["kind"] for c in classes])[labels]
    common = np.array([float(c["weight"]) for c in classes])[labels] ** 0.6
    ok = np.array([f["role"] == role for f in fonts])[numbers]
    out = {}
    for name, column in COLUMN.items():
        font = np.array([float(f[column]) for f in fonts])[numbers]
        # a parent kanji is drawn as a letter of kana and as a kanji
        belongs = (kind == name) | ((name == "kanji") & (kind == "letter"))
        use = np.flatnonzero(ok & belongs & (font > 0))
        if not len(use):
            continue
        total = np.bincount(labels[use], font[use], len(classes))
        out[name] = (use, common[use] * font[use] / total[labels[use]])
    return out
