"""Real flowing script, read with nobody helping: columns of a handscroll against a modern edition's text.

    READAID_SCROLL=FOLDER python -m tests.bench scroll

Conventions: the folder holds ``scroll_panels.tsv`` (picture's name without ending, edited text) and the pictures.
Wrong is the edit distance of the signs read from the signs of the edited text, over its length. Signs are compared as
in ``tests.bench.rendered``: voicing, old and new kanji, letters of one kana are one. The edition writes kanji where
the scroll may have kana and the other way round, so that no reading comes out at 0. An interval is of signs taken one
by one (bootstrap of the aligned signs), which flatters: the signs of one panel are by one hand.
"""

from __future__ import annotations

import os
import unicodedata
from pathlib import Path

import numpy as np

from readaid.photo.file import load
from readaid.reading import sight, stretches
from readaid.script import kana as letters
from tests.bench import rendered

Row = tuple[str, float, str, str]
GOAL = "< 45"


def signs(text: str) -> list[str]:
    """The written signs of an edited text as they are compared; punctuation and the editor's brackets go.

    >>> signs("御門（帝）心、ガ")
    ['御', '門', '心', 'か']
    """
    out, depth = [], 0
    for sign in unicodedata.normalize("NFC", text):
        depth += (sign in "（(") - (sign in "）)")
        if depth == 0 and (letters.is_kanji(sign) or letters.is_hiragana(sign) or letters.is_katakana(sign)):
            out.append(rendered.compared(sign))
    return out


def interval(read: list[str], truth: list[str], many: int = 400) -> tuple[float, float]:
    """Bootstrap of the share wrong: edits counted where they fall, tenths of the text drawn anew."""
    parts = np.array_split(np.arange(len(truth)), 10)
    good = np.array(matched(read, truth), float)
    rng = np.random.default_rng(0)
    whole = rendered.distance(read, truth) / len(truth)
    each = [np.concatenate([1 - good[parts[p]] for p in rng.integers(0, 10, 10)]).mean() for _ in range(many)]
    low, high = np.percentile(each, [2.5, 97.5]) - (1 - good).mean()
    return 100 * (whole + low), 100 * (whole + high)


def matched(read: list[str], truth: list[str]) -> list[bool]:
    from tests.bench.real_hands import matched as aligned

    return aligned(read, truth)


def panel(image: np.ndarray, text: str) -> dict[str, list[str]]:
    """Signs read of a panel by way of reading."""
    zones = rendered.found(image)
    alone = rendered.shape_alone(stretches.of_zones(image, zones, free=False))
    seen = sight.read_zones(image, zones, "prose", k=1, expected=0.4)
    return {"nobody helping": rendered.signs_of(seen.solution.readings[0]), "shape alone": alone}


def bench() -> list[Row]:
    folder = Path(os.environ.get("READAID_SCROLL", "") or "-")
    table = folder / "scroll_panels.tsv"
    out: list[Row] = []
    for line in table.read_text(encoding="utf-8").splitlines() if table.is_file() else []:
        name, text = line.split("\t")
        truth = signs(text)
        for way, read in panel(load(folder / f"{name}.jpg"), text).items():
            low, high = interval(read, truth)
            out.append((f"flowing script, {name}, {way} (n {len(truth)}, {low:.0f}-{high:.0f})",
                        100 * rendered.distance(read, truth) / len(truth), "%",
                        GOAL if way == "nobody helping" else ""))
    return out
