"""A table of specimens: which picture is whose, when, from where. CSV with a header; all faults are told at once.

Conventions: ``file`` is required, relative to the folder of pictures. ``maker`` is a name in the school; ``year`` and
``age`` whole numbers; ``what`` "monogram" or the character of a name; ``citation`` the publication a picture comes
from, with ``page``; ``rights`` whose the picture is.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from readaid.core.errors import TableError, unknown_option

COLUMNS = ("file", "maker", "year", "age", "what", "kind", "hand", "citation", "page", "rights", "note")
#: Endings of pictures that are looked for where there is no table.
PICTURES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp")


@dataclass(frozen=True, slots=True)
class Row:
    """One specimen as the table tells it."""

    file: Path
    maker: str = ""
    year: int | None = None
    age: int | None = None
    what: str = "monogram"
    kind: str = "unclassified"
    hand: str = ""
    citation: str = ""
    page: str = ""
    rights: str = ""
    note: str = ""


def read(table: Path, folder: Path, makers: Iterable[str]) -> list[Row]:
    """Rows of a CSV file; raises TableError naming every fault: files that are missing, makers not in the school."""
    known = set(makers)
    try:
        text = table.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise TableError("The table of specimens cannot be read", table.name, "save it as CSV in UTF-8") from error
    lines = list(csv.DictReader(io.StringIO(text)))
    if not lines or "file" not in lines[0]:
        raise TableError("The table of specimens has no column 'file'", table.name,
                         f"its first line names columns: {', '.join(COLUMNS)}")
    for column in lines[0]:
        if column not in COLUMNS:
            raise unknown_option("column", str(column), COLUMNS)
    rows: list[Row] = []
    faults: list[str] = []
    for at, line in enumerate(lines, 2):
        cells = {c: (line.get(c) or "").strip() for c in COLUMNS}
        place = (folder / cells["file"]).resolve()
        if not cells["file"] or not place.is_relative_to(folder.resolve()) or not place.is_file():
            faults.append(f"row {at}: there is no picture '{cells['file']}' in the folder")
        if cells["maker"] and cells["maker"] not in known:
            faults.append(f"row {at}: '{cells['maker']}' is not among the makers")
        numbers: dict[str, int | None] = {}
        for column in ("year", "age"):
            numbers[column] = None
            if cells[column]:
                try:
                    numbers[column] = int(cells[column])
                except ValueError:
                    faults.append(f"row {at}: {column} is '{cells[column]}', not a whole number")
        words = {c: cells[c] for c in COLUMNS if c not in ("file", "year", "age") and cells[c]}
        rows.append(Row(place, **words, **numbers))  # type: ignore[arg-type]
    if faults:
        raise TableError("The table of specimens has faults", table.name, "; ".join(faults[:20]), faults=faults)
    return rows


def of_folder(folder: Path, makers: Iterable[str]) -> list[Row]:
    """Rows for every picture in a folder without a table; a subfolder that bears a maker's name gives the maker."""
    known = set(makers)
    found = [p for p in sorted(folder.rglob("*")) if p.suffix.lower() in PICTURES and p.is_file()]
    if not found:
        raise TableError("There is no picture in the folder", str(folder), f"put {', '.join(PICTURES)} files there")
    return [Row(p, maker=p.parent.name if p.parent.name in known else "") for p in found]
