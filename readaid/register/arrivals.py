"""What came into a register since contents were read, taken into them: a gesture costs what it changed.

Conventions: the result is what a whole reading would give, record for record and in the same order (a test compares).
Where only a whole reading can tell - a piece or a photo changed, a record came back, something is faulty - the answer
is None. Records that did not change stay the same objects, so whoever made rows of them need not make those again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

from readaid.core.contents import KINDS, SCHOOL_KINDS, Contents
from readaid.core.errors import RegisterError
from readaid.register import stated_damage, values
from readaid.register.codec import decode
from readaid.register.revision import sound

#: Kinds that others hang on: zones lie on photos, persons of another piece are shown where a role names them.
GRAVE = ("piece", "photo", "person", "role", "specimen", *SCHOOL_KINDS)


def grown(known: Contents, rows: Iterable[Mapping[Any, Any]], plurals: Mapping[str, str]) -> Contents | None:
    """``known`` with the revisions of ``rows`` (those after ``known.revision``, oldest first) taken in.

    ``plurals``: the name of each kind's tuple in the contents. None where the whole must be read.
    """
    if known.faults:
        return None
    held: dict[str, dict[str, Any]] = {}
    numbers, last = dict(known.numbers), known.revision
    for row in rows:
        kind, id = row["kind"], row["record"]
        if kind in GRAVE or kind not in KINDS or row["piece"] != known.piece.id:
            return None
        if kind not in held:  # once: a kind of which all was withdrawn must not be filled again
            held[kind] = {r.id: r for r in getattr(known, plurals[kind])}
        table = held[kind]
        last = row["number"]
        if row["withdrawn"]:
            table.pop(id, None)
            numbers.pop(id, None)
            continue
        record = _readable(row)
        came_back = id not in numbers and row["base"] is not None  # undone, it stands where it first stood
        if record is None or came_back:
            return None
        table[id], numbers[id] = record, row["number"]
    tuples: dict[str, Any] = {plurals[kind]: tuple(table.values()) for kind, table in held.items()}
    return None if _tangled(known, tuples) else dataclasses.replace(known, revision=last, numbers=numbers, **tuples)


def _readable(row: Mapping[Any, Any]) -> Any:
    try:
        record = stated_damage.told(row, decode(row["kind"], sound(row)["body"], shown=True))
    except RegisterError:
        return None
    return None if values.faults(record) else record


def _tangled(known: Contents, tuples: Mapping[str, tuple[Any, ...]]) -> bool:
    """Whether a sign stands twice, or a zone or region lies nowhere: a whole reading tells that in words."""
    photos = {p.id for p in known.photos}
    return bool("inscriptions" in tuples and values.without_doubles(list(tuples["inscriptions"]))[1]) or any(
        one.photo not in photos for name in ("zones", "regions") for one in tuples.get(name, ()))
