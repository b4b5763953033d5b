"""What can still be read of a register: in its file, however damaged, in its backups, in its journal.

Conventions: nothing is changed; a file is read from a copy, row by row round the bad pages. A row counts only if its
digest fits.
"""

from __future__ import annotations

import contextlib
import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from readaid.core.errors import NewerRegisterError
from readaid.register.revision import fingerprint
from readaid.register.schema import MIGRATIONS, revision

_COLUMNS = [c.name for c in revision.columns]
#: Revisions asked for in vain one after the other before the end is believed.
_PATIENCE = 200


@dataclass(frozen=True, slots=True)
class Salvage:
    """What one file gives. ``register`` is the identity it names, "" if none; ``whole`` that nothing in it is amiss."""

    name: str
    path: Path
    rows: dict[int, dict[str, Any]]
    register: str = ""
    lost: frozenset[int] = field(default=frozenset())
    whole: bool = True

    def first_difference(self, rows: dict[int, dict[str, Any]]) -> int | None:
        """The lowest number at which another revision stands here than there; None if all in common are the same."""
        return min((n for n in self.rows.keys() & rows.keys() if self.rows[n]["id"] != rows[n]["id"]), default=None)


def of_file(path: Path, name: str, top: int = 0) -> Salvage:
    """Every row that a (damaged) register file still gives; ``top``: number up to which it must be asked.

    Raises
    ------
    NewerRegisterError: if a newer readaid wrote it: what it keeps elsewhere would be lost.
    """
    rows: dict[int, dict[str, Any]] = {}
    if not path.exists():
        return Salvage(name, path, rows, whole=False)
    with tempfile.TemporaryDirectory(prefix="readaid-") as folder:
        work = Path(folder) / "copy.sqlite"
        shutil.copyfile(path, work)
        journal = path.with_name(path.name + "-journal")
        if journal.exists():
            shutil.copyfile(journal, work.with_name(work.name + "-journal"))
        with contextlib.closing(sqlite3.connect(work, isolation_level=None)) as connection:
            connection.row_factory = sqlite3.Row
            # A byte turned over in one text must not stop the reading of all rows; the digest leaves that row out.
            connection.text_factory = lambda raw: raw.decode("utf-8", "replace")

            def asked(question: str) -> list[Any]:
                with contextlib.suppress(sqlite3.Error):
                    return [r[0] for r in connection.execute(question)]
                return []

            refuse_newer(set(asked("SELECT name FROM migration")), path)
            lost = frozenset(asked("SELECT number FROM lost"))
            register = "".join(asked("SELECT value FROM about WHERE name = 'identity'"))
            # A damaged index may say a smaller number than there are rows, or nothing.
            top = max(top, *asked("SELECT coalesce(max(number), 0) FROM revision"), 0)
            bad = 0
            for row in _rows(connection, top):
                if _sound(row):
                    rows[row["number"]] = row
                else:
                    bad += 1
            whole = (not bad and asked("PRAGMA quick_check(1)") == ["ok"]
                     and len(rows.keys() | lost) == max(rows, default=0))
    return Salvage(name, path, rows, register, lost, whole)


def refuse_newer(names: set[str], path: Path) -> None:
    """Raise NewerRegisterError if a register has been through a migration that this program does not know."""
    unknown = sorted(names - {name for name, _ in MIGRATIONS})
    if unknown:
        raise NewerRegisterError("This register was written by a newer readaid", str(path),
                                 "update readaid; nothing has been touched", unknown=unknown)


def of_journal(path: Path) -> Salvage:
    """Every sound row of a journal; a line cut off by a crash spoils none but itself."""
    rows: dict[int, dict[str, Any]] = {}
    register = ""
    with path.open(encoding="utf-8", errors="replace") as lines:
        for line in lines:
            with contextlib.suppress(ValueError):
                row = json.loads(line)
                if isinstance(row, dict) and _sound(row):
                    register = str(row.get("register") or register)
                    rows[row["number"]] = {name: row[name] for name in _COLUMNS}
    return Salvage(f"journal {path.name}", path, rows, register)


def _rows(connection: sqlite3.Connection, top: int) -> Iterator[dict[str, Any]]:
    question = f"SELECT {', '.join(_COLUMNS)} FROM revision WHERE number = ?"
    number, failed = 0, 0
    # One by one by number: a walk through the table ends at the first bad page.
    while number < top or failed < _PATIENCE:
        number += 1
        try:
            row = connection.execute(question, (number,)).fetchone()
        except sqlite3.Error:
            row = None
        failed = failed + 1 if row is None else 0
        if row is not None:
            yield {**dict(row), "withdrawn": bool(row["withdrawn"])}


def _sound(row: dict[str, Any]) -> bool:
    try:
        return set(_COLUMNS) <= set(row) and isinstance(row["number"], int) and fingerprint(row) == row["digest"]
    except (TypeError, KeyError):
        return False
