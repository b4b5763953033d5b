"""Which "intact" of an older register a reader really said.

Conventions: until 0.2 a sign that nobody had assessed was stored as "intact". A body of that time has no field
"editorial"; its "intact" is read as "not stated", unless an earlier revision of the same sign said something else: then
somebody looked and put it back. Revisions are never rewritten, so this is settled by the ids of the revisions, which
are the same wherever they are found again: when a register is opened, when a copy comes in, and when revisions are met
that came in by another program meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable, Set
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
#: Ids of revisions with an older "intact" that have been looked at, in whatever register they were.
_MET: set[str] = set()


def look(connection: Connection, records: Iterable[str] | None = None) -> None:
    """Note the revisions of this register whose "intact" was set on purpose; only those of ``records`` where given."""
    if not inspect(connection).has_table("revision"):
        return
    query = select(revision.c.id, revision.c.kind, revision.c.record, revision.c.body).where(
        revision.c.kind == "character", revision.c.body.not_like(f"%{_OLD}%")).order_by(revision.c.number)
    for some in [None] if records is None else _some(list(records)):
        asked = query if some is None else query.where(revision.c.record.in_(some))
        note(connection.execute(asked).mappings())


def _some(ids: list[str], most: int = 400) -> list[list[str]]:
    return [ids[at:at + most] for at in range(0, len(ids), most)]


def note(rows: Iterable[Any]) -> frozenset[str]:
    """Note which of these revisions, oldest first, set "intact" on purpose, as far as they tell; returns their ids.

    >>> rows = [{"id": f"stated {n}", "kind": "character", "record": "c", "body": f'{{"damage":"{d}"}}'}
    ...         for n, d in enumerate(("intact", "worn", "intact"))]
    >>> note(rows)
    frozenset({'stated 2'})
    >>> [told(row, Character()).damage.value for row in rows]
    ['not stated', 'not stated', 'intact']
    """
    assessed: set[str] = set()
    found: set[str] = set()
    for row in rows:
        if row["kind"] != "character" or _OLD in row["body"]:
            continue
        if _INTACT not in row["body"]:
            assessed.add(row["record"])
        else:
            _MET.add(row["id"])
            if row["record"] in assessed:
                found.add(row["id"])
    _SET.update(found)
    return frozenset(found)


def met(connection: Connection, rows: Iterable[Any]) -> None:
    """Look where any of these rows came into the register after it was looked at."""
    strange = {row["record"] for row in rows if row["kind"] == "character" and row["id"] not in _MET
               and _INTACT in row["body"] and _OLD not in row["body"]}
    if strange:
        look(connection, strange)


def told(row: Any, record: R, on_purpose: Set[str] | None = None) -> R:
    """The record of a row with the damage that its reader stated.

    ``on_purpose``: ids of revisions that set "intact", where only some rows are looked at; None: all that are known.
    """
    if isinstance(record, Character) and row["id"] in (_SET if on_purpose is None else on_purpose):
        return replace(record, damage=Damage.INTACT)
    return record
