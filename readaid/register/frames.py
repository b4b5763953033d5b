"""Records as pandas DataFrames with declared dtypes, and edited frames saved back.

Conventions
-----------
* One row per record, index ``id``; one column per field, then ``revision``,
  ``changed``, ``changed_by`` and ``piece``, which are for looking only.
* Text is ``string``, what may be missing is a nullable dtype, words from a closed
  list are categories, moments are UTC. The dtypes are the same when empty.
* A row left out of an edited frame is left alone: filtering withdraws nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from readaid.core.contents import KINDS, Record
from readaid.core.errors import ReadaidError, RegisterError, unknown_option
from readaid.core.veil import Veil
from readaid.register.cells import Field, fields, missing, read
from readaid.register.codec import as_kind
from readaid.register.revision import Revision, value_of
from readaid.register.schema import revision
from readaid.register.store import Change, Store
from readaid.register.values import readable
from readaid.register.view import View

#: Columns about the last change; ``edit`` uses ``revision`` to see conflicts and never writes them.
ABOUT = ("revision", "changed", "changed_by", "piece")
_MOMENT = "datetime64[ms, UTC]"


def dtypes(kind: str | type) -> dict[str, Any]:
    """Declared dtype of each column of a kind's frame.

    >>> dtypes("note")["text"], dtypes("attempt")["confidence"]
    ('string', 'float64')
    """
    found: dict[str, Any] = {f.name: _dtype(f) for f in fields(as_kind(kind)) if f.name != "id"}
    return found | {"revision": "int64", "changed": _MOMENT, "changed_by": "string", "piece": "string"}


def _dtype(field: Field) -> Any:
    if field.dtype == "category":
        return pd.CategoricalDtype([str(v) for v in field.type])
    return _MOMENT if field.dtype == "moment" else field.dtype


def column(values: list[Any], dtype: Any, index: pd.Index[Any]) -> pd.Series[Any]:
    """A column with its declared dtype."""
    if dtype == "object":
        cells = np.empty(len(values), dtype=object)
        for at, value in enumerate(values):  # one by one: tuples of one length would be taken for a table
            cells[at] = value
        return pd.Series(cells, index=index, dtype="object")
    if dtype == _MOMENT:
        moments: Any = pd.to_datetime(pd.Series(values, dtype="string"), utc=True, format="ISO8601", errors="coerce")
        return pd.Series(moments.astype(_MOMENT).array, index=index)
    made: pd.Series[Any] = pd.Series(values, index=index, dtype=dtype)
    return made


def build(kind: str, rows: list[tuple[Record, int, str, str, str]]) -> pd.DataFrame:
    """The frame of (record, revision, changed, changed by, piece) rows."""
    index = pd.Index([r[0].id for r in rows], name="id", dtype="string")
    columns: dict[str, Any] = {}
    declared = dtypes(kind)
    for field in fields(kind):
        if field.name != "id":
            values = [getattr(r[0], field.name) for r in rows]
            if field.dtype == "category":
                values = [str(v) for v in values]
            columns[field.name] = column(values, declared[field.name], index)
    for at, name in enumerate(ABOUT, 1):
        columns[name] = column([r[at] for r in rows], declared[name], index)
    return pd.DataFrame(columns, index=index)


def frame(view: View, kind: str | type, *, piece: str | None = None, withdrawn: bool = False,
          veil: Veil | None = None) -> pd.DataFrame:
    """Every record of a kind as a DataFrame, in the order of entry; see the module's conventions.

    ``veil``: the records as they may leave; none where it is left out, for work in the house.
    """
    kind = as_kind(kind)
    query = view._last(kind, view._scope(piece), withdrawn)
    rows = view._read(lambda c: c.execute(query).mappings().all())
    if veil is not None:  # one record that cannot be read must not keep the others from leaving
        rows = [r for r in rows if readable(r)]
    held = [(value_of(r), r["number"], r["made"], r["reader"], r["piece"]) for r in rows]
    if veil is not None:
        held = [(shown, *about) for record, *about in held if (shown := veil.record(record)) is not None]
    return build(kind, held)


def candidates(view: View, *, piece: str | None = None) -> pd.DataFrame:
    """One row per candidate of each character, with its confidence, probability, source and note."""
    table = [(c.id, str(c.damage), at, x.character, x.confidence, x.probability, x.source, x.note)
             for c in view.all("character", piece=piece) for at, x in enumerate(c.candidates)]
    columns = {"character_id": "string", "damage": "string", "place": "int64", "character": "string",
               "confidence": "float64", "probability": "Float64", "source": "string", "note": "string"}
    return pd.DataFrame({name: pd.Series([r[i] for r in table], dtype=dtype)
                         for i, (name, dtype) in enumerate(columns.items())})


def revisions(view: View, found: Iterable[Revision]) -> pd.DataFrame:
    """Revisions (from ``history`` or ``since``) as a DataFrame, index ``number``."""
    rows = list(found)
    columns: dict[str, Any] = {"kind": "string", "record": "string", "withdrawn": "bool", "reader": "string",
                               "reason": "string", "made": _MOMENT, "entered": _MOMENT, "gesture": "string"}
    index = pd.Index([r.number for r in rows], name="number", dtype="int64")
    return pd.DataFrame({name: column([r.record.id if name == "record" else getattr(r, name) for r in rows],
                                       dtype, index) for name, dtype in columns.items()}, index=index)


@dataclass(frozen=True, slots=True)
class Edited:
    """What came of an edit: the revisions saved, and a frame of conflicts (one row per record and field)."""

    saved: tuple[Revision, ...]
    conflicts: pd.DataFrame
    unchanged: int = 0

    def _repr_html_(self) -> str:
        head = f"<p>{len(self.saved)} saved, {self.unchanged} unchanged, {len(self.conflicts)} in conflict</p>"
        return head + (str(self.conflicts.to_html()) if len(self.conflicts) else "")


def records(kind: str | type, edited: pd.DataFrame) -> list[Record]:
    """The records that the rows of a frame stand for; a row without an id gets a new one.

    Raises
    ------
    OptionError: for a column the kind does not have.
    RegisterError: listing every cell that does not fit, row and column named.
    """
    kind = as_kind(kind)
    known = {f.name: f for f in fields(kind)}
    table = edited.reset_index() if edited.index.name == "id" else edited
    for name in table.columns:
        if name not in known and name not in ABOUT and name != "index":
            raise unknown_option("column", str(name), known)
    found, faults = [], []
    for at, row in enumerate(table.to_dict("records")):
        values: dict[str, Any] = {}
        for name, field in known.items():
            if name not in row:
                continue
            if missing(row[name]) and not (field.needed or field.optional):
                continue  # an empty cell takes the default, a fresh id or the present moment
            try:
                value = read(field, row[name])
                if name != "id" or value:
                    values[name] = value
            except ReadaidError as error:
                faults.append(f"row {at + 1}, {error.where}: {error.what}, {error.cure}")
        # Told for all rows at once: whoever mends a sheet of 300 rows wants one list and not 300 tries.
        lacking = [f.name for f in known.values() if f.needed and f.name not in row]
        if lacking:
            faults.append(f"row {at + 1}: {', '.join(lacking)} missing")
            continue
        try:
            found.append(KINDS[kind](**values))
        except ReadaidError as error:
            faults.append(f"row {at + 1}: {error}")
        except TypeError:
            continue  # a cell that did not fit is already among the faults
    if faults:
        raise RegisterError("The table has cells that cannot be saved", "; ".join(faults[:20]),
                            "correct them and save again; nothing was saved", faults=faults)
    return found


def edit(register: Store, edited: pd.DataFrame, reader: str, reason: str = "edited in a table",
         kind: str | type | None = None) -> Edited:
    """Save back a frame that was edited, as one gesture; rows that did not change are left alone.

    A row whose record was changed by someone else since the frame was made is not saved but listed in
    ``.conflicts`` with the value it had, mine and theirs; everything else is saved. A row without an id is new.

    Raises
    ------
    OptionError, RegisterError: if a column or cell does not fit (then nothing is saved).
    """
    kind = as_kind(kind) if kind is not None else _guess(edited)
    wanted = records(kind, edited)
    table = edited.reset_index() if edited.index.name == "id" else edited
    seen: list[int | None] = [None] * len(wanted)
    if "revision" in table.columns:
        seen = [None if pd.isna(n) else int(n) for n in table["revision"]]
    standing, before = _standing(register, [r.id for r in wanted], [n for n in seen if n])
    changes: list[Change] = []
    conflicts: list[tuple[str, str, Any, Any, Any, str]] = []
    unchanged = 0
    for record, number in zip(wanted, seen, strict=True):
        now_at = standing.get(record.id)
        if now_at is None:
            changes.append(Change(record, base=0))
            continue
        # The row as it stood when the frame was made: only against that is it known what was changed in the sheet.
        base = before.get(number, now_at.record) if number else now_at.record
        # Spreadsheets write times their own way, and every row would look changed.
        record = _same_moments(kind, record, base)
        if record == base or (record == now_at.record and not now_at.withdrawn):
            unchanged += 1
        elif number is not None and now_at.number != number:
            conflicts += [(record.id, f.name, getattr(base, f.name), getattr(record, f.name),
                           getattr(now_at.record, f.name), now_at.reader) for f in fields(kind)
                          if len({repr(getattr(x, f.name)) for x in (base, record, now_at.record)}) > 1]
        else:
            changes.append(Change(record, base=now_at.number))
    saved = register.write(changes, reader, reason)
    return Edited(tuple(saved), pd.DataFrame(conflicts, columns=["id", "field", "was", "mine", "theirs", "theirs_by"],
                                             dtype="object"), unchanged)


def _standing(register: Store, ids: list[str], numbers: list[int]) -> tuple[dict[str, Revision], dict[int, Record]]:
    """Last revision of each id, and the records at the given revision numbers."""
    last: dict[str, Revision] = {}
    before: dict[int, Record] = {}
    for start in range(0, len(ids), 400):
        for found in register._revisions(revision.c.record.in_(ids[start:start + 400])):
            last[found.record.id] = found
            before[found.number] = found.record
    return last, {n: before[n] for n in numbers if n in before}


def _same_moments(kind: str, record: Any, base: Any) -> Any:
    """Keep the writing of a moment that is the same: "14:30:00+00:00" is "14:30:00.000+00:00"."""
    for field in fields(kind):
        if field.dtype == "moment":
            mine, was = getattr(record, field.name), getattr(base, field.name)
            if mine != was and pd.to_datetime(mine, utc=True, errors="coerce") == pd.to_datetime(
                    was, utc=True, errors="coerce"):
                record = replace(record, **{field.name: was})
    return record


def _guess(edited: pd.DataFrame) -> str:
    """The kind whose fields are the frame's columns."""
    names = {str(n) for n in edited.columns} - set(ABOUT) - {"id"}
    fits = [k for k in KINDS if names and names == {f.name for f in fields(k)} - {"id"}]
    if not fits:  # a table written by an earlier version lacks what a kind was given since: a note had no place
        fits = [k for k in KINDS if {f.name for f in fields(k) if f.needed} <= names <= {f.name for f in fields(k)}]
    if len(fits) != 1:
        raise RegisterError("The columns do not tell what the rows are", ", ".join(sorted(names))[:200],
                            "say which: edit(frame, reader, kind='attempt')")
    return fits[0]
