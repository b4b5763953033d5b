"""Bringing back a register that is damaged, gone, or put back from an older day: its last good state.

Conventions
-----------
* Revisions come from what can still be read in the file, from the journal and from the backups; each is taken only if
  its digest fits. Numbers found nowhere are written down in the recovered register's ``lost`` table.
* Two registers are never mixed: a source that tells another history than the register's gives nothing beyond the point
  where they part, and is laid aside. A register written by a newer readaid is not touched.
* The former file is kept, never deleted: ``NAME.damaged-<UTC time>.sqlite``. The new one takes its place in one step:
  at every moment there is the one or the other.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection

from readaid.core.errors import RegisterError
from readaid.core.identity import now
from readaid.register import backup, index
from readaid.register.engine import APPLICATION_ID, sqlite_engine
from readaid.register.salvage import Salvage, of_file, of_journal
from readaid.register.schema import lost, migrate, name_register, revision
from readaid.register.startup import FILE

_WAS = {"damaged": "was damaged", "gone": "was gone", "older": "was older than its journal and backups",
        "another": "was not the one that the backups belong to", "whole": "was sound"}


@dataclass(frozen=True, slots=True)
class Recovery:
    """What came back. ``sources``: revisions taken from each file; ``missing``: numbers found nowhere."""

    path: Path
    damaged: Path | None  # the former file; None if there was none
    revisions: int
    missing: tuple[int, ...]
    sources: tuple[tuple[str, int], ...]
    last: str  # when the last revision that came back was entered
    was: str = "damaged"  # what the register was: "damaged", "gone", "older", "another"
    aside: tuple[Path, ...] = ()  # journals and backups of another history, laid aside

    def __str__(self) -> str:
        where = ", ".join(f"{count} from {name}" for name, count in self.sources if count)
        text = f"The register {_WAS[self.was]}. {self.revisions} revisions came back ({where}), "
        text += f"the last of {self.last}. "
        if self.missing:
            text += f"{len(self.missing)} are missing: {_ranges(self.missing)}. "
        else:
            text += "None up to that one is missing. "
        if self.damaged is not None:
            text += f"The former file is kept as {self.damaged.name}. "
        if self.aside:
            text += f"{len(self.aside)} backups or journals of another history lie in {self.aside[0].parent.name}. "
        return text.rstrip()


def _ranges(numbers: tuple[int, ...]) -> str:
    parts: list[list[int]] = []
    for n in numbers:
        if parts and parts[-1][1] == n - 1:
            parts[-1][1] = n
        else:
            parts.append([n, n])
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in parts[:20])


class _Gathering:
    """Revisions gathered source by source into one history."""

    def __init__(self) -> None:
        self.rows: dict[int, dict[str, Any]] = {}
        self.register = ""
        self.lost: set[int] = set()
        self.sources: list[tuple[str, int]] = []
        self.other: list[Path] = []

    def take(self, found: Salvage) -> None:
        if not found.rows:
            return
        # A backup put back by hand and worked on again tells another history from some number on: what lies before is
        # good.
        parting = found.first_difference(self.rows)
        stranger = bool(self.rows) and _strangers(found, Salvage("", found.path, self.rows, self.register))
        if self.rows and (parting is not None or stranger):
            self.other.append(found.path)
        fits = {} if stranger else {n: row for n, row in found.rows.items()
                                    if n not in self.rows and (parting is None or n < parting)}
        self.rows |= fits
        self.lost |= found.lost
        self.register = self.register or found.register
        self.sources.append((found.name, len(fits)))

    @property
    def missing(self) -> tuple[int, ...]:
        return tuple(n for n in range(1, max(self.rows, default=0)) if n not in self.rows)


def recover(path: str | Path) -> Recovery:
    """Bring a register back in its place, from its file (which may be gone), its journal and its backups.

    Raises
    ------
    NewerRegisterError: if a newer readaid wrote it or a backup of it. RegisterError: if nothing could be read
        anywhere, or another program is writing to it. Then nothing is moved.
    """
    path = Path(path).expanduser()
    path = path / FILE if path.is_dir() else path
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    with _alone(path):
        gathered, was = _gather(path)
        if not gathered.rows:
            raise RegisterError("Nothing of the register can be read, nor of its backups", str(path),
                                "take the piece folder from another copy, if there is one")
        work = path.with_name(f"{path.stem}.recovering-{os.getpid()}.sqlite")
        try:
            _write(work, gathered, str(path))
            damaged = _lay_aside(path, stamp)
            os.replace(work, path)
        except OSError as error:
            raise RegisterError("The recovered register cannot be put in its place", f"{path}: {error.strerror}",
                                "close it in other programs, make room on the disk and try again") from error
        finally:
            # A full disk leaves SQLite's own journal beside the half-written file.
            for leftover in (work, work.with_name(work.name + "-journal")):
                leftover.unlink(missing_ok=True)
    _sync_folder(path.parent)
    aside = tuple(_lay_other_aside(file, stamp) for file in gathered.other if file != path)
    return Recovery(path, damaged, len(gathered.rows), gathered.missing, tuple(gathered.sources),
                    gathered.rows[max(gathered.rows)]["entered"], was, aside)


def _gather(path: Path) -> tuple[_Gathering, str]:
    """One history from all sources, the register's own file first, and what became of that file."""
    copies = sorted(backup.backups(path), key=lambda b: b.version, reverse=True)
    # A damaged table may end early without a word; the newest backup says how far the numbers went at least.
    own = of_file(path, "the file itself", max((b.version for b in copies), default=0))
    journals = [of_journal(file) for file in reversed(backup.journals(path))]
    gathered = _Gathering()
    newest = of_file(copies[0].path, f"backup {copies[0].path.name}", copies[0].version) if copies else None
    others = [s for s in (*journals, newest) if s is not None and s.rows]
    # One stray journal makes no stranger of the register; only where nothing that lies beside it is its own, the
    # register itself was exchanged.
    foreign = bool(own.rows and others) and all(_strangers(own, s) for s in others)
    if not foreign:
        gathered.take(own)
    for source in sorted(others, key=lambda s: -max(s.rows)) if foreign else others:
        gathered.take(source)
    for copy in copies[1:]:
        # Older backups are opened only for what is still missing: each is a whole register.
        if not gathered.missing and gathered.rows:
            break
        gathered.take(of_file(copy.path, f"backup {copy.path.name}", copy.version))
    if foreign:
        return gathered, "another"
    if not path.exists():
        return gathered, "gone"
    if not own.whole:
        return gathered, "damaged"
    return gathered, "older" if len(gathered.rows) > len(own.rows) else "whole"


