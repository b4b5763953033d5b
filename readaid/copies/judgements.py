"""What each reader judged of each character, read from the history.

Conventions: a judgement is the best candidate of a revision in which its reader changed the candidates;
what came from a colleague by a merge is not taken for the merger's own judgement. Oldest first.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select

from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage, Status
from readaid.register.revision import from_row
from readaid.register.schema import revision
from readaid.register.view import View


@dataclass(frozen=True, slots=True)
class Judgement:
    """A reader's judgement of one character at one time; ``sign`` is "" where they left it unread."""

    character: str
    reader: str
    sign: str
    confidence: float
    damage: Damage
    made: str


def judgements(view: View, *, piece: str | None = None, last_only: bool = True) -> list[Judgement]:
    """Judgements from the revisions of characters; ``last_only``: the last of each reader on each character."""
    query = select(revision).where(revision.c.kind == "character", revision.c.withdrawn.is_(False)).order_by(
        revision.c.number)
    scope = view._scope(piece)
    if scope is not None:
        query = query.where(revision.c.piece == scope)
    before: dict[str, Character] = {}
    found: dict[tuple[str, str, int], Judgement] = {}
    for row in view._read(lambda c: c.execute(view._until(query)).mappings().all()):
        done = from_row(row)
        record = done.record
        assert isinstance(record, Character)
        previous = before.get(record.id)
        before[record.id] = record
        own = _own(record)
        if previous is not None and _own(previous) == own and record.damage == previous.damage:
            continue  # they moved a zone or wrote a note
        key = (record.id, done.reader, 0 if last_only else done.number)
        if previous is not None and _own(previous) == own:  # only the damage was judged: the sign is not theirs
            earlier = found.pop(key, None)
            sign, sure = (earlier.sign, earlier.confidence) if earlier else ("", 0.0)
        else:
            best = max(own, key=lambda c: c.confidence, default=None)
            sign, sure = (best.character, best.confidence) if best else ("", 0.0)
            found.pop(key, None)
        found[key] = Judgement(record.id, done.reader, sign, sure, record.damage, done.made)
    return list(found.values())


def _own(character: Character) -> tuple[Candidate, ...]:
    return tuple(c for c in character.candidates if c.source != "colleague")


def settled(view: View, *, piece: str | None = None) -> dict[str, tuple[str, str]]:
    """What each character was settled as, and when: from settled attempts, else from what the reader fixed."""
    found: dict[str, tuple[str, str]] = {}
    inscriptions = {i.id: i for i in view.all("inscription", piece=piece)}
    for character in view.all("character", piece=piece):
        if character.fixed:
            last = view.last(character.id)
            found[character.id] = (character.fixed, last.made if last else "")
    for attempt in view.all("attempt", piece=piece):
        assert isinstance(attempt, Attempt)
        if attempt.status != Status.SETTLED:
            continue
        last = view.last(attempt.id)
        signs = dict(attempt.chosen)
        inscription = inscriptions.get(attempt.inscription)
        written = "".join(attempt.written.split())
        if not signs and inscription is not None and len(written) == len(inscription.characters):
            signs = dict(zip(inscription.characters, written, strict=True))
        for id, sign in signs.items():
            if sign and sign != "?":
                found[id] = (sign, last.made if last else attempt.made)
    return found
