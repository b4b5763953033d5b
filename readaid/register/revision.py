"""One change to one record: what it became, by whom, when and why.

Conventions: ``number`` counts from 1 within a register; ``id`` is a UUID and
stays the same in every copy. ``made`` is when the reader did it, ``entered``
when it came into this register.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

from readaid.core.contents import Record
from readaid.register import stated_damage
from readaid.register.codec import decode, digest
from readaid.register.engine import DamagedRegisterError

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Revision:
    """A change. ``record`` is the value it gave (for a withdrawal: the last value)."""

    number: int
    id: str
    record: Record
    kind: str
    piece: str
    withdrawn: bool
    reader: str
    reason: str
    made: str
    entered: str
    gesture: str
    base: int | None = None
    undoes: str | None = None


def fingerprint(row: Any) -> str:
    """Digest over everything a row of the revision table says, itself excepted.

    The number is left out: a colleague's revision keeps its digest when it is merged.
    """
    return digest(row["id"], row["record"], row["kind"], row["piece"], row["body"], bool(row["withdrawn"]),
                  row["reader"], row["reason"], row["made"], row["gesture"], row["undoes"])


def sound(row: T) -> T:
    """The row of the revision table, if its digest fits it.

    Raises
    ------
    DamagedRegisterError: if the row is not as it was written.
    """
    of: Any = row
    if fingerprint(of) != of["digest"]:
        raise DamagedRegisterError(f"Revision {of['number']} of the register is not as it was written",
                                   cure="recover it from the backups in the piece folder (readaid recover)",
                                   number=of["number"])
    return row


def value_of(row: Any) -> Record:
    """The record that a row of the revision table gives; raises as ``sound``."""
    return stated_damage.told(row, decode(row["kind"], sound(row)["body"]))


def from_row(row: Any) -> Revision:
    """A Revision from a row of the revision table; raises as ``value_of``."""
    return Revision(number=row["number"], id=row["id"], record=value_of(row), kind=row["kind"],
                    piece=row["piece"], withdrawn=bool(row["withdrawn"]), reader=row["reader"], reason=row["reason"],
                    made=row["made"], entered=row["entered"], gesture=row["gesture"], base=row["base"],
                    undoes=row["undoes"])
