"""Merging a colleague's revisions: three-way, field by field, candidates sign by sign.

Conventions
-----------
* What a reader judged of a sign is a record of its own and comes in as it is; the character keeps our candidates, with
  the colleague's beside them.
* The base is the last state of a record that both have; it is taken as the copy shows it, so what a
  blind copy hid counts as unchanged and comes back.
* Orders of signs are woven: what either drew has its place (``column_merge``).
* Every revision of the colleague enters the history under its own id, reader and time. Where both changed
  the same thing, ours stands and a ``Conflict`` tells both values; nothing is lost either way.
"""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass, fields, replace
from html import escape
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from readaid.copies.column_merge import woven
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.confidence import word
from readaid.core.contents import Record
from readaid.core.errors import OvertakenError, RegisterError
from readaid.core.identity import new_id
from readaid.core.judgement import id_for
from readaid.core.photo import Photo
from readaid.core.progress import Progress, counted, unheard
from readaid.register import stated_damage
from readaid.register.book import Register
from readaid.register.codec import decode
from readaid.register.gestures import MERGE
from readaid.register.judgements import held_in
from readaid.register.revision import Revision
from readaid.register.schema import revision
from readaid.register.store import Change

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Conflict:
    """Both changed the same thing. ``label`` says where a character stands; ``base`` is what it was."""

    kind: str
    record: str
    label: str
    field: str
    base: Any
    ours: Any
    theirs: Any
    ours_by: str
    theirs_by: str

    @property
    def words(self) -> str:
        """The conflict in a sentence.

        >>> Conflict("character", "c", "verse, column 1, character 2", "damage", "intact", "worn", "lost", "Aki", "Bun"
        ...          ).words
        'verse, column 1, character 2, damage: Aki says worn, Bun says lost'
        """
        return (f"{self.label}, {self.field.replace('_', ' ')}: {self.ours_by} says {in_words(self.ours)}, "
                f"{self.theirs_by} says {in_words(self.theirs)}")


@dataclass(frozen=True, slots=True)
class Merged:
    """What a merge did: revisions added, records new to us, conflicts in reading order."""

    added: int
    new_records: int
    conflicts: tuple[Conflict, ...]
    readers: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()

    def frame(self) -> pd.DataFrame:
        """The conflicts as a DataFrame."""
        import pandas as pd

        names = [f.name for f in fields(Conflict)]
        return pd.DataFrame([[getattr(c, n) for n in names] for c in self.conflicts], columns=names, dtype="object")

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><td>{escape(c.label)}</td><td>{escape(c.field)}</td>"
                       f"<td lang='ja'>{escape(in_words(c.ours))}</td>"
                       f"<td lang='ja'>{escape(in_words(c.theirs))}</td><td>{escape(c.theirs_by)}</td></tr>"
                       for c in self.conflicts)
        return (f"<p>{self.added} revisions from {escape(', '.join(self.readers) or 'nobody')}, "
                f"{len(self.conflicts)} conflicts</p><table><tr><th>where</th><th>what</th><th>ours</th><th>theirs</th>"
                f"<th>by</th></tr>{rows}</table>")


def in_words(value: Any) -> str:
    """A value of a record as one would say it.

    >>> in_words(Candidate("か", 0.6)), in_words(None), in_words(True), in_words((("a", "b"), ("c",)))
    ('か (unsure, 0.60)', 'nothing', 'yes', '2 columns of 2 and 1')
    """
    if isinstance(value, Candidate):
        return f"{value.character} ({word(value.confidence)}, {value.confidence:.2f})"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or value == "" or value == ():
        return "nothing"
    if isinstance(value, float | int):
        return f"{value:g}"
    if isinstance(value, tuple):
        if all(isinstance(v, tuple) and all(isinstance(x, str) for x in v) for v in value):
            return f"{len(value)} columns of {' and '.join(str(len(v)) for v in value)}"
        if all(isinstance(v, str) for v in value):
            return ", ".join(value)
        return f"{len(value)} values"
    return str(value) if isinstance(value, str) else f"another {type(value).__name__.lower()}"


#: What a photo's record says of its file: what lies in our folder counts, never what a copy says of its own.
_OF_THE_FILE = ("file", "sha256", "width", "height", "bits")


@dataclass(frozen=True, slots=True)
class _Theirs:
    base: Record | None
    base_number: int | None
    last: Record
    withdrawn: bool
    reader: str
    rows: list[dict[str, Any]]


