"""Opening a register: find it, check it cheaply, bring its tables up to date.

Conventions: the cheap check reads the header, counts, the digests of the last
``RECENT`` revisions and, in a file up to ``SMALL`` bytes, the structure of every
page. ``health.check`` reads everything.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from sqlalchemy import Connection, Engine, func, select
from sqlalchemy.exc import SQLAlchemyError

from readaid.core.errors import ReadaidError, RegisterError
from readaid.register import index, stated_damage
from readaid.register.backup import backups, journals, make
from readaid.register.engine import (
    APPLICATION_ID,
    DamagedRegisterError,
    MisplacedRegisterError,
    is_url,
    lock_writers,
    patiently,
    server_engine,
    sqlite_engine,
    writer_of,
)
from readaid.register.network import kind_of
from readaid.register.revision import fingerprint
from readaid.register.schema import NEEDED_TO_READ, current, identity_of, lost, migrate, pending, revision
from readaid.register.whereabouts import Known, gone, known, misplaced, way_back

#: Name of the register in a piece folder.
FILE = "register.sqlite"
#: Revisions whose digests are checked at every opening, and the size up to which every page is looked at.
RECENT, SMALL = 500, 8_000_000
_HEADER = b"SQLite format 3\x00"


@dataclass(frozen=True, slots=True)
class Opened:
    """An engine ready for use, and what the user should know about it."""

    engine: Engine
    where: str
    path: Path | None
    read_only: bool
    notices: tuple[str, ...] = ()
    troubles: tuple[str, ...] = ()  # what a check must tell, for one open for reading only
    identity: str = ""


def open_engine(path_or_url: str | Path, read_only: bool, create: bool, patience: float) -> Opened:
    """Open what ``Register.open`` was given; see there."""
    home: Path | None = None
    beforehand: list[Known] = []
    if is_url(path_or_url):
        engine = server_engine(str(path_or_url))
        opened = Opened(engine, engine.url.render_as_string(hide_password=True), None, read_only)
    else:
        home = Path(path_or_url).expanduser()
        home = home / FILE if home.is_dir() else home
        opened = _open_file(home, read_only, create, patience)
        # Looked at after opening and before preparing: preparing may write, and what the backups say must be of
        # before.
        beforehand = known(home)
    try:
        _prepare(opened, patience)
        return _recognise(opened, home, beforehand, patience)
    except BaseException:
        opened.engine.dispose()
        raise


def _recognise(opened: Opened, home: Path | None, beforehand: list[Known], patience: float) -> Opened:
    """See whose register it is, and whether it is the one that its journal and backups know."""

    def ask() -> tuple[str, tuple[str, str]]:
        with opened.engine.begin() as connection:
            told = misplaced(home, connection, beforehand) if home is not None and beforehand else ("", "")
            stated_damage.look(connection)
            return identity_of(connection), told

    identity, (what, cure) = patiently(ask, opened.where, patience)
    # For reading it opens all the same, with a notice: whoever only looks must not be kept out by a lost backup
    # folder.
    if what and not opened.read_only:
        raise MisplacedRegisterError(what, opened.where, cure)
    told = (f"{what}: {cure}.",) if what else ()
    return replace(opened, identity=identity, notices=(*opened.notices, *told), troubles=told)


def _open_file(path: Path, read_only: bool, create: bool, patience: float) -> Opened:
    where, notices = str(path), []
    if not path.exists():
        if told := gone(path):
            raise MisplacedRegisterError(told, where, way_back(path))
        if read_only or not create:
            raise RegisterError("There is no register here", where, "check the path, or start a new piece")
        if not path.parent.is_dir():
            raise RegisterError("The folder of the register does not exist", str(path.parent), "make it first")
    # SQLite takes an empty file for a new register, and months of work would seem never to have been.
    elif path.stat().st_size == 0 and (backups(path) or journals(path)):
        raise DamagedRegisterError("The register is empty, but there are backups of it", where,
                                   "recover its last good state from the backups in the piece folder")
    else:
        check_header(path)
    if not read_only and not _writable(path):
        if not path.exists():
            raise RegisterError("The register cannot be written here", where, "choose a folder where you may write")
        read_only = True
        notices.append(f"{path.name} lies where nothing can be written: it is open for reading only.")
    if not read_only and (kind := kind_of(path.parent)):
        notices.append(f"The piece lies on a network disk ({kind}): work on it from one computer at a time, and keep a "
                       "copy; for several at once a register on a server is made.")
    journal = path.with_name(path.name + "-journal")
    if read_only and journal.exists() and journal.stat().st_size and not _writable(path):
        # A writer died here and the medium forbids to roll its half-done change back: do that on a copy.
        folder = Path(tempfile.mkdtemp(prefix="readaid-"))
        for source in (path, journal):
            shutil.copyfile(source, folder / source.name)
        sqlite_engine(folder / path.name, False, patience).connect().close()
        path = folder / path.name
        notices.append("A change was cut off half-way on this medium; a copy without it is shown.")
    return Opened(sqlite_engine(path, read_only, patience), where, path, read_only, tuple(notices))


def _writable(path: Path) -> bool:
    """Whether the file, and the folder its journal needs, can be written (asked of the medium, not of mode bits)."""
    target = path if path.exists() else path.parent
    if not (os.access(target, os.W_OK) and os.access(path.parent, os.W_OK)):
        return False
    return not (hasattr(os, "statvfs") and os.statvfs(path.parent).f_flag & os.ST_RDONLY)


def check_header(path: Path) -> None:
    """Notice what is no register, or one that was cut off; raises DamagedRegisterError or RegisterError."""
    try:
        with path.open("rb") as file:
            head = file.read(100)
    except OSError as error:
        raise RegisterError("The register cannot be read", str(path), str(error.strerror or error)) from error
    if not head:
        return  # made, but never written: SQLite treats it as new
    if not head.startswith(_HEADER) or len(head) < 100:
        raise DamagedRegisterError("The register is damaged or is no register", str(path),
                                   "recover its last good state from the backups in the piece folder")
    page = int.from_bytes(head[16:18], "big")
    # The header has two bytes for the page's size, and 1 stands for 65,536 (SQLite file format, 1.3.2).
    size = 65536 if page == 1 else page
    pages = int.from_bytes(head[28:32], "big")
    if path.stat().st_size < pages * size and not path.with_name(path.name + "-journal").exists():
        raise DamagedRegisterError("The register is cut off", str(path),
                                   "recover its last good state from the backups in the piece folder")


def _prepare(opened: Opened, patience: float) -> None:
    where = opened.where

    def look() -> list[str]:
        with opened.engine.begin() as connection:
            return pending(connection, where)

    def work() -> None:
        with writer_of(opened.engine).begin() as connection:
            if connection.dialect.name == "postgresql":
                connection.exec_driver_sql("SELECT pg_advisory_xact_lock(1919181161)")
            elif not migrate(connection, where):
                return
            else:
                connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
                return
            migrate(connection, where)

    def cheap() -> bool:
        with opened.engine.begin() as connection:
            return check_cheaply(connection, where, opened.path)

    try:
        waiting = patiently(look, where, patience)
        if opened.read_only:
            waiting = [name for name in waiting if name in NEEDED_TO_READ]
        if waiting:
            if opened.read_only:
                raise RegisterError("The register is empty or of an older version", where,
                                    "open it once where it can be written")
            if opened.path is not None and opened.path.stat().st_size:
                with contextlib.suppress(OSError, sqlite3.Error):  # an older register: keep it as it was, too
                    make(opened.path)
            patiently(work, where, patience)
        if not patiently(cheap, where, patience) and not opened.read_only:
            patiently(lambda: _mend(opened.engine, where), where, patience)
    except ReadaidError:
        raise
    except SQLAlchemyError as error:  # pragma: no cover - patiently translates these
        raise RegisterError("The register cannot be opened", where, str(error)) from error


def _mend(engine: Engine, where: str) -> None:
    with writer_of(engine).begin() as connection:
        lock_writers(connection)
        if not check_cheaply(connection, where):  # asked again now that nobody else writes
            index.rebuild(connection)


def check_cheaply(connection: Connection, where: str, path: Path | None = None) -> bool:
    """Whether the derived table stands with the revisions; raises DamagedRegisterError if those do not stand."""
    if connection.dialect.name == "sqlite" and connection.exec_driver_sql(
            "SELECT 1 FROM sqlite_master WHERE type IN ('trigger', 'view') LIMIT 1").first():
        raise DamagedRegisterError("The register holds instructions of its own, which would change what is written",
                                   where, "recover its records without them (readaid recover)")
    if path is not None and path.stat().st_size <= SMALL:
        found = str(connection.exec_driver_sql("PRAGMA quick_check(1)").scalar())
        if found != "ok":
            raise DamagedRegisterError(f"The register is damaged: {found.splitlines()[-1]}", where,
                                       "recover its last good state from the backups in the piece folder")
    last = int(connection.scalar(select(func.max(revision.c.number))) or 0)
    count = int(connection.scalar(select(func.count()).select_from(revision)) or 0)
    count += int(connection.scalar(select(func.count()).select_from(lost)) or 0)
    if count != last:
        raise DamagedRegisterError(f"The register lacks {last - count} of its {last} revisions", where,
                                   "recover them from the backups in the piece folder")
    for row in connection.execute(select(revision).order_by(revision.c.number.desc()).limit(RECENT)).mappings():
        if fingerprint(row) != row["digest"]:
            raise DamagedRegisterError(f"Revision {row['number']} of the register is not as it was written", where,
                                       "recover it from the backups in the piece folder", number=row["number"])
    derived = int(connection.scalar(select(func.max(current.c.number))) or 0)
    return derived == last
