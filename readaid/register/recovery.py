"""Bringing back a damaged register: its last good state, and what is missing.

Conventions
-----------
* The damaged file is moved aside, never deleted: ``NAME.damaged-<UTC time>.sqlite``.
* Revisions come from what can still be read in the damaged file, from the journal and from the
  backups; each is taken only if its digest fits. Numbers found nowhere are written down in the
  recovered register's ``lost`` table.
"""

from __future__ import annotations

import contextlib
import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection

from readaid.core.errors import RegisterError
from readaid.core.identity import now
from readaid.register import backup, index
from readaid.register.engine import APPLICATION_ID, sqlite_engine
from readaid.register.revision import fingerprint
from readaid.register.schema import lost, migrate, revision
from readaid.register.startup import FILE

_COLUMNS = [c.name for c in revision.columns]


@dataclass(frozen=True, slots=True)
class Recovery:
    """What came back. ``sources``: revisions taken from each file; ``missing``: numbers found nowhere."""

    path: Path
    damaged: Path
    revisions: int
    missing: tuple[int, ...]
    sources: tuple[tuple[str, int], ...]
    last: str  # when the last revision that came back was entered

    def __str__(self) -> str:
        where = ", ".join(f"{count} from {name}" for name, count in self.sources if count)
        text = f"The register was damaged. {self.revisions} revisions came back ({where}), the last of {self.last}. "
        if self.missing:
            text += f"{len(self.missing)} are missing: {_ranges(self.missing)}. "
        else:
            text += "None up to that one is missing. "
        return text + f"The damaged file is kept as {self.damaged.name}."


def _ranges(numbers: tuple[int, ...]) -> str:
    parts: list[list[int]] = []
    for n in numbers:
        if parts and parts[-1][1] == n - 1:
            parts[-1][1] = n
        else:
            parts.append([n, n])
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in parts[:20])


def recover(path: str | Path) -> Recovery:
    """Bring a damaged register back in its place.

    Raises
    ------
    RegisterError: if nothing could be read anywhere; then nothing is moved.
    """
    path = Path(path).expanduser()
    path = path / FILE if path.is_dir() else path
    found: dict[int, dict[str, Any]] = {}
    sources: list[tuple[str, int]] = []
    known_lost: set[int] = set()

    def take(name: str, rows: Iterator[dict[str, Any]]) -> None:
        count = 0
        for row in rows:
            if row["number"] not in found and _sound(row):
                found[row["number"]] = row
                count += 1
        sources.append((name, count))

    top = max((b.version for b in backup.backups(path)), default=0)
    take("the damaged file", _salvage(path, top, known_lost))
    for file in reversed(backup.journals(path)):
        take(f"journal {file.name}", _lines(file))
    for copy in backup.backups(path):
        take(f"backup {copy.path.name}", _salvage(copy.path, copy.version, known_lost))
    if not found:
        raise RegisterError("Nothing of the register can be read, nor of its backups", str(path),
                            "take the piece folder from another copy, if there is one")
    missing = tuple(n for n in range(1, max(found)) if n not in found)
    work = path.with_name(f"{path.stem}.recovering.sqlite")
    work.unlink(missing_ok=True)
    engine = sqlite_engine(work, False)
    with engine.execution_options(writing=True).begin() as connection:
        _fill(connection, [found[n] for n in sorted(found)], missing, str(path))
    with engine.connect() as connection:
        connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
    engine.dispose()
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    damaged = path.with_name(f"{path.stem}.damaged-{stamp}.sqlite")
    journal = path.with_name(path.name + "-journal")
    if path.exists():
        path.rename(damaged)
    if journal.exists():  # it belongs to the damaged file; beside the new one it would spoil that
        journal.rename(damaged.with_name(damaged.name + "-journal"))
    work.rename(path)
    return Recovery(path, damaged, len(found), missing, tuple(sources), found[max(found)]["entered"])


def _fill(connection: Connection, rows: list[dict[str, Any]], missing: tuple[int, ...], where: str) -> None:
    migrate(connection, where)
    for start in range(0, len(rows), 2000):
        connection.execute(revision.insert(), rows[start:start + 2000])
    if missing:
        connection.execute(lost.insert(), [{"number": n, "noticed": now()} for n in missing])
    index.rebuild(connection)


def _sound(row: dict[str, Any]) -> bool:
    try:
        return set(_COLUMNS) <= set(row) and isinstance(row["number"], int) and fingerprint(row) == row["digest"]
    except (TypeError, KeyError):
        return False


def _lines(file: Path) -> Iterator[dict[str, Any]]:
    with file.open(encoding="utf-8", errors="replace") as lines:
        for line in lines:
            with contextlib.suppress(ValueError):
                row = json.loads(line)
                if isinstance(row, dict) and "number" in row:
                    yield row


def _salvage(path: Path, top: int, known_lost: set[int]) -> Iterator[dict[str, Any]]:
    """Every row that a (damaged) register still gives, read from a copy, row by row around the bad pages."""
    if not path.exists():
        return
    with tempfile.TemporaryDirectory(prefix="readaid-") as folder:
        work = Path(folder) / "copy.sqlite"
        shutil.copyfile(path, work)
        journal = path.with_name(path.name + "-journal")
        if journal.exists():
            shutil.copyfile(journal, work.with_name(work.name + "-journal"))
        with contextlib.closing(sqlite3.connect(work, isolation_level=None)) as connection:
            connection.row_factory = sqlite3.Row
            connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
            with contextlib.suppress(sqlite3.Error):
                known_lost.update(r[0] for r in connection.execute("SELECT number FROM lost"))
            with contextlib.suppress(sqlite3.Error):
                top = max(top, int(connection.execute("SELECT max(number) FROM revision").fetchone()[0] or 0))
            names = ", ".join(_COLUMNS)
            number, failed = 0, 0
            while number < top or failed < 200:
                number += 1
                try:
                    row = connection.execute(f"SELECT {names} FROM revision WHERE number = ?", (number,)).fetchone()
                except sqlite3.Error:
                    row = None
                failed = failed + 1 if row is None else 0
                if row is not None:
                    yield {**dict(row), "withdrawn": bool(row["withdrawn"])}
