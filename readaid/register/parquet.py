"""Parquet in and out: the one door to pyarrow.

Conventions: one file per kind; nested values as JSON text; the kind stands in
the file's own metadata under ``readaid.kind``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from readaid.core.errors import RegisterError
from readaid.core.part_file import beside


def _pyarrow() -> tuple[Any, Any]:
    try:
        import pyarrow
        from pyarrow import parquet
    except ModuleNotFoundError as error:
        raise RegisterError("Parquet needs the package pyarrow", cure="install readaid[tables]") from error
    return pyarrow, parquet


def write(kind: str, header: list[str], types: list[str], rows: list[list[Any]], path: Path) -> Path:
    """Write rows of scalars; ``types`` are "string", "float64", "int64" or "bool", one per column."""
    pyarrow, parquet = _pyarrow()
    schema = pyarrow.schema([pyarrow.field(name, getattr(pyarrow, {"bool": "bool_"}.get(type_, type_))())
                             for name, type_ in zip(header, types, strict=True)],
                            # The kind lies in the file, since files are renamed.
                            metadata={"readaid.kind": kind})
    columns = [pyarrow.array([row[i] for row in rows], type=schema.field(i).type) for i in range(len(header))]
    with beside(path) as part:
        parquet.write_table(pyarrow.table(columns, schema=schema), part)
    return path


def read(path: Path) -> tuple[str | None, list[str], list[list[Any]]]:
    """Kind (None if the file does not say), header and rows of a Parquet file.

    Raises
    ------
    RegisterError: if it is not Parquet.
    """
    pyarrow, parquet = _pyarrow()
    try:
        table = parquet.read_table(path)
    except (OSError, pyarrow.ArrowException) as error:
        raise RegisterError("The Parquet file cannot be read", str(path), "export it again") from error
    kind = (table.schema.metadata or {}).get(b"readaid.kind")
    columns = [column.to_pylist() for column in table.columns]
    rows = [list(row) for row in zip(*columns, strict=True)]
    return (kind.decode() if kind else None), list(table.column_names), rows
