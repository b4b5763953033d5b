"""Persons, their roles on a piece, and a signature as a formula.

Conventions: several people may stand on one piece; a monogram has an owner
who need not be the maker. Name readings are alternatives, never one forced
reading; years are Western, None if unknown.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from readaid.core.identity import new_id

ROLES = ("author", "designer", "calligrapher", "carver", "maker", "pupil", "appraiser", "owner", "recipient",
         "teacher", "model")


@dataclass(frozen=True, slots=True)
class UsedName:
    """A name that a person used for a time; years Western, None if unknown."""

    name: str
    first: int | None = None
    last: int | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """A maker, author or other person; ``teacher`` is the id of another Person."""

    name: str
    id: str = field(default_factory=new_id)
    readings: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    school: str = ""
    teacher: str | None = None
    generation: int | None = None
    born: int | None = None
    died: int | None = None
    active_from: int | None = None
    active_to: int | None = None
    note: str = ""
    names: tuple[UsedName, ...] = ()  # names by period, where the years of a name help to date
    places: tuple[str, ...] = ()  # where they worked


@dataclass(frozen=True, slots=True)
class Role:
    """A person's part in a piece, as the inscription or another source says it."""

    person: str
    role: str
    id: str = field(default_factory=new_id)
    inscription: str | None = None
    source: str | None = None  # id of a Source, for weaker evidence such as a box inscription
    confidence: float = 0.5
    note: str = ""


@dataclass(frozen=True, slots=True)
class SignaturePart:
    """One part of a signature: ``kind`` from the grammar (place, residence, rank, school, name, age, verb ...)."""

    kind: str
    text: str
    start: int
    end: int
    readings: tuple[str, ...] = ()
    meaning: str = ""
    value: str = ""  # e.g. the age as a number, the date as ISO days


@dataclass(frozen=True, slots=True)
class Signature:
    """A parsed signature: parts in the order they stand, cost 0 where the grammar fits without a leap."""

    text: str
    parts: tuple[SignaturePart, ...]
    cost: float = 0.0
    id: str = field(default_factory=new_id)
    inscription: str | None = None
    note: str = ""
