"""Look-alikes: which characters a character is commonly confused with in cursive.

Conventions: ``share`` 0..1 is the mean probability the model gave the other character over
distorted pictures of the first in fonts and real crops it was never trained on
(``character_model/lookalikes.tsv``). So it tells what the *model* confuses; a character that these lack has no entry.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from PIL import Image

from readaid.core.errors import OptionError, TableError
from readaid.glyphs.classes import FOLDER, classes, index
from readaid.glyphs.references import references


@dataclass(frozen=True, slots=True)
class LookAlike:
    """A character that may be taken for another, its sounds and how often."""

    character: str
    sounds: tuple[str, ...]
    share: float


def read(path: Path) -> dict[str, tuple[LookAlike, ...]]:
    """Read and check a look-alike table. Raises TableError with every faulty row."""
    faults: list[str] = []
    out: dict[str, list[LookAlike]] = {}
    with path.open(encoding="utf-8", newline="") as file:
        lines = [(n, line) for n, line in enumerate(file, 1) if not line.startswith("#")]
    for (number, _), row in zip(lines[1:], csv.DictReader((text for _, text in lines), delimiter="\t"), strict=True):
        one, other = row.get("character") or "", row.get("other") or ""
        try:
            share = float(row.get("share") or "")
        except ValueError:
            share = -1.0
        if one not in index() or other not in index() or one == other or not 0 < share <= 1:
            faults.append(f"{path.name}, row {number}: '{one}' '{other}' '{row.get('share')}'")
            continue
        out.setdefault(one, []).append(LookAlike(other, classes()[index()[other]].sounds, share))
    if faults:
        raise TableError("The look-alike table is faulty", "; ".join(faults), "install readaid again")
    return {k: tuple(sorted(v, key=lambda a: (-a.share, a.character))) for k, v in out.items()}


@lru_cache(maxsize=1)
def _table() -> dict[str, tuple[LookAlike, ...]]:
    return read(FOLDER / "lookalikes.tsv")


def lookalikes(character: str, k: int = 8) -> tuple[LookAlike, ...]:
    """The characters ``character`` is taken for most often, at most ``k``; empty if none is known.

    >>> "エ" in [a.character for a in lookalikes("工")] or len(lookalikes("ろ")) > 0
    True
    """
    if isinstance(k, bool) or not isinstance(k, int) or k < 1:
        raise OptionError(f"k is {k!r}", "lookalikes", "ask for 1 look-alike or more")
    number = index().get(character)
    return () if number is None else _table().get(classes()[number].character, ())[:k]


def picture(character: str, k: int = 8, scale: int = 2) -> bytes:
    """A PNG: the character in its reference forms (left column), then each look-alike, one column each."""
    names = [character, *(a.character for a in lookalikes(character, k))]
    columns = []
    for name in names:
        forms = [r.picture for r in references(name)][:3]
        forms += [np.full((48, 48), 255, np.uint8)] * (3 - len(forms))
        columns.append(np.vstack(forms))
    rule = np.full((144, 4), 255, np.uint8)
    rule[:, 1:3] = 128
    sheet = np.hstack([columns[0], rule, *columns[1:]])
    held = io.BytesIO()
    Image.fromarray(np.kron(sheet, np.ones((scale, scale), np.uint8))).save(held, "PNG")
    return held.getvalue()
