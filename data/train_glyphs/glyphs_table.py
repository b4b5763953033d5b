"""Tables of classes and fonts, and how often each glyph is drawn; no font library needed."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

# Unicode names several parents in their old form (滿 for ま). The class bears the form in daily use, drawn in both,
# since grass script hardly tells them apart. Pairs from Unihan kZVariant/kTraditionalVariant and common practice.
DAILY = {
    "禮": "礼",
    "爲": "為",
    "滿": "満",
    "惠": "恵",
    "與": "与",
    "處": "処",
    "數": "数",
    "當": "当",
    "氣": "気",
    "傳": "伝",
    "衞": "衛",
    "壽": "寿",
    "聲": "声",
    "惡": "悪",
    "寶": "宝",
    "遲": "遅",
    "兒": "児",
    "豐": "豊",
    "轉": "転",
    "邊": "辺",
    "隱": "隠",
    "樓": "楼",
}
# Further glyphs of a class that are not classes themselves.
SAME = {**DAILY, "尓": "爾", "尔": "爾", "曽": "曾", "祢": "禰", "邉": "辺", "邊": "辺"}
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
