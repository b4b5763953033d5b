"""The register of a piece, or of a department: open, save, withdraw, undo.

Conventions
-----------
* Nothing is overwritten: saving adds a revision, withdrawing adds one, undo adds one.
* ``save_all`` is one transaction and one gesture: all of it or none of it.
* When ``save`` returns, the change is on the disk.
* ``base`` is the number of the revision the writer had before them (0: none, the record is new); if the record
  has moved on since, nothing is saved and OvertakenError carries both versions. Each record has its own: one number
  for all that a kernel has read let a gesture of one panel be undone by another that had looked earlier.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn, Self

from sqlalchemy import Connection, Engine, bindparam, func, select

from readaid.core.character import Character
from readaid.core.contents import Record
from readaid.core.errors import ConflictError, NewerRegisterError, OvertakenError, RegisterError
from readaid.core.identity import new_id, now
from readaid.core.judgement import given
from readaid.register import backup, index
from readaid.register.backup import Keeper
from readaid.register.codec import decode, encode, kind_of
from readaid.register.engine import PATIENCE, DamagedRegisterError, is_url, lock_writers, patiently, writer_of
from readaid.register.gestures import last_gesture
from readaid.register.revision import Revision, fingerprint, sound, value_of
from readaid.register.schema import JUDGED, about, current, revision
from readaid.register.startup import FILE, open_engine
from readaid.register.values import faults
from readaid.register.view import View


@dataclass(frozen=True, slots=True)
class Change:
    """A change about to be written. ``made``, ``id``, ``reader``, ``body`` are given only for a colleague's revision.

    ``body``: the record as text as it came. Written anew it would gain the fields that a record has grown since, and
    the revision would no longer bear the fingerprint that its maker gave it.
    """

    record: Record
    withdrawn: bool = False
    base: int | None = None
    piece: str | None = None
    id: str | None = None
    made: str | None = None
    reader: str | None = None
    reason: str | None = None
    gesture: str | None = None
    undoes: str | None = None
    body: str | None = None
    merged: bool = False  # combined by a merge from two readers' values: nobody's own judgement


class Store(View):
    """A register opened for writing: what ``book.Register`` is built on. A context manager."""

    def __init__(self, engine: Engine, where: str, piece: str | None, read_only: bool, path: Path | None,
                 notices: tuple[str, ...] = (), patience: float = PATIENCE, identity: str = "",
                 troubles: tuple[str, ...] = ()) -> None:
        super().__init__(engine, where, piece)
        self.identity = identity
        self.troubles = troubles
        self.read_only = read_only
        self.path = path
        self._notices = notices
        self.patience = patience
        self._writer = writer_of(engine)
        self._keeper = Keeper(path, identity) if path is not None and not read_only else None

    @classmethod
    def open(cls, path_or_url: str | Path, read_only: bool = False, *, piece: str | None = None, create: bool = True,
             recover: bool = False, patience: float = PATIENCE) -> Self:
        """Open a register: a file, a piece folder (its ``register.sqlite``) or a ``postgresql://`` address.

        ``recover``: if it is damaged, bring back its last good state; ``notices`` then tells what is missing.
        Where the place cannot be written, the register opens for reading and ``notices`` says so.

        Raises
        ------
        NewerRegisterError: if a newer readaid wrote it; it is not touched.
        DamagedRegisterError: if it is damaged; see ``readaid.register.recovery.recover``.
        MisplacedRegisterError: if it is gone, older or another than its journal and backups know (open for reading
            only, ``notices`` says so instead).
        RegisterError: if it cannot be opened, or is missing and ``create`` is False.
        """
        told: tuple[str, ...] = ()
        # A server looks after its own backups; there is no file that could be put back.
        recover = recover and not is_url(path_or_url)
        while True:
            try:
                opened = open_engine(path_or_url, read_only, create, patience)
                made = cls(opened.engine, opened.where, piece, opened.read_only, opened.path, told + opened.notices,
                           patience, opened.identity, opened.troubles)
                # Everything that stands is read once: damage older than the last 500 revisions had been shown as
                # truth.
                if recover and not told:
                    made.verify()
                return made
            except DamagedRegisterError:
                if not recover or told:
                    raise
                from readaid.register.recovery import recover as bring_back

                told = (str(bring_back(path_or_url)),)

    def verify(self) -> None:
        """Read the last revision of every record; raises DamagedRegisterError if one is not as it was written."""
        for row in self._read(lambda c: self._standing(c, None)):
            sound(row)

    @property
    def notices(self) -> tuple[str, ...]:
        """What the user should be told about this register, in sentences; empty if nothing."""
        trouble = self._keeper.trouble if self._keeper is not None else ""
        return (*self._notices, trouble) if trouble else self._notices

    def backup(self) -> Path | None:
        """Make a backup now; its path, or None if nothing changed since the last one (or the register is on a server).

        Raises
        ------
        RegisterError: if it could not be made.
        """
        if self.path is None:
            return None
        try:
            made = backup.make(self.path)
        except (OSError, sqlite3.Error) as error:
            raise RegisterError("No backup could be made", str(backup.folder_of(self.path)), str(error)) from error
        return made.path if made else None

    def rebuild(self) -> int:
        """Make the table for searching anew from the revisions; returns the number of records."""

        def work() -> int:
            with self._writer.begin() as connection:
                lock_writers(connection)
                return index.rebuild(connection)

        return patiently(work, self.where, self.patience)

    def judgements_begin(self) -> None:
        """Say that all revisions so far are of a time when judgements were no records of their own (readaid 0.1.0)."""

        def work() -> None:
            with self._writer.begin() as connection:
                lock_writers(connection)
                last = int(connection.scalar(_LAST) or 0)
                connection.execute(about.update().where(about.c.name == JUDGED).values(value=str(last)))

        patiently(work, self.where, self.patience)

    def close(self) -> None:
        """Make a backup if one is due, and let the file go."""
        if self._keeper is not None:
            self._keeper.closing()
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # -- writing ------------------------------------------------------------------------------------------------
    def save(self, record: Record, *, reader: str, reason: str = "", base: int | None = None,
             piece: str | None = None) -> Revision:
        """Save a new record, or a new value of one, durably.

        ``base``: number of the revision the change started from (see class of conflicts above).

        Raises
        ------
        ConflictError: if the record changed since ``base``; ``.values["mine"]`` and ``["theirs"]`` hold both.
        RegisterError: if it cannot be written; then nothing was.
        """
        return self.write([Change(record, base=base, piece=piece)], reader, reason)[0]

    def save_all(self, records: Iterable[Record], *, reader: str, reason: str = "",
                 bases: Mapping[str, int] | None = None, piece: str | None = None) -> list[Revision]:
        """Save several records as one gesture: all of them or none.

        ``bases`` maps ids to the revision numbers the changes started from (``contents().numbers``). A record that
        has moved on is a conflict.
        """
        known = bases or {}
        return self.write([Change(r, base=known.get(r.id), piece=piece) for r in records], reader, reason)

    def withdraw(self, id: str, *, reader: str, reason: str = "", base: int | None = None) -> Revision:
        """Withdraw a record: it is left out from now on, its history stays."""
        return self.write([Change(self.get(id), withdrawn=True, base=base)], reader, reason)[0]

    def undo(self, *, reader: str, gesture: str | None = None) -> list[Revision]:
        """Take back the reader's last gesture (or a named one) by a new revision; empty if there is none left.

        Raises
        ------
        ConflictError: if one of its records was changed again by another gesture.
        """
        gesture = gesture or last_gesture(self, reader, undone=False)
        return self._revert(gesture, reader, "undo") if gesture else []

    def redo(self, *, reader: str) -> list[Revision]:
        """Take back the reader's last undo, if nothing was done since; empty otherwise."""
        gesture = last_gesture(self, reader, undone=True)
        return self._revert(gesture, reader, "redo") if gesture else []

    def _revert(self, gesture: str, reader: str, reason: str) -> list[Revision]:
        changes = []
        for done in self.gesture(gesture):
            past = self.history(done.record.id)
            now_at = past[-1]
            # Taking back what somebody built on meanwhile would take back theirs as well.
            if (now_at.record, now_at.withdrawn) != (done.record, done.withdrawn):  # a redo gives the same value again
                raise ConflictError(f"The record was changed after what you want to {reason}", done.record.id,
                                    "look at its history and save the value you want", mine=done.record,
                                    theirs=now_at.record, theirs_revision=now_at)
            # The value before this gesture, not before the last revision: a gesture may have been undone and done
            # again.
            before = next((r for r in reversed(past) if r.number < done.number), None)
            changes.append(Change(before.record if before else done.record,
                                  withdrawn=before.withdrawn if before else True, base=now_at.number, undoes=gesture))
        return self.write(changes, reader, reason)

    def write(self, changes: Iterable[Change], reader: str, reason: str = "", gesture: str | None = None,
              after: int | None = None) -> list[Revision]:
        """Write changes as one transaction; the ground of every other way to save.

        ``after``: number of the revision these must directly follow, for changes that rest on more than the records
        they change (a reading preferred sets all others aside); else OvertakenError.

        Raises
        ------
        ConflictError, RegisterError: as ``save``.
        """
        changes = list(changes)
        if self.read_only:
            raise RegisterError("The register is open for reading only", self.where,
                                "copy the piece folder to a place where you may write, and open it there")
        if not reader.strip():
            raise RegisterError("Nobody is named as the reader", self.where, "give the reader's name or initials")
        if not changes:
            return []
        kinds = [kind_of(change.record) for change in changes]  # first: what is no record at all has no values to ask
        for change, kind in zip(changes, kinds, strict=True):
            # What has an id of its own came from outside and was asked at the door; a withdrawal or an undo takes an
            # absurd value of former days back, and must not fail for it.
            wrong = () if change.id or change.withdrawn or change.undoes else faults(change.record)
            if wrong:
                raise RegisterError(f"The {kind} is not saved: {'; '.join(wrong)}", self.where,
                                    "enter it again with values that can be; nothing else was changed either")
        prepared = [(change, kind, change.body or encode(change.record))
                    for change, kind in zip(changes, kinds, strict=True)]
        own = [c.record.id for c in changes if c.id is None]  # a colleague's revisions may be several of one record
        if len(set(own)) < len(own):
            raise RegisterError("One gesture names the same record twice", self.where, "save its last value only")
        self._after_fork()
        if self._keeper is not None:
            self._keeper.before_writing()
        # One moment for all revisions of a gesture, and the same one when the transaction has to be run again.
        stamp, gesture = now(), gesture or new_id()

        def transaction() -> list[dict[str, Any]]:
            with self._writer.begin() as connection:
                return self._insert(connection, prepared, reader, reason, stamp, gesture, after)

        rows = patiently(transaction, self.where, self.patience)
        if self._keeper is not None:
            self._keeper.written(rows)
        return [Revision(number=r["number"], id=r["id"], record=c.record, kind=r["kind"], piece=r["piece"],
                         withdrawn=r["withdrawn"], reader=r["reader"], reason=r["reason"], made=r["made"],
                         entered=r["entered"], gesture=r["gesture"], base=r["base"], undoes=r["undoes"])
                for r, (c, _, _) in zip(rows, prepared, strict=False)]  # what is beyond are the judgements in them

    def _insert(self, connection: Connection, prepared: list[tuple[Change, str, str]], reader: str, reason: str,
                stamp: str, gesture: str, after: int | None) -> list[dict[str, Any]]:
        lock_writers(connection)
        number = int(connection.scalar(_LAST) or 0)
        if after is not None and after != number:
            raise OvertakenError("Something was changed in the meantime", self.where,
                                 "look at it again and make your change anew", after=after, number=number)
        standing: dict[str, dict[str, Any]] = {}
        ids = list({c.record.id for c, _, _ in prepared})
        # SQLite takes a limited number of values in one statement; a merge may bring thousands of ids.
        for start in range(0, len(ids), 500):
            for r in connection.execute(_STANDING, {"ids": ids[start:start + 500]}).mappings():
                standing[r["record"]] = dict(r)
        piece = self.piece if self.piece is not None else self._only_piece(connection)
        rows, new, changed = [], {}, {}
        prepared = [*prepared, *self._judged(connection, prepared, standing, reader, stamp)]
        for change, kind, body in prepared:
            number += 1
            record = change.record
            before = standing.get(record.id)
            # A zone saved under a person's id would replace the person everywhere.
            if before is not None and before["kind"] != kind:
                raise RegisterError(f"The id belongs to a record of kind '{before['kind']}'", record.id,
                                    "give each record its own id")
            if change.base is not None and change.base != (before["number"] if before else 0):
                self._conflict(connection, change, before)
            row: dict[str, Any] = {
                "number": number, "id": change.id or new_id(), "record": record.id, "kind": kind, "body": body,
                "piece": self._piece_of(change, kind, before, piece), "withdrawn": change.withdrawn,
                "reader": (change.reader or reader).replace("\x00", " "),
                "reason": (reason if change.reason is None else change.reason).replace("\x00", " "),
                "made": change.made or stamp, "entered": stamp, "gesture": change.gesture or gesture,
                "base": before["number"] if before else None, "undoes": change.undoes}
            row["digest"] = fingerprint(row)
            rows.append(row)
            derived = {"number": number, "withdrawn": change.withdrawn,
                       **index.columns(record, row["made"], row["reader"])}
            if before is None:
                new[record.id] = {"record": record.id, "kind": kind, "piece": row["piece"], "first": number, **derived}
                standing[record.id] = {"record": record.id, "number": number, "kind": kind, "piece": row["piece"]}
            elif record.id in new:
                new[record.id].update(derived)
                standing[record.id]["number"] = number
            else:
                changed[record.id] = {"key": record.id, **derived}
                standing[record.id]["number"] = number
        connection.execute(_ADD, rows if len(rows) > 1 else rows[0])
        if new:
            connection.execute(_NEW, list(new.values()) if len(new) > 1 else next(iter(new.values())))
        for row in changed.values():
            connection.execute(_CHANGED, row)
        return rows

    def _judged(self, connection: Connection, prepared: list[tuple[Change, str, str]],
                standing: dict[str, dict[str, Any]], reader: str, stamp: str) -> list[tuple[Change, str, str]]:
        """What the reader judged by these changes, as records beside them: whatever entry it came by.

        Nothing of a colleague's revisions, which bring their own, nor of what a merge combined, nor of an undo.
        """
        found = []
        for change, _, _ in prepared:
            record = change.record
            if not isinstance(record, Character) or change.id or change.withdrawn or change.undoes or change.merged:
                continue
            before = standing.get(record.id)
            row = connection.execute(select(revision).where(revision.c.number == before["number"])
                                     ).mappings().one() if before else None
            was = value_of(row) if row is not None else None
            judged = given(was if isinstance(was, Character) else None, record, reader, stamp)
            if judged is not None:
                piece = str(before["piece"]) if before else change.piece
                found.append((Change(judged, piece=piece), kind_of(judged), encode(judged)))
        return found

    def _piece_of(self, change: Change, kind: str, before: dict[str, Any] | None, only: str | None) -> str:
        if kind == "piece":
            return change.record.id
        if before is not None:
            return str(before["piece"])
        if change.piece is None and only is None:
            raise RegisterError("The register holds several pieces", self.where,
                                "say which one is meant: Register.open(..., piece=its id)")
        return change.piece if change.piece is not None else str(only)

    def _only_piece(self, connection: Connection) -> str | None:
        """The id of the only piece, "" if there is none yet, None if there are several."""
        ids = connection.scalars(_PIECES).all()
        return str(ids[0]) if len(ids) == 1 else ("" if not ids else None)

    def _conflict(self, connection: Connection, change: Change, before: dict[str, Any] | None) -> NoReturn:
        if before is None:
            raise OvertakenError("The record is not in this register", change.record.id, "save it as a new one",
                                mine=change.record, theirs=None, base=change.base)
        row = connection.execute(select(revision).where(revision.c.number == before["number"])).mappings().one()
        raise OvertakenError(f"{row['reader']} changed the record meanwhile", change.record.id,
                            "compare both versions and save the one you want", mine=change.record,
                            theirs=decode(row["kind"], row["body"]), base=change.base, number=row["number"],
                            theirs_reader=row["reader"], withdrawn=bool(row["withdrawn"]))


_LAST = select(func.max(revision.c.number))
_STANDING = select(current.c.record, current.c.number, current.c.kind, current.c.piece).where(
    current.c.record.in_(bindparam("ids", expanding=True)))
_PIECES = select(current.c.record).where(current.c.kind == "piece", current.c.withdrawn.is_(False)).limit(2)
_ADD = revision.insert()
_NEW = current.insert()
_CHANGED = current.update().where(current.c.record == bindparam("key"))

__all__ = ["FILE", "Change", "NewerRegisterError", "Store"]
