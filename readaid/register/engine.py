"""The connection: SQLite or PostgreSQL, durable, patient, with errors in plain words.

Conventions
-----------
* SQLite: rollback journal, ``synchronous=FULL``, ``BEGIN IMMEDIATE`` for writing. The journal is truncated, not
  deleted: with FULL a deletion is not itself synced, so that a power cut could take back what was acknowledged
  (SQLite documentation, pragma synchronous: FULL and EXTRA); truncating is synced and costs the same.
  (A write-ahead log does not open on read-only media, and a copy of the main
  file alone would lose what is still in the log.)
* A locked register is waited for (``PATIENCE`` seconds), then an error says so.
"""

from __future__ import annotations

import random
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError, OperationalError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from readaid.core.errors import RegisterError

T = TypeVar("T")

#: Seconds to wait for another writer.
PATIENCE = 60.0
#: Marks the file as ours ("rdad"), SQLite header bytes 68..71.
APPLICATION_ID = 0x72646164


class DamagedRegisterError(RegisterError):
    """The register's file is damaged; ``readaid.register.recovery.recover`` brings back its last good state."""


class MisplacedRegisterError(RegisterError):
    """The register's file is gone, older, or another than its journal and backups know; the message says the way back.
    """


def is_url(path: object) -> bool:
    """Whether it is a server address rather than a file.

    >>> is_url("postgresql://localhost/readings"), is_url("piece/register.sqlite")
    (True, False)
    """
    return "://" in str(path)


def sqlite_engine(path: Path, read_only: bool, patience: float = PATIENCE) -> Engine:
    """Engine for a register file; every connection is set durable before its first use."""
    mode = "ro" if read_only else "rwc"
    address = f"file:{quote(str(path.resolve()))}?mode={mode}"

    def connect() -> sqlite3.Connection:
        # SQLite's own waiting at most ten seconds: what is beyond is waited for in ``patiently``, which begins anew.
        raw = sqlite3.connect(address, uri=True, timeout=min(patience, 10.0), isolation_level=None,
                              check_same_thread=False)
        try:
            raw.execute("PRAGMA synchronous=FULL")
            raw.execute("PRAGMA trusted_schema=OFF")  # a register may come from anybody: its own schema calls nothing
            raw.execute("PRAGMA fullfsync=ON")  # macOS: fsync alone leaves it in the drive's cache; no effect elsewhere
            # A medium that cannot be written refuses to change the kind of journal, too.
            if not read_only:
                raw.execute("PRAGMA journal_mode=TRUNCATE")
        except sqlite3.Error:
            raw.close()
            raise
        return raw

    engine = create_engine("sqlite://", creator=connect, pool_size=4, max_overflow=16, poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def server_engine(url: str) -> Engine:
    """Engine for a PostgreSQL address (``postgresql://user@host/name``); the driver is psycopg 3."""
    address = make_url(url.replace("postgres://", "postgresql://", 1))
    if address.get_backend_name() != "postgresql":
        raise RegisterError(f"A register on {address.get_backend_name()} is not known",
                            address.render_as_string(hide_password=True),
                            "give a file, or an address that begins with postgresql://")
    try:
        # A reader asks several questions and must get them answered from one moment: with the default level each
        # statement sees a newer one, and the check at opening took a colleague's save for damage.
        # Asked before use: a server restarted over night leaves dead connections in the pool.
        return create_engine(address.set(drivername="postgresql+psycopg"), pool_pre_ping=True,
                             isolation_level="REPEATABLE READ")
    except ModuleNotFoundError as error:
        raise RegisterError("The driver for PostgreSQL is not installed", str(error.name),
                            "install readaid[department]") from error


def writer_of(engine: Engine) -> Engine:
    """The same engine for writing transactions; begin them with ``lock_writers``."""
    if engine.dialect.name == "postgresql":  # a writer waits for the lock first, then must see what the others did
        return engine.execution_options(writing=True, isolation_level="READ COMMITTED")
    return engine.execution_options(writing=True)


def lock_writers(connection: Connection) -> None:
    """Keep other writers waiting till this transaction ends, so that numbers have no gaps; readers go on."""
    if connection.dialect.name == "postgresql":  # on SQLite BEGIN IMMEDIATE has done it
        connection.exec_driver_sql("LOCK TABLE revision IN EXCLUSIVE MODE")


def is_busy(error: BaseException) -> bool:
    """Whether another writer holds the register, so that waiting helps."""
    if not isinstance(error, OperationalError):
        return False
    state = getattr(error.orig, "sqlstate", None)
    if state in {"40001", "40P01", "55P03"}:  # serialisation, deadlock, lock not available (PostgreSQL, appendix A)
        return True
    text = str(error.orig).lower()
    return "database is locked" in text or "database table is locked" in text or "database is busy" in text


def plain_words(error: SQLAlchemyError, where: str) -> RegisterError:
    """The error in a sentence: what, where, cure."""
    original = getattr(error, "orig", None)
    text = str(original or error).strip().splitlines()[0] if str(original or error).strip() else type(error).__name__
    low = text.lower()
    if is_busy(error):
        return RegisterError("Another program keeps the register locked", where,
                             "close it there, then try again; nothing was saved")
    if "disk is full" in low or "no space" in low or "disk full" in low:
        return RegisterError("The disk is full", where,
                             "free some space, then save again; everything saved before is safe")
    if "readonly" in low or "read-only" in low or "attempt to write" in low:
        return RegisterError("The register cannot be written here", where,
                             "copy the piece folder to a place where you may write")
    # A byte that was turned over inside a text is told by Python's decoder, not by SQLite: it is damage all the same.
    if any(word in low for word in ("malformed", "not a database", "corrupt", "could not decode", "codec can't")):
        return DamagedRegisterError("The register is damaged", where,
                                    "recover its last good state from the backups in the piece folder")
    if "unable to open" in low:
        return RegisterError("The register cannot be opened", where, "check the path and your rights to it")
    if "disk i/o error" in low:
        return RegisterError("The disk could not be written or read", where,
                             "check the disk and the free space; everything saved before is safe")
    if isinstance(error, OperationalError) and not isinstance(original, sqlite3.Error):
        return RegisterError("The register's server does not answer as it should", where,
                             f"check the address and the network ({text})")
    return RegisterError("The register could not be used", where, text)


def patiently(work: Callable[[], T], where: str, patience: float = PATIENCE) -> T:
    """Run a transaction; while another writer holds the register, wait and run it again."""
    deadline = time.monotonic() + patience
    pause = 0.002
    while True:
        try:
            return work()
        except DBAPIError as error:
            if not is_busy(error) or time.monotonic() > deadline:
                raise plain_words(error, where) from error
            # By chance, or two writers that collided once would wait alike and collide again.
            time.sleep(pause * random.random())
            pause = min(pause * 2, 0.25)
        except SQLAlchemyError as error:
            raise plain_words(error, where) from error
