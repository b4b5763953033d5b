"""What one reader judged of one character at one time.

Conventions: a judgement is never changed, by whoever merges, copies or restores it; a reader who thinks again gives a
new one. ``sign`` is the best of what they left standing of their own, "" where they left the sign unread, None where
they judged the damage alone. What came from a colleague by a merge is not theirs.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field, replace

from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage, checked
from readaid.core.identity import new_id, now


@dataclass(frozen=True, slots=True)
class Judgement:
    """One judgement: of which character, by whom, when."""

    character: str
    reader: str
    sign: str | None = None
    confidence: float = 0.0
    damage: Damage = Damage.NOT_STATED
    made: str = field(default_factory=now)
    id: str = field(default_factory=new_id)

    def __post_init__(self) -> None:
        checked(self.confidence, self.sign or "")


def own(character: Character) -> tuple[Candidate, ...]:
    """The candidates that are no colleague's; a reason why one is not taken changes no judgement and is left out."""
    return tuple(replace(c, rejected="") for c in character.candidates if c.source != "colleague")


def given(before: Character | None, after: Character, reader: str, made: str, id: str = "") -> Judgement | None:
    """The judgement that a reader's change of a character holds; None where they only moved it or wrote a note.

    >>> seen = Character(candidates=(Candidate("き", 0.6),), id="c")
    >>> given(None, seen, "Aki", "2026-11-26").sign
    'き'
    >>> given(seen, Character(candidates=(Candidate("き", 0.6),), id="c", note="deep cut"), "Aki", "2026-11-26")
    """
    signs = own(after) != (own(before) if before else ())
    if not signs and after.damage == (before.damage if before else Damage.NOT_STATED):
        return None
    best = max(own(after), key=lambda c: c.confidence, default=None)
    sign = (best.character if best else "") if signs else None
    return Judgement(after.id, reader, sign, best.confidence if best and signs else 0.0, after.damage, made,
                     id or new_id())


def id_for(revision: str) -> str:
    """The id of the judgement that a revision of an older version holds: the same wherever it is found again."""
    return str(uuid.uuid5(uuid.NAMESPACE_OID, f"judgement in {revision}"))