#: How often a merge is begun anew when somebody writes to the register meanwhile.
_TRIES = 20


def merge_rows(register: Register, rows: list[dict[str, Any]], reader: str, reason: str, piece: str,
               judged: bool = True, progress: Progress = unheard) -> Merged:
    """Merge rows of a revision table (checked before) into a register, as one transaction.

    ``judged``: whether judgements are records in them; from older rows they are read, and written down as such.
    ``progress``: told before each record and once after; where it raises, nothing was written.
    """
    for left in range(_TRIES - 1, -1, -1):
        try:
            return _merge(register, rows, reader, reason, piece, judged, progress)
        # Somebody saved meanwhile: what was combined rests on values that are no longer there, so it is begun anew.
        except OvertakenError:
            if not left:
                raise
    raise AssertionError("unreachable")  # pragma: no cover


def _merge(register: Register, rows: list[dict[str, Any]], reader: str, reason: str, piece: str,
           judged: bool, progress: Progress) -> Merged:
    known = _known(register, list({r["record"] for r in rows}))
    on_purpose = stated_damage.note(rows)  # as the copy shows it: a blind one hid what had been seen before
    by_record: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        by_record.setdefault(row["record"], []).append(row)
    changes: list[Change] = []
    conflicts: list[Conflict] = []
    readers: list[str] = []
    new = 0
    for id, theirs_rows in counted(tuple(by_record.items()), progress):
        # A revision keeps its id wherever it is copied, so a copy merged twice adds nothing.
        fresh = [r for r in theirs_rows if r["id"] not in known]
        if not fresh:
            continue
        ours = register.last(id)
        if ours is not None and ours.kind != fresh[0]["kind"]:
            raise RegisterError("The copy gives an id of this register to another kind of record", id,
                                "ask for a new copy")
        # Persons belong to a school and are shared by its pieces; nothing else may cross.
        if (ours.piece if ours else fresh[0]["piece"]) not in ("", piece) and fresh[0]["kind"] != "person":
            raise RegisterError("The copy holds a record of another piece", id, "ask for a new copy")
        if fresh[0]["kind"] == "piece" and id != piece:
            raise RegisterError("The copy holds a second piece", id, "ask for a new copy")
        old = [r for r in theirs_rows if r["id"] in known]
        theirs = _Theirs(_record(old[-1], on_purpose) if old else None,
                         # The last revision that both have is the base, not the first: what was agreed since is no
                         # change.
                         known[old[-1]["id"]] if old else None, _record(fresh[-1], on_purpose),
                         bool(fresh[-1]["withdrawn"]), fresh[-1]["reader"], fresh)
        readers += [r["reader"] for r in fresh if r["reader"] not in readers]
        new += ours is None and fresh[0]["kind"] != "judgement"
        for at, row in enumerate(fresh):
            changes.append(Change(
                _record(row, on_purpose), bool(row["withdrawn"]), (ours.number if ours else 0) if at == 0 else
                None, row["piece"] or piece, row["id"], row["made"], row["reader"], row["reason"],
                row["gesture"], row["undoes"], row["body"]))
        if ours is not None:
            value, gone, found = _combine(ours, theirs)
            conflicts += found
            # Where the result is what they have, their own revision says it, and nobody else need sign for it.
            if (value, gone) != (theirs.last, theirs.withdrawn):
                changes.append(Change(value, gone, merged=True))
    if not judged:
        changes += [Change(j, piece=row["piece"] or piece, id=id_for(f"revision {j.id}"), made=j.made, reader=j.reader,
                           reason="", gesture=row["gesture"])
                    for row, j in held_in(rows) if row["id"] not in known and j.id not in register]
    added = len(changes)
    register.write(changes, reader, reason, gesture=MERGE + new_id())
    labels = _labels(register)
    order = {id: at for at, id in enumerate(labels)}
    told = [replace(c, label=labels.get(c.record, c.kind)) for c in conflicts]
    told.sort(key=lambda c: order.get(c.record, len(order)))
    return Merged(added, new, tuple(told), tuple(readers))


def _record(row: dict[str, Any], on_purpose: Set[str]) -> Any:
    """The record of a copy's row, with the damage that its reader stated."""
    return stated_damage.told(row, decode(row["kind"], row["body"]), on_purpose)


