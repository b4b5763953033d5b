"""Reading a TSV table that lies in ``tables/``: checked, with file and row named in every fault.

Conventions: UTF-8; ``#`` starts a comment line at the top or between rows; the first other line holds the
column names; fields are separated by one tab, empty at the end of a row where missing. All faults of a
table are collected and raised once as ``TableError``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from readaid.core.errors import TableError

TABLES = Path(__file__).resolve().parent / "tables"
Row = TypeVar("Row")


def load(name: str, columns: Sequence[str], make: Callable[[dict[str, str]], Row],
         path: Path | None = None) -> list[Row]:
    """Read ``tables/name``; ``make`` turns a row (column -> text) into a value, raising ValueError if it is faulty.

    Raises TableError naming every faulty row.

    >>> load("cycle_signs.tsv", ("kind", "sign", "number", "sound", "meaning"), lambda r: r["sign"])[:2]
    ['甲', '乙']
    """
    file = (path or TABLES) / name
    lines = [(n, line) for n, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
             if line.strip() and not line.startswith("#")]
    if not lines or tuple(lines[0][1].split("\t")) != tuple(columns):
        raise TableError("The column names are not the expected ones", name, f"expected {', '.join(columns)}")
    made: list[Row] = []
    faults: list[str] = []
    for number, line in lines[1:]:
        fields = line.split("\t")
        if len(fields) > len(columns):
            faults.append(f"row {number}: {len(fields)} fields instead of {len(columns)}")
            continue
        row = dict(zip(columns, fields + [""] * (len(columns) - len(fields)), strict=True))
        try:
            made.append(make(row))
        except (ValueError, KeyError) as error:
            faults.append(f"row {number}: {error}")
    if faults:
        raise TableError("The table has faulty rows: " + "; ".join(faults), name, "correct these rows", faults=faults)
    return made
