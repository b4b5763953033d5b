"""Frames to files and back: CSV, XLSX, Parquet, one writer each.

Conventions: the columns of a frame, ``id`` first, then the fields, then
``revision``, by which an edited file finds conflicts when it comes back.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pandas as pd

from readaid.core.contents import KINDS
from readaid.core.errors import ReadaidError, RegisterError, unknown_option
from readaid.core.veil import Veil
from readaid.register import csvfile, parquet, xlsx
from readaid.register.book import Register
from readaid.register.cells import Field, as_file, fields, missing
from readaid.register.cells import read as read_cell
from readaid.register.codec import as_kind
from readaid.register.frames import ABOUT, Edited, column, dtypes, edit, frame
from readaid.register.revision import value_of
from readaid.register.values import readable
from readaid.register.view import PLURALS, View

FORMATS = ("csv", "xlsx", "parquet")
_ABOUT_TYPES = {"revision": "int64", "changed": "string", "changed_by": "string", "piece": "string"}


def _rows(kind: str, table: pd.DataFrame) -> tuple[list[str], list[str], list[list[Any]]]:
    known = {f.name: f for f in fields(kind)}
    flat = table.reset_index() if table.index.name == "id" else table
    header = [str(n) for n in flat.columns if n in known or n in ABOUT]
    header = ["id", *(n for n in header if n != "id")]
    types = [_ABOUT_TYPES.get(n) or _file_type(known[n]) for n in header]
    columns: list[list[Any]] = []
    for name in header:
        if name in known:
            columns.append([as_file(known[name], v) for v in flat[name]])
        else:
            columns.append([None if missing(v) else int(v) if name == "revision" else
                            v.isoformat(timespec="milliseconds") if name == "changed" else str(v) for v in flat[name]])
    return header, types, [list(row) for row in zip(*columns, strict=True)]


def _file_type(field: Field) -> str:
    return {"float64": "float64", "Float64": "float64", "int64": "int64", "Int64": "int64", "bool": "bool",
            "boolean": "bool"}.get(field.dtype, "string")


def save(kind: str | type, table: pd.DataFrame, path: str | Path) -> Path:
    """Write one frame; the ending of ``path`` (.csv, .xlsx, .parquet) chooses the format."""
    kind, path = as_kind(kind), Path(path)
    format = _format(path.suffix.lstrip(".").lower())
    header, types, rows = _rows(kind, table)
    if format == "csv":
        return csvfile.write(header, rows, path)
    if format == "xlsx":
        return xlsx.write({PLURALS[kind]: (header, rows)}, path)
    return parquet.write(kind, header, types, rows, path)


def export(view: View, folder: str | Path, format: str = "csv", kinds: Iterable[str | type] | None = None,
           private: bool = True, blind: bool = False) -> list[Path]:
    """Write frames into a folder: one file per kind, or for XLSX one workbook with a sheet per kind.

    ``kinds``: all that hold records, if not given. ``private`` and ``blind``: what may leave, see ``core.veil``.
    """
    _format(format)
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    chosen = [as_kind(k) for k in kinds] if kinds is not None else list(KINDS)
    past = view._read(lambda c: c.execute(view._last(None, view._scope(None), True)).mappings().all())
    over = Veil.over([value_of(r) for r in past if readable(r)], blind, private)
    tables = {k: frame(view, k, veil=over) for k in chosen}
    if kinds is None:
        for kind in (k for k, t in tables.items() if not len(t)):  # of an earlier export, perhaps with private things
            (folder / f"{PLURALS[kind]}.{format}").unlink(missing_ok=True)
        tables = {k: t for k, t in tables.items() if len(t)}
    if format != "xlsx":
        return [save(k, t, folder / f"{PLURALS[k]}.{format}") for k, t in tables.items()]
    sheets = {PLURALS[k]: (header, rows) for k, t in tables.items() for header, _, rows in [_rows(k, t)]}
    return [xlsx.write(sheets or {"empty": (["id"], [])}, folder / "register.xlsx")]


def _format(name: str) -> str:
    if name not in FORMATS:
        raise unknown_option("format", name, FORMATS)
    return name


def load(path: str | Path, kind: str | type | None = None) -> dict[str, pd.DataFrame]:
    """Frames from a file by kind, with the declared dtypes; ready for ``edit``.

    ``kind`` need not be given where the file says it: Parquet's metadata, a sheet's name, ``attempts.csv``.

    Raises
    ------
    RegisterError: if the file cannot be read, its kind is not known, or cells do not fit (all are named).
    """
    path = Path(path)
    format = _format(path.suffix.lstrip(".").lower())
    named: dict[str, tuple[list[str], list[list[Any]]]] = {}
    if format == "xlsx":
        named = xlsx.read(path)
        if kind is not None and len(named) == 1:
            named = {PLURALS[as_kind(kind)]: next(iter(named.values()))}
    elif format == "parquet":
        said, header, rows = parquet.read(path)
        named = {PLURALS[as_kind(kind or said or path.stem)]: (header, rows)}
    else:
        named = {PLURALS[as_kind(kind)] if kind else path.stem: csvfile.read(path)}
    singular = {plural: one for one, plural in PLURALS.items()}
    if strange := [n for n in named if n not in singular]:
        raise unknown_option("table", strange[0], singular)
    return {singular[n]: _frame(singular[n], *table, f"{path.name}, {n}") for n, table in named.items()}


def _frame(kind: str, header: list[str], rows: list[list[Any]], where: str) -> pd.DataFrame:
    known = {f.name: f for f in fields(kind)}
    declared = dtypes(kind)
    for name in header:
        if name not in known and name not in ABOUT:
            raise unknown_option("column", name, known)
    faults: list[str] = []
    columns: dict[str, Any] = {}
    for at, name in enumerate(header):
        values = []
        for number, row in enumerate(rows, 2):
            try:
                values.append(_cell(known.get(name), name, row[at]))
            except (ReadaidError, ValueError) as error:
                faults.append(f"row {number}, {name}: {error}")
        columns[name] = values
    if faults:
        raise RegisterError("The table has cells that do not fit", f"{where}: " + "; ".join(faults[:20]),
                            "correct them and load it again", faults=faults)
    index = pd.Index(columns.pop("id", [""] * len(rows)), name="id", dtype="string")
    return pd.DataFrame({n: column(v, declared[n], index) for n, v in columns.items()}, index=index)


def _cell(field: Field | None, name: str, value: Any) -> Any:
    if field is None:
        if missing(value):
            return None if name != "revision" else 0
        return int(float(value)) if name == "revision" else str(value)
    if field.dtype == "string" and missing(value):
        return None if field.optional else ""
    return None if missing(value) and not field.needed else _plain(read_cell(field, value))


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, str) else value


def edit_file(register: Register, path: str | Path, reader: str, kind: str | type | None = None) -> dict[str, Edited]:
    """Save back every table of a file that was exported and edited; see ``frames.edit``."""
    return {k: edit(register, table, reader, f"edited in {Path(path).name}", k)
            for k, table in load(path, kind).items()}
