"""Whether the register's file is the one that journal and backups beside it know: missing, older, another one.

Conventions: what the backups know is read first, then the register, so that a save between the two makes the register
the newer one, which is as it should be. Revisions are told apart by number and id: two registers may have grown from
one copied file and carry one name.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection, func, select

from readaid.register.backup import backups, journals
from readaid.register.schema import identity_of, lost, revision

#: Bytes read from the end of a journal: its last lines, some hundred revisions.
_TAIL = 65_536


@dataclass(frozen=True, slots=True)
class Known:
    """What a journal or a backup says of its register: the highest revision's number and id, the register's identity.

    ``register`` is "" where readaid 0.1.0 wrote it.
    """

    number: int
    id: str
    register: str
    path: Path


def known(register: Path) -> list[Known]:
    """What journal and newest backup of a register know, highest number first; empty if there are none."""
    found = []
    for file in reversed(journals(register)):
        if (last := _end_of(file)) is not None:
            found.append(last)
            break
    for copy in sorted(backups(register), key=lambda b: b.version, reverse=True):
        # The journal knows more than this backup: it need not be opened.
        if found and copy.version <= found[0].number:
            break
        if (top := _top_of(copy.path)) is not None:
            found.insert(0, top)
            break
    return found


def _end_of(file: Path) -> Known | None:
    best: Known | None = None
    with contextlib.suppress(OSError), file.open("rb") as stream:
        stream.seek(max(0, os.fstat(stream.fileno()).st_size - _TAIL))
        for line in stream.read().split(b"\n"):  # several processes write: the last line need not be the highest
            with contextlib.suppress(ValueError, KeyError, TypeError):
                row = json.loads(line)
                if best is None or row["number"] > best.number:
                    best = Known(int(row["number"]), str(row["id"]), str(row.get("register", "")), file)
    return best


def _asked(path: Path, question: str, *values: object) -> Any:
    """First row of an answer from a backup, which nobody writes to; None if there is none or it cannot be read."""
    with contextlib.suppress(sqlite3.Error, OSError), contextlib.closing(
            sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode=ro&immutable=1", uri=True)) as raw:
        return raw.execute(question, values).fetchone()
    return None


def _top_of(path: Path) -> Known | None:
    row = _asked(path, "SELECT number, id FROM revision ORDER BY number DESC LIMIT 1")
    name = _asked(path, "SELECT value FROM about WHERE name = 'identity'")
    return Known(int(row[0]), str(row[1]), str(name[0]) if name else "", path) if row else None


def gone(register: Path) -> str:
    """What is known of a register whose file is not there; "" if nothing."""
    found = known(register) if register.parent.is_dir() and not register.exists() else []
    if not found:
        return ""
    return f"The register is gone, but its backups are here: they know {found[0].number} revisions"


def way_back(register: Path) -> str:
    """The cure: what to type."""
    return f'bring it back with: readaid recover "{register.parent}"'


def misplaced(register: Path, connection: Connection, beforehand: list[Known]) -> tuple[str, str]:
    """What is wrong with the register's whereabouts, and the cure; ("", "") if it is the one that is known.

    ``beforehand``: what ``known`` said before the register was asked.
    """
    for fact in beforehand:
        here = connection.scalar(select(revision.c.id).where(revision.c.number == fact.number))
        # A revision known to be lost is no contradiction: a recovery wrote it down.
        if here == fact.id or connection.scalar(select(lost.c.number).where(lost.c.number == fact.number)):
            continue
        top = int(connection.scalar(select(func.max(revision.c.number))) or 0)
        mine = identity_of(connection)
        # Looked at in full only now, where something is wrong: it reads the whole journal.
        shared, agree = _together(register, connection, top)
        if (mine and fact.register and mine != fact.register and not agree) or (shared and not agree):
            return ("The register is not the one its backups belong to", way_back(register)
                    + " (this one is laid aside), or put the right file there yourself")
        # An older state was put back: nothing contradicts, the newest work is just not there.
        if here is None and fact.number > top:
            return (f"The register is older than its backups: it ends with revision {top}, they know {fact.number}",
                    way_back(register) + "; to go on from the older state, move the folder 'backups' away first")
        return (f"The register and its backups went different ways after revision {agree}",
                way_back(register) + " (this register stays, the other backups are laid aside)")
    return "", ""


def _together(register: Path, connection: Connection, top: int) -> tuple[bool, int]:
    """Whether register and backups have a number in common, and up to which number they agree."""
    theirs: dict[int, str] = {}
    for copy in backups(register)[:1]:
        with contextlib.suppress(sqlite3.Error), contextlib.closing(
                sqlite3.connect(f"file:{quote(str(copy.path.resolve()))}?mode=ro&immutable=1", uri=True)) as raw:
            theirs |= dict(raw.execute("SELECT number, id FROM revision WHERE number <= ?", (top,)))
    for file in journals(register):
        with contextlib.suppress(OSError), file.open(encoding="utf-8", errors="replace") as lines:
            for line in lines:
                with contextlib.suppress(ValueError, KeyError, TypeError):
                    row = json.loads(line)
                    theirs.setdefault(int(row["number"]), str(row["id"]))
    ours = {r[0]: r[1] for r in connection.execute(select(revision.c.number, revision.c.id))}
    shared = sorted(set(ours) & set(theirs))
    agree = 0
    for number in shared:
        if ours[number] != theirs[number]:
            break
        agree = number
    return bool(shared), agree
