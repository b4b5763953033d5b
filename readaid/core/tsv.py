"""Reading the project's tables: TSV with a header row, checked, every faulty row named at once.

Conventions: UTF-8; ``#`` begins a comment line, at the top or between rows, where the source is named; the first
other line holds the column names; fields are separated by one tab, empty at the end of a row where missing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from readaid.core.errors import TableError

Row = TypeVar("Row")


def load(path: Path, columns: Sequence[str], make: Callable[[dict[str, str]], Row]) -> list[Row]:
    """Rows of the table at ``path``; ``make`` turns a row (column -> text) into a value, ValueError for a faulty one.

    Raises
    ------
    TableError: other column names than ``columns``, or faulty rows, all of them named.

    >>> from readaid.script.rows import TABLES
    >>> load(TABLES / "cycle_signs.tsv", ("kind", "sign", "number", "sound", "meaning"), lambda r: r["sign"])[:2]
    ['甲', '乙']
    """
    lines = [(n, line) for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
             if line.strip() and not line.startswith("#")]
    if not lines or tuple(lines[0][1].split("\t")) != tuple(columns):
        raise TableError("The column names are not the expected ones", path.name, f"expected {', '.join(columns)}")
    made: list[Row] = []
    faults: list[str] = []
    for at, line in lines[1:]:
        fields = line.split("\t")
        try:
            if len(fields) > len(columns):
                raise ValueError(f"{len(fields)} fields instead of {len(columns)}")
            made.append(make(dict(zip(columns, fields + [""] * (len(columns) - len(fields)), strict=True))))
        except (ValueError, KeyError) as error:
            faults.append(f"row {at}: {error}")
    if faults:
        raise TableError("The table has faulty rows: " + "; ".join(faults), path.name, "correct these rows",
                         faults=faults)
    return made


def number(text: str) -> float:
    """A finite number; ValueError otherwise.

    >>> number("0.5")
    0.5
    """
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is no number")
    return value