def _strangers(a: Salvage, b: Salvage) -> bool:
    """Whether two sources belong to registers that never were one."""
    shared = a.rows.keys() & b.rows.keys()
    if not shared:
        return bool(a.register and b.register and a.register != b.register)
    # Different from the first shared number on: these were never one register, not even under one name.
    return a.first_difference(b.rows) == min(shared)


@contextlib.contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Keep other writers out as far as the file allows; raises RegisterError if one is at work."""
    journal = path.with_name(path.name + "-journal")
    hot = journal.exists() and journal.stat().st_size  # opening it would change the file before it is kept
    raw = None
    if path.exists() and not hot:
        try:
            raw = sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode=rw", uri=True, timeout=5,
                                  isolation_level=None)
            raw.execute("BEGIN EXCLUSIVE")
        except sqlite3.Error as error:
            if raw is not None:
                raw.close()
                raw = None
            if "locked" in str(error):
                raise RegisterError("Another program is writing to the register", str(path),
                                    "close it there, then recover again") from error
    try:
        if raw is not None and os.name == "nt":  # there an open file cannot be replaced
            raw.close()
            raw = None
        yield
    finally:
        if raw is not None:
            raw.close()


def _write(work: Path, gathered: _Gathering, where: str) -> None:
    work.unlink(missing_ok=True)
    engine = sqlite_engine(work, False)
    try:
        with engine.execution_options(writing=True).begin() as connection:
            _fill(connection, gathered, where)
        with engine.connect() as connection:
            connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
    finally:
        engine.dispose()


def _fill(connection: Connection, gathered: _Gathering, where: str) -> None:
    migrate(connection, where)
    if gathered.register:
        name_register(connection, gathered.register)
    rows = [gathered.rows[n] for n in sorted(gathered.rows)]
    # In parts, so that a long history is not held a second time as the values of one statement.
    for start in range(0, len(rows), 2000):
        connection.execute(revision.insert(), rows[start:start + 2000])
    if gathered.missing:
        connection.execute(lost.insert(), [{"number": n, "noticed": now()} for n in gathered.missing])
    index.rebuild(connection)


def _lay_aside(path: Path, stamp: str) -> Path | None:
    """Keep the former file under another name while it still stands under its own; its journal goes along."""
    if not path.exists():
        return None
    damaged = path.with_name(f"{path.stem}.damaged-{stamp}.sqlite")
    try:
        os.link(path, damaged)
    except OSError:  # a file system without links (a memory stick, some network disks)
        shutil.copyfile(path, damaged)
    journal = path.with_name(path.name + "-journal")
    if journal.exists():  # it belongs to the former file; beside the new one it would spoil that
        journal.rename(damaged.with_name(damaged.name + "-journal"))
    return damaged


def _lay_other_aside(file: Path, stamp: str) -> Path:
    folder = file.parent / f"other-{stamp}"
    folder.mkdir(exist_ok=True)
    return file.rename(folder / file.name)


def _sync_folder(folder: Path) -> None:
    """Have the new name on the disk, where the system lets a folder be synced (not on Windows)."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
