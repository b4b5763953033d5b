"""The tables, and the named migrations that make them.

Conventions
-----------
* ``revision`` is append-only and the one truth; ``number`` counts from 1 without gaps.
* ``current`` is derived: the last revision of each record and index columns for
  searching. It can be dropped and rebuilt at any time.
* Few indexes on purpose: each is one more page to sync at every save (dropping five took the
  ratio to bare SQLite from 0.33 to 0.58), and a search through 100,000 rows without one takes 0.1 s.
* ``migration`` records each migration by name, time and program version; the
  schema version is their number. A migration's name is never reused or changed.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Connection,
    Float,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    func,
    inspect,
    select,
)

from readaid._version import __version__
from readaid.core.errors import NewerRegisterError, RegisterError
from readaid.core.identity import new_id, now

META = MetaData()
_NUMBER = BigInteger().with_variant(Integer(), "sqlite")  # only INTEGER is SQLite's row id

migration = Table(
    "migration", META,
    Column("name", Text, primary_key=True),
    Column("applied", Text, nullable=False),
    Column("program", Text, nullable=False),
)

revision = Table(
    "revision", META,
    Column("number", _NUMBER, primary_key=True, autoincrement=False),
    Column("id", Text, nullable=False),
    Column("record", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("piece", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("withdrawn", Boolean, nullable=False),
    Column("reader", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("made", Text, nullable=False),  # when the reader did it
    Column("entered", Text, nullable=False),  # when it came into this register (later, for a colleague's work)
    Column("gesture", Text, nullable=False),  # revisions of one finished gesture share it
    Column("base", _NUMBER),  # number of the revision this one follows
    Column("undoes", Text),  # the gesture that this one takes back
    Column("digest", Text, nullable=False),
    Index("revision_record", "record", "number"),
)

lost = Table(
    "lost", META,  # revisions that a recovery found nowhere: known gaps, not new damage
    Column("number", _NUMBER, primary_key=True, autoincrement=False),
    Column("noticed", Text, nullable=False),
)

about = Table(
    "about", META,  # what this register is: "identity", a UUID that its journal and backups carry too
    Column("name", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

current = Table(
    "current", META,
    Column("record", Text, primary_key=True),
    Column("number", _NUMBER, nullable=False),
    Column("kind", Text, nullable=False),
    Column("piece", Text, nullable=False),
    Column("withdrawn", Boolean, nullable=False),
    Column("first", _NUMBER, nullable=False),  # number of the record's first revision: order of entry
    Column("status", Text, nullable=False),
    Column("reader", Text, nullable=False),
    Column("made", Text, nullable=False),
    Column("day_first", Text, nullable=False),
    Column("day_last", Text, nullable=False),
    Column("confidence", Float),
    Column("signs", Text, nullable=False),  # what is read there, as written
    Column("link", Text, nullable=False),  # id of the record this one is about: a role's person, a zone's photo
    Column("text", Text, nullable=False),
    Index("current_made", "kind", "withdrawn", "made", "number"),  # the first page, and how many there are
    sqlite_with_rowid=False,
)


def _first(connection: Connection) -> None:
    META.create_all(connection, [migration, revision, lost, current])


def _identity(connection: Connection) -> None:
    about.create(connection)
    connection.execute(about.insert().values(name="identity", value=new_id()))


#: Under which name ``about`` says from which revision on judgements are records of their own.
JUDGED = "judgements since"


def _judgements(connection: Connection) -> None:
    last = connection.scalar(select(func.max(revision.c.number))) or 0
    connection.execute(about.insert().values(name=JUDGED, value=str(last)))


def _entries(connection: Connection) -> None:
    """New kinds (entry, layer, region, measure) and fields need no table; the name keeps older programs out."""


def _pinned(connection: Connection) -> None:
    """A note's place and whether it is private need no table; an older program would drop both, and let it out."""


#: Every migration ever, in order. Only ever append.
MIGRATIONS: tuple[tuple[str, Callable[[Connection], None]], ...] = (
    ("0001-revisions", _first),
    ("0002-identity", _identity),
    ("0003-judgements", _judgements),
    ("0004-entries", _entries),
    ("0005-pinned-notes", _pinned),
)
#: What a register must have been through to be read; the rest can wait until it lies where it can be written.
NEEDED_TO_READ = ("0001-revisions",)


def identity_of(connection: Connection) -> str:
    """The register's identity, "" for one that has not been through its migration."""
    if not inspect(connection).has_table("about"):
        return ""
    return str(connection.scalar(select(about.c.value).where(about.c.name == "identity")) or "")


def name_register(connection: Connection, identity: str) -> None:
    """Give a register that was made anew the identity of the one it replaces."""
    connection.execute(about.update().where(about.c.name == "identity").values(value=identity))


def applied(connection: Connection) -> list[str]:
    """Names of the migrations this register has been through, in the order of their names."""
    if not inspect(connection).has_table("migration"):
        return []
    return sorted(connection.scalars(select(migration.c.name)))


def pending(connection: Connection, where: str) -> list[str]:
    """Migrations still to be done.

    Raises
    ------
    NewerRegisterError: if the register has been through one this program does not know.
    RegisterError: if the file is a database, but not a register.
    """
    done = applied(connection)
    known = [name for name, _ in MIGRATIONS]
    if unknown := [name for name in done if name not in known]:
        raise NewerRegisterError("This register was written by a newer readaid", where,
                                 "update readaid; the register has not been touched", unknown=unknown)
    # Somebody else's database must not be given our tables.
    if not done and inspect(connection).get_table_names():
        raise RegisterError("This is a database, but not a register", where, "choose the register of a piece folder")
    return [name for name in known if name not in done]


def migrate(connection: Connection, where: str) -> list[str]:
    """Do what is pending, all in the caller's transaction; returns the names done."""
    names = pending(connection, where)
    for name, work in MIGRATIONS:
        if name in names:
            work(connection)
            connection.execute(migration.insert().values(name=name, applied=now(), program=__version__))
    return names
