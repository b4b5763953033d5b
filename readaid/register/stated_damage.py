"""Which "intact" of an older register a reader really said.

Conventions: until 0.2 a sign that nobody had assessed was stored as "intact". A body of that time has no field
"editorial"; its "intact" is read as "not stated", unless an earlier revision of the same sign said something else: then
somebody looked and put it back. Revisions are never rewritten, so this is settled when a register is opened, by the ids
of the revisions, which are the same wherever they are found again.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

from sqlalchemy import Connection, inspect, select

from readaid.core.character import Character
from readaid.core.confidence import Damage
from readaid.register.schema import revision

R = TypeVar("R")
_OLD, _INTACT = '"editorial"', '"damage":"intact"'
#: Ids of revisions whose "intact" was set on purpose.
_SET: set[str] = set()


def look(connection: Connection) -> None:
    """Note the revisions of this register whose "intact" was set on purpose."""
    if not inspect(connection).has_table("revision"):
        return
    rows = connection.execute(select(revision.c.id, revision.c.record, revision.c.body).where(
        revision.c.kind == "character", revision.c.body.not_like(f"%{_OLD}%")).order_by(revision.c.number))
    assessed: set[str] = set()
    for id, record, body in rows:
        if _INTACT not in body:
            assessed.add(record)
        elif record in assessed:
            _SET.add(id)


def told(row: Any, record: R) -> R:
    """The record of a row with the damage that its reader stated."""
    if isinstance(record, Character) and row["id"] in _SET:
        return replace(record, damage=Damage.INTACT)
    return record
