"""XLSX in and out: the one door to openpyxl.

Conventions: one sheet per frame, header in row 1, header row frozen. Text is
written as text whatever it begins with (no cell can become a formula), and
marked so that it stays text when it is edited in a spreadsheet.
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from typing import Any

from readaid.core.errors import RegisterError
from readaid.core.part_file import beside

#: Most characters in a cell (Excel specifications and limits, Microsoft, from memory).
LONGEST = 32_767


def _openpyxl() -> Any:
    try:
        import openpyxl
    except ModuleNotFoundError as error:
        raise RegisterError("XLSX needs the package openpyxl", cure="pip install openpyxl") from error
    return openpyxl


def write(sheets: dict[str, tuple[list[str], list[list[Any]]]], path: Path) -> Path:
    """Write sheets of (header, rows) to ``path``; cells are text, numbers, truth values or None.

    Raises
    ------
    RegisterError: if a text is longer than a cell may be (nothing is cut), or openpyxl is missing.
    """
    book = _openpyxl().Workbook()
    # openpyxl begins with a sheet of its own, which would stand there empty.
    book.remove(book.active)
    for name, (header, rows) in sheets.items():
        sheet = book.create_sheet(name[:31])
        sheet.freeze_panes = "B2"
        for at, row in enumerate([header, *rows], 1):
            for column, value in enumerate(row, 1):
                if value is not None:
                    _put(sheet.cell(at, column), value, f"{name}, row {at}, {header[column - 1]}")
    with beside(path) as part:
        book.save(part)
    return path


def _put(cell: Any, value: Any, where: str) -> None:
    if not isinstance(value, str):
        cell.value = value
        return
    from openpyxl.utils.escape import escape

    # Control characters go as _xHHHH_ (ECMA-376, ST_Xstring), so a text that already looks so needs its "_" escaped.
    text = escape(re.sub(r"_(x[0-9A-Fa-f]{4}_)", r"_x005F_\1", value))
    text = text.replace("\ufffe", "_xFFFE_").replace("\uffff", "_xFFFF_")  # no XML may hold them (XML 1.0, 2.2)
    if len(text) > LONGEST:
        raise RegisterError(f"A text of {len(text)} characters does not fit into a cell", where,
                            "export as CSV or Parquet instead")
    cell.value = text
    cell.data_type = "s"  # left alone, "=1+1" would be a formula and "#N/A" an error
    cell.quotePrefix = True


def read(path: Path) -> dict[str, tuple[list[str], list[list[Any]]]]:
    """Sheets of a workbook as (header, rows). A formula is taken as the text it is written with, never computed.

    Raises
    ------
    RegisterError: if it is no workbook.
    """
    openpyxl = _openpyxl()
    from openpyxl.utils.escape import unescape

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=False)
    except (OSError, KeyError, ValueError, zipfile.BadZipFile,
            openpyxl.utils.exceptions.InvalidFileException) as error:
        raise RegisterError("The workbook cannot be read", str(path), "save it again as .xlsx") from error
    found = {}
    try:
        for sheet in book.worksheets:
            rows = [[unescape(v) if isinstance(v, str) else v for v in row]
                    for row in sheet.iter_rows(values_only=True)]
            # A spreadsheet writes as many empty rows as were ever touched.
            rows = [row for row in rows if any(v is not None for v in row)]
            if rows:
                header = [str(v) if v is not None else "" for v in rows[0]]
                found[sheet.title] = (header, [row + [None] * (len(header) - len(row)) for row in rows[1:]])
    finally:
        book.close()
    return found
