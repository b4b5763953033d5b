"""Backups that rotate by themselves, and the journal beside them.

Conventions
-----------
* Everything lies in ``backups/`` beside the register. A backup is a whole register,
  ``NAME-v<revision>-<UTC time>.sqlite``, checked before it counts.
* The journal, ``NAME-journal*.jsonl``, holds each revision once more as a line of JSON,
  written after the revision is durable in the register: with it, the revisions since the
  last backup are not lost when the register's file is damaged. Each line names the register.
* A backup is made before the first change, from time to time while changes come, and at closing, if the last one is
  older than ``INTERVAL`` and there is something new. Trouble with a backup never stops a save.
* Newest means the highest revision, not the latest clock: a clock that was wrong for a day had stopped the backups of
  all days up to its own.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import time
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

#: Seconds between two backups of a register that is being worked on.
INTERVAL = 900.0
#: How many are kept: the newest ones, then the newest of so many days, weeks and months.
NEWEST, DAYS, WEEKS, MONTHS = 4, 7, 8, 12
_STAMP = "%Y%m%dT%H%M%S"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup: the file, the last revision in it, when it was made (UTC)."""

    path: Path
    version: int
    made: datetime


def folder_of(register: Path) -> Path:
    """Where the backups of a register lie."""
    return register.parent / "backups"


def backups(register: Path) -> list[Backup]:
    """The backups of a register, newest first."""
    found = []
    for path in folder_of(register).glob(f"{register.stem}-v*-*.sqlite"):
        version, _, stamp = path.stem.removeprefix(f"{register.stem}-v").partition("-")
        with contextlib.suppress(ValueError):
            found.append(Backup(path, int(version), datetime.strptime(stamp, _STAMP).replace(tzinfo=UTC)))
    return sorted(found, key=lambda b: (b.version, b.made), reverse=True)


def journals(register: Path) -> list[Path]:
    """The journal's files, oldest first."""
    return sorted(folder_of(register).glob(f"{register.stem}-journal*.jsonl"),
                  key=lambda p: (p.stem == f"{register.stem}-journal", p.name))


def kept(found: Iterable[Backup]) -> set[Path]:
    """Which backups the rotation keeps.

    >>> days = [Backup(Path(str(d)), d, datetime(2026, 11, d, tzinfo=UTC)) for d in range(1, 29)]
    >>> sorted(int(str(p)) for p in kept(days))  # newest days and the Sundays
    [1, 8, 15, 22, 23, 24, 25, 26, 27, 28]
    """
    # By revision, not by clock: a clock that stood a day ahead once stopped all later backups.
    ordered = sorted(found, key=lambda b: (b.version, b.made), reverse=True)
    chosen = {b.path for b in ordered[:NEWEST]}
    for count, key in ((DAYS, "%Y%m%d"), (WEEKS, "%G%V"), (MONTHS, "%Y%m")):
        newest: dict[str, Path] = {}
        for backup in ordered:
            newest.setdefault(backup.made.strftime(key), backup.path)
        chosen.update(list(newest.values())[:count])
    return chosen


def make(register: Path, now: datetime | None = None) -> Backup | None:
    """Copy the register into a backup, check the copy, rotate; None if there is nothing new to back up.

    Raises
    ------
    OSError, sqlite3.Error: if it could not be made; no older backup is removed then.
    """
    now = now or datetime.now(UTC)
    folder = folder_of(register)
    # Read-only and by its own connection: a backup must not wait for, nor change, the register that it copies.
    source = sqlite3.connect(f"file:{quote(str(register.resolve()))}?mode=ro", uri=True, timeout=10)
    try:
        version = int(source.execute("SELECT max(number) FROM revision").fetchone()[0] or 0)
        before = backups(register)
        # Nothing new: opening and closing a register every day must not push older days out of the rotation.
        if version == 0 or (before and before[0].version == version):
            return None
        folder.mkdir(exist_ok=True)
        work = folder / f"{register.stem}-{os.getpid()}.part"
        try:
            target = sqlite3.connect(work)
            try:
                source.backup(target)  # in one go: other writers wait, and it is one moment of the register
                version = int(target.execute("SELECT max(number) FROM revision").fetchone()[0])
                if target.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok":
                    raise sqlite3.DatabaseError("the copy is damaged")
            finally:
                target.close()
            # Durable before it gets its name: a backup that is empty after a power cut would count as one.
            with work.open("rb+") as file:
                os.fsync(file.fileno())
            path = folder / f"{register.stem}-v{version:08d}-{now.strftime(_STAMP)}.sqlite"
            work.replace(path)
        finally:
            work.unlink(missing_ok=True)
    finally:
        source.close()
    # Another process may have turned it over first, or (Windows) be writing to it: then it is turned over next time.
    with contextlib.suppress(OSError):
        (folder / f"{register.stem}-journal.jsonl").rename(
            folder / f"{register.stem}-journal-v{version:08d}-{now.strftime(_STAMP)}.jsonl")
    _rotate(register)
    return Backup(path, version, now)


def _rotate(register: Path) -> None:
    found = backups(register)
    keep = kept(found)
    for backup in found:
        if backup.path not in keep:
            with contextlib.suppress(OSError):  # somebody may have it open (Windows)
                backup.path.unlink()
    oldest = min((b.version for b in found if b.path in keep), default=0)
    for path in journals(register):  # a journal that ends before the oldest backup says nothing more
        number = path.stem.removeprefix(f"{register.stem}-journal-v").partition("-")[0]
        if number.isdigit() and int(number) <= oldest and len(keep) > 1:
            path.unlink(missing_ok=True)


class Keeper:
    """Keeps the backups and the journal of one register file while it is open."""

    def __init__(self, path: Path, register: str = "") -> None:
        self.path = path
        self.register = register
        #: What went wrong with the last backup or journal line, in a sentence; "" if nothing.
        self.trouble = ""
        self._journal = folder_of(path) / f"{path.stem}-journal.jsonl"
        self._first = True
        self._changed = False
        self._looked = time.monotonic()

    def _make_if_due(self) -> None:
        try:
            found = backups(self.path)
            age = time.time() - found[0].made.timestamp() if found else INTERVAL
            self._looked = time.monotonic()
            if not 0 <= age < INTERVAL:  # below 0: made on a day that has not come yet, so the clock was wrong
                make(self.path)
        except (OSError, sqlite3.Error) as error:
            # Told, never raised: the reader's save is durable already and must not look like a failure.
            self.trouble = f"No backup could be made ({error}); the register itself is saved."

    def before_writing(self) -> None:
        """Before the first change of a session: keep what was there."""
        if self._first:
            self._first = False
            self._make_if_due()

    def written(self, rows: list[dict[str, Any]]) -> None:
        """After each durable write: the rows of the revision table once more, as lines of JSON."""
        self._changed = True
        # A line begins with a line break, so that a line cut off by a crash spoils none but itself.
        text = "".join("\n" + json.dumps({**row, "register": self.register}, ensure_ascii=False) for row in rows)
        try:
            if not self._journal.parent.is_dir():
                self._journal.parent.mkdir(exist_ok=True)
            # Appended in one call, so that the lines of two kernels never lie inside each other.
            file = os.open(self._journal, os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o644)
            try:
                os.write(file, text.encode("utf-8"))
            finally:
                os.close(file)
        except OSError as error:
            self.trouble = f"The journal beside the register could not be written ({error}); the register is saved."
        if time.monotonic() - self._looked >= INTERVAL:  # a kernel may stay open for days
            self._make_if_due()

    def closing(self) -> None:
        """At closing: a backup, if one is due."""
        if self._changed:
            self._changed = False
            self._make_if_due()