def _known(register: Register, records: list[str]) -> dict[str, int]:
    """Numbers here of the revisions of these records, by the revisions' ids."""
    found: dict[str, int] = {}
    for start in range(0, len(records), 400):
        query = select(revision.c.id, revision.c.number).where(revision.c.record.in_(records[start:start + 400]))
        found |= {r[0]: r[1] for r in register._read(lambda c, q=query: c.execute(q).all())}  # type: ignore[misc]
    return found


def _labels(register: Register) -> dict[str, str]:
    """Where each character stands, in reading order."""
    found: dict[str, str] = {}
    for inscription in register.all("inscription", piece="*"):
        assert isinstance(inscription, Inscription)
        name = inscription.title or str(inscription.kind)
        for column, ids in enumerate(inscription.columns, 1):
            for place, id in enumerate(ids, 1):
                found[id] = f"{name}, column {column}, character {place}"
    return found


def _combine(ours: Revision, theirs: _Theirs) -> tuple[Record, bool, list[Conflict]]:
    """The merged value, whether it is withdrawn, and what is in conflict."""
    mine, other, base = ours.record, theirs.last, theirs.base
    conflicts: list[Conflict] = []

    def conflict(field: str, was: Any, a: Any, b: Any) -> None:
        conflicts.append(Conflict(ours.kind, mine.id, "", field, was, a, b, ours.reader, theirs.reader))

    values: dict[str, Any] = {}
    for item in fields(mine):
        a, b = getattr(mine, item.name), getattr(other, item.name)
        was = getattr(base, item.name) if base is not None else None
        if item.name == "candidates":
            values[item.name] = _candidates(was or (), a, b, "" if ours.reader == theirs.reader else theirs.reader)
        elif item.name == "columns" and base is not None and a != b and was not in (a, b):
            # One found a sign between two, the other a column: both are new, and neither contradicts the other.
            values[item.name], clash = woven(was or (), a, b)
            if clash:
                conflict(item.name, was, a, b)
        # A copy carries the photographs without their metadata: its checksum is right for its own file and wrong for
        # ours.
        elif a == b or (base is not None and b == was) or (isinstance(mine, Photo) and item.name in _OF_THE_FILE):
            values[item.name] = a
        elif base is not None and a == was:
            values[item.name] = b
        else:
            values[item.name] = a
            conflict(item.name, was, a, b)
    if isinstance(mine, Character) and isinstance(other, Character):
        best, their_best = mine.best, other.best
        # Sure of another sign is a conflict; less sure of the same sign is none.
        if best and their_best and best.character != their_best.character and other.candidates != (
                base.candidates if isinstance(base, Character) else ()):
            conflict("reading", None, best, their_best)
    gone = ours.withdrawn
    if ours.withdrawn != theirs.withdrawn:
        # Here nothing happened since the copy was made, so their withdrawing, or bringing back, stands.
        if ours.number == theirs.base_number:
            gone = theirs.withdrawn
        else:
            conflict("withdrawn", None, ours.withdrawn, theirs.withdrawn)
    return type(mine)(**values), gone, conflicts


def _candidates(was: tuple[Candidate, ...], mine: tuple[Candidate, ...], other: tuple[Candidate, ...],
                colleague: str) -> tuple[Candidate, ...]:
    """Our candidates, as sure as we are of them, and those a colleague added as a colleague's.

    How sure they are of ours, and which they would leave out, stands in their judgement and is not written over ours;
    why they reject one is told with their name where we gave no reason.
    What the same reader did in another copy (``colleague`` is "") is taken over where nothing was done here.
    """
    before, here, there = ({c.character: c for c in group} for group in (was, mine, other))
    merged = dict(here)
    for sign in dict.fromkeys((*here, *there)):
        w, a, b = before.get(sign), here.get(sign), there.get(sign)
        if a is None and w is None and b is not None:
            # Marked as a colleague's, or it would look as if our reader had seen it.
            merged[sign] = replace(b, source="colleague") if colleague else b
        elif colleague and a and b and b.rejected and not a.rejected and (w is None or w.rejected != b.rejected):
            merged[sign] = replace(a, rejected=f"{b.rejected} ({colleague})")
        elif not colleague and a == w and b != w:
            if b is None:
                merged.pop(sign, None)
            else:
                merged[sign] = b
    return tuple(merged.values())
