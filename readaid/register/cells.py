"""One field of a record as one cell of a table, and back.

Conventions
-----------
* In a frame a cell holds the value itself: text, number, ``pandas.NA`` for
  nothing, a tuple where the field is one.
* In a file a tuple or a nested value is JSON text, a time is ISO 8601.
* ``read`` takes either form, and what a person may have typed into a sheet.
"""

from __future__ import annotations

import dataclasses
import json
import types
import typing
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from typing import Any

from readaid.core.contents import KINDS
from readaid.core.errors import OptionError
from readaid.register.codec import _converter

#: Fields that hold a moment, so that frames can sort and subtract them.
MOMENTS = {("attempt", "made")}


@dataclasses.dataclass(frozen=True, slots=True)
class Field:
    """A field of a kind: its name, its type without None, whether it may be None, and how it lies in a frame."""

    name: str
    type: Any
    optional: bool
    dtype: str  # "string", "Float64", "float64", "Int64", "int64", "boolean", "bool", "category", "moment", "object"
    default: Any
    needed: bool

    @property
    def nested(self) -> bool:
        """Whether the value is more than one scalar."""
        return self.dtype == "object"


def _dtype(kind: str, name: str, given: Any, optional: bool) -> str:
    if (kind, name) in MOMENTS:
        return "moment"
    if isinstance(given, type) and issubclass(given, StrEnum):
        return "category"
    plain = {str: "string", float: "Float64" if optional else "float64", int: "Int64" if optional else "int64",
             bool: "boolean" if optional else "bool"}
    return plain.get(given, "object")


@cache
def fields(kind: str) -> tuple[Field, ...]:
    """The fields of a kind in the order of its dataclass, ``id`` among them.

    >>> [(f.name, f.dtype) for f in fields("note")]
    [('about', 'string'), ('text', 'string'), ('id', 'string'), ('place', 'object'), ('private', 'bool')]
    """
    cls = KINDS[kind]
    hints = typing.get_type_hints(cls)
    found = []
    for item in dataclasses.fields(cls):
        given = hints[item.name]
        parts = typing.get_args(given) if isinstance(given, types.UnionType) else (given,)
        optional = type(None) in parts
        if optional:
            given = next(p for p in parts if p is not type(None))
        default = item.default
        if default is dataclasses.MISSING and item.default_factory is not dataclasses.MISSING:
            default = dataclasses.MISSING
        needed = item.default is dataclasses.MISSING and item.default_factory is dataclasses.MISSING
        found.append(Field(item.name, given, optional, _dtype(kind, item.name, given, optional),
                           None if default is dataclasses.MISSING else default, needed))
    return tuple(found)


def missing(cell: Any) -> bool:
    """Whether a cell is empty: None, NaN, NA, NaT.

    >>> missing(float("nan")), missing(""), missing(())
    (True, False, False)
    """
    if cell is None or type(cell).__name__ in {"NAType", "NaTType"}:
        return True
    return isinstance(cell, float) and cell != cell


def as_file(field: Field, cell: Any) -> Any:
    """The cell as it goes into a file: a scalar or text."""
    if missing(cell):
        return None
    if field.nested:
        return json.dumps(_converter().unstructure(cell), ensure_ascii=False, separators=(", ", ": "))
    if field.dtype == "moment":
        return cell.isoformat(timespec="milliseconds")
    if field.dtype in {"string", "category"}:
        return str(cell)
    if field.dtype in {"bool", "boolean"}:
        return bool(cell)
    return int(cell) if field.dtype in {"int64", "Int64"} else float(cell)


def read(field: Field, cell: Any) -> Any:
    """The value of a field from a cell of a frame or a file.

    >>> from readaid.register.cells import fields
    >>> read(next(f for f in fields("attempt") if f.name == "morae"), "[5, 7, 5]")
    (5, 7, 5)

    Raises
    ------
    OptionError: if the cell does not fit the field.
    """
    try:
        return _read(field, cell)
    except Exception as error:  # what json and cattrs raise is many things
        raise OptionError(f"'{str(cell)[:60]}' does not fit", field.name, _expected(field), given=cell) from error


def _expected(field: Field) -> str:
    if field.dtype == "category":
        return "one of " + ", ".join(field.type)
    words = {"string": "text", "float64": "a number", "Float64": "a number or nothing", "int64": "a whole number",
             "Int64": "a whole number or nothing", "bool": "true or false", "boolean": "true, false or nothing",
             "moment": "a time such as 2026-11-25T14:30:00+00:00", "object": "a list, or the same as JSON"}
    return "give " + words[field.dtype]


def _read(field: Field, cell: Any) -> Any:
    if missing(cell) or (isinstance(cell, str) and not cell.strip() and field.dtype != "string"):
        if field.optional:
            return None
        if field.dtype == "string":
            return ""
        if field.needed or field.default is None:
            raise ValueError("empty")
        return field.default
    match field.dtype:
        case "string":
            return _text(cell)
        case "category":
            return field.type(str(cell).strip())
        case "moment":
            return cell.isoformat(timespec="milliseconds") if isinstance(cell, datetime) else str(cell)
        case "bool" | "boolean":
            return _truth(cell)
        case "int64" | "Int64":
            number = float(cell)
            if number != int(number):
                raise ValueError(cell)
            return int(number)
        case "float64" | "Float64":
            return float(cell)
    if isinstance(cell, str):
        cell = json.loads(cell)
    elif hasattr(cell, "tolist"):  # an array, as some readers of Parquet give for a list
        cell = cell.tolist()
    return _converter().structure(_converter().unstructure(cell), field.type)


def _text(cell: Any) -> str:
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))  # an inventory number that a sheet took for a number
    return cell.isoformat() if isinstance(cell, datetime | date) else str(cell)


def _truth(cell: Any) -> bool:
    if isinstance(cell, str):
        return {"true": True, "1": True, "yes": True, "false": False, "0": False, "no": False}[cell.strip().lower()]
    if cell not in (0, 1):
        raise ValueError(cell)
    return bool(cell)
