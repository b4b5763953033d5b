"""What each reader judged of each character, and what was settled.

Conventions: a judgement is a record of its own (``core.judgement``), written with the change that holds it. Registers
and copies of readaid 0.1.0 have none: there it is read from the revisions of the character, up to the one at which the
register began to write them. Oldest first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, inspect, select

from readaid.core.attempt import Attempt
from readaid.core.character import Character
from readaid.core.confidence import Status
from readaid.core.judgement import Judgement, given, id_for
from readaid.register.gestures import MERGE
from readaid.register.revision import value_of
from readaid.register.schema import JUDGED, about, revision
from readaid.register.view import View


def judgements(view: View, *, piece: str | None = None, last_only: bool = True) -> list[Judgement]:
    """Judgements by every reader; ``last_only``: the last of each reader on each character.

    With ``last_only`` a judgement of the damage alone joins the reader's last one of the sign (their sign, their newer
    damage); its ``sign`` is "" if there is none.
    """
    held: dict[str, Judgement] = {j.id: j for j in _older(view, piece)}
    held |= {j.id: j for j in view.all("judgement", piece=piece)}
    ordered = sorted(held.values(), key=lambda j: (j.made, j.id))
    if not last_only:
        return [j if j.sign is not None else replace(j, sign="") for j in ordered]
    found: dict[tuple[str, str], Judgement] = {}
    for judged in ordered:
        # Taken out and put in again, so that the list stays in the order of the last judgements.
        earlier = found.pop((judged.character, judged.reader), None)
        if judged.sign is None:
            judged = replace(judged, sign=earlier.sign if earlier else "",
                             confidence=earlier.confidence if earlier else 0.0)
        found[judged.character, judged.reader] = judged
    return list(found.values())


def _older(view: View, piece: str | None) -> list[Judgement]:
    """Judgements that revisions from before the time of judgements hold."""
    query = select(revision).where(revision.c.kind == "character", ~revision.c.gesture.startswith(MERGE)).order_by(
        revision.c.number)
    scope = view._scope(piece)
    if scope is not None:
        query = query.where(revision.c.piece == scope)

    def work(connection: Connection) -> list[Any]:
        upto = began(connection)
        asked = view._until(query if upto is None else query.where(revision.c.number <= upto))
        return [] if upto == 0 else list(connection.execute(asked).mappings().all())

    return [judged for _, judged in held_in(view._read(work))]


def held_in(rows: Iterable[Any]) -> Iterator[tuple[Any, Judgement]]:
    """The judgements in rows of revisions, oldest first, as their readers made them, each with its row."""
    before: dict[str, Character] = {}
    for row in rows:
        if row["kind"] != "character":
            continue
        record = value_of(row)
        assert isinstance(record, Character)
        judged = given(before.get(record.id), record, row["reader"], row["made"], id_for(row["id"]))
        before[record.id] = record
        # An undo brings another's value back without judging it anew.
        if judged is not None and not row["withdrawn"] and not row["undoes"]:
            yield row, judged


def began(connection: Connection) -> int | None:
    """Number of the last revision from before judgements were written; None where they are not yet."""
    if not inspect(connection).has_table("about"):
        return None
    # From this number on judgements are records; before it they are read out of the revisions, so none counts twice.
    said = connection.scalar(select(about.c.value).where(about.c.name == JUDGED))
    return None if said is None else int(said)


def settled(view: View, *, piece: str | None = None) -> dict[str, tuple[str, str]]:
    """What each character was settled as, and when: from settled attempts, else from what the reader fixed."""
    found: dict[str, tuple[str, str]] = {}
    inscriptions = {i.id: i for i in view.all("inscription", piece=piece)}
    for character in view.all("character", piece=piece):
        if character.fixed:
            last = view.last(character.id)
            found[character.id] = (character.fixed, last.made if last else "")
    # Attempts come after what was fixed: a settled reading is of the whole and says the later word.
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
