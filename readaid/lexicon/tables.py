"""Reading the tables of this room: TSV with a header row, every faulty row named at once.

Conventions: UTF-8; ``#`` begins a comment line; fields are separated by one tab.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from readaid.core.errors import TableError

Row = TypeVar("Row")
FOLDER = Path(__file__).resolve().parent


def load(path: Path, columns: Sequence[str], make: Callable[[dict[str, str]], Row]) -> list[Row]:
    """Rows of a table; ``make`` raises ValueError for a faulty one. Raises TableError naming file and rows.

    >>> load(FOLDER / "own_words.tsv", OWN_WORDS, dict)[:0]
    []
    """
    lines = [(n, line) for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
             if line.strip() and not line.startswith("#")]
    if not lines or tuple(lines[0][1].split("\t")) != tuple(columns):
        raise TableError("The column names are not the expected ones", path.name, f"expected {', '.join(columns)}")
    made, faults = [], []
    for number, line in lines[1:]:
        fields = line.split("\t")
        try:
            if len(fields) > len(columns):
                raise ValueError(f"{len(fields)} fields instead of {len(columns)}")
            made.append(make(dict(zip(columns, fields + [""] * (len(columns) - len(fields)), strict=True))))
        except (ValueError, KeyError) as error:
            faults.append(f"row {number}: {error}")
    if faults:
        raise TableError("The table has faulty rows: " + "; ".join(faults), path.name, "correct these rows",
                         faults=faults)
    return made


OWN_WORDS = ("surface", "left", "right", "cost", "part", "kana", "modern", "spoken", "lemma", "kind", "source")


def number(text: str) -> float:
    """A finite number; ValueError otherwise."""
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is no number")
    return value
