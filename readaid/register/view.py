"""Reading the register: now, or as it stood at some moment.

Conventions: lists are in the order of entry; withdrawn records are left out
unless asked for. A view of a past moment answers the same questions.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, date, datetime
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Connection, Engine, RowMapping, Select, and_, func, or_, select

from readaid.core.contents import KINDS, SCHOOL_KINDS, Contents
from readaid.core.errors import RegisterError
from readaid.core.person import Person, Role
from readaid.core.piece import Piece
from readaid.core.specimen import Specimen
from readaid.register import stated_damage, values
from readaid.register.arrivals import grown
from readaid.register.codec import as_kind, decode
from readaid.register.engine import DamagedRegisterError, patiently
from readaid.register.revision import Revision, from_row, sound, value_of
from readaid.register.schema import current, revision

T = TypeVar("T")

#: Name of each kind in the plural, as on ``core.contents.Contents``.
PLURALS: dict[str, str] = {
    "piece": "pieces", "photo": "photos", "zone": "zones", "view": "views", "tracing": "tracings",
    "inscription": "inscriptions", "character": "characters", "attempt": "attempts", "person": "persons",
    "role": "roles", "signature": "signatures", "specimen": "specimens", "comparison": "comparisons",
    "example": "examples", "source": "sources", "note": "notes", "date": "dates", "school": "schools",
    "study": "studies", "judgement": "judgements", "entry": "entries", "layer": "layers", "region": "regions",
    "measure": "measures",
}


def moment(time: str | datetime | date) -> str:
    """A moment as the register writes it: UTC, ISO 8601. A day without a time means its end.

    >>> moment("2026-11-25"), moment("2026-11-25T12:00:00+09:00")
    ('2026-11-25T23:59:59.999+00:00', '2026-11-25T03:00:00.000+00:00')
    """
    if isinstance(time, str):
        try:
            time = date.fromisoformat(time) if len(time) <= 10 else datetime.fromisoformat(time)
        except ValueError as error:
            raise RegisterError(f"'{time}' is no moment", cure="write 2026-11-25 or 2026-11-25T14:30") from error
    if not isinstance(time, datetime):
        # "As it stood on the 25th" means with what was done on the 25th.
        time = datetime(time.year, time.month, time.day, 23, 59, 59, 999_000, tzinfo=UTC)
    if time.tzinfo is None:
        time = time.astimezone()
    return time.astimezone(UTC).isoformat(timespec="milliseconds")


class View:
    """What can be asked of a register. ``cutoff`` is the last revision number seen, None: all."""

    def __init__(self, engine: Engine, where: str, piece: str | None = None, cutoff: int | None = None) -> None:
        self._engine = engine
        self.where = where
        self.piece = piece
        self.cutoff = cutoff
        self._process = os.getpid()

    def _after_fork(self) -> None:
        """A connection must not be used by two processes: a child of ``fork`` opens its own."""
        if os.getpid() != self._process:
            # The parent still uses the connections: the child forgets them and must not close them.
            self._engine.dispose(close=False)
            self._process = os.getpid()

    def _read(self, work: Callable[[Connection], T]) -> T:
        self._after_fork()

        def run() -> T:
            with self._engine.begin() as connection:
                return work(connection)

        return patiently(run, self.where)

    def _rows(self, query: Select[Any]) -> Sequence[RowMapping]:
        """The rows of revisions that a query finds."""
        def work(connection: Connection) -> Sequence[RowMapping]:
            rows = connection.execute(query).mappings().all()
            stated_damage.met(connection, rows)
            return rows

        return self._read(work)

    # -- which revisions ----------------------------------------------------------------------------------------
    def _last(self, kind: str | None, piece: str | None, withdrawn: bool) -> Select[Any]:
        """Rows of the last revision of each record, in the order of entry."""
        if self.cutoff is None:
            # By record too: a search table that names another record's row must show nothing rather than that.
            query = select(revision).join(current, and_(current.c.number == revision.c.number,
                                                        current.c.record == revision.c.record)).order_by(
                current.c.first)
            scope, gone, what = current.c.piece, current.c.withdrawn, current.c.kind
        else:
            last = (select(func.max(revision.c.number).label("number"), func.min(revision.c.number).label("first"))
                    .where(revision.c.number <= self.cutoff).group_by(revision.c.record).subquery())
            query = select(revision).join(last, last.c.number == revision.c.number).order_by(last.c.first)
            scope, gone, what = revision.c.piece, revision.c.withdrawn, revision.c.kind
        if kind is not None:
            query = query.where(what == kind)
        if piece is not None:
            query = query.where(scope == piece)
        return query if withdrawn else query.where(gone.is_(False))

    def _everything(self, piece: str | None) -> Select[Any]:
        """The last row of each record, withdrawn ones too, straight from the revisions: the derived table may err.

        ``of`` is the record whose last row it should be. With ``piece``, that piece's and all pieces and persons.
        """
        last = select(revision.c.record, func.max(revision.c.number).label("number"),
                      func.min(revision.c.number).label("first")).group_by(revision.c.record)
        of = self._until(last).subquery()
        query = (select(revision, of.c.record.label("of")).select_from(
            of.outerjoin(revision, revision.c.number == of.c.number)).order_by(of.c.first))
        return query if piece is None else query.where(or_(
            revision.c.piece == piece, revision.c.kind.in_(("piece", "person")), revision.c.number.is_(None)))

    def _standing(self, connection: Connection, piece: str | None) -> Sequence[RowMapping]:
        """The rows of ``_everything``, each the last of the record that it should be.

        Raises
        ------
        DamagedRegisterError: if the index of revisions names one that is another record's, or is not there.
        """
        rows = connection.execute(self._everything(piece)).mappings().all()
        if any(row["record"] != row["of"] for row in rows):
            raise DamagedRegisterError("The register's list of records is not as it was written", self.where,
                                       "recover it from the backups in the piece folder (readaid recover)")
        stated_damage.met(connection, rows)
        return rows

    def _scope(self, piece: str | None) -> str | None:
        return None if piece == "*" else (piece or self.piece)

    # -- records ------------------------------------------------------------------------------------------------
    def all(self, kind: str | type, *, piece: str | None = None, withdrawn: bool = False) -> list[Any]:
        """Every record of a kind ("attempt" or ``Attempt``), in the order of entry.

        ``piece`` narrows to one piece; "*" looks at all pieces even if the register was opened for one.
        """
        kind = as_kind(kind)
        query = self._last(kind, self._scope(piece), withdrawn)
        return [value_of(row) for row in self._rows(query)]

    def get(self, id: str, *, withdrawn: bool = False) -> Any:
        """The record with this id as it stands.

        Raises
        ------
        RegisterError: if there is no such record, or it was withdrawn and ``withdrawn`` is not set.
        """
        found = self.last(id)
        if found is None:
            raise RegisterError("There is no such record", id, "it may belong to another register", id=id)
        if found.withdrawn and not withdrawn:
            raise RegisterError("The record was withdrawn", id, "its history is kept: see history()", id=id)
        return found.record

    def last(self, id: str) -> Revision | None:
        """The last revision of a record, None if there is none."""
        query = select(revision).where(revision.c.record == id).order_by(revision.c.number.desc()).limit(1)
        return next((from_row(row) for row in self._rows(self._until(query))), None)

    def __contains__(self, id: object) -> bool:
        found = self.last(str(id))
        return found is not None and not found.withdrawn

    def history(self, id: str) -> list[Revision]:
        """Every revision of a record, oldest first; empty if there is no such record."""
        return self._revisions(revision.c.record == id)

    def since(self, version: int) -> list[Revision]:
        """Revisions after ``version``, oldest first: what a panel has not seen yet."""
        scope = [revision.c.piece == self.piece] if self.piece else []
        return self._revisions(revision.c.number > version, *scope)

    def gestures_since(self, version: int, reader: str) -> list[str]:
        """Ids of the gestures this reader made after ``version``, oldest first; no record is read for it."""
        scope = [revision.c.piece == self.piece] if self.piece else []
        query = self._until(select(revision.c.gesture).where(
            revision.c.number > version, revision.c.reader == reader, *scope).order_by(revision.c.number))
        return list(dict.fromkeys(self._read(lambda c: c.scalars(query).all())))

    def gesture(self, id: str) -> list[Revision]:
        """The revisions that one gesture made."""
        return self._revisions(revision.c.gesture == id)

    def _until(self, query: Select[Any]) -> Select[Any]:
        return query if self.cutoff is None else query.where(revision.c.number <= self.cutoff)

    def _revisions(self, *where: ColumnElement[bool]) -> list[Revision]:
        query = self._until(select(revision).where(and_(*where)).order_by(revision.c.number))
        return [from_row(r) for r in self._rows(query)]

    @property
    def version(self) -> int:
        """Number of the last revision, 0 in an empty register; it only grows."""
        query = self._until(select(func.max(revision.c.number)))
        return int(self._read(lambda c: c.scalar(query)) or 0)

    def version_at(self, time: str | datetime | date) -> int:
        """Number of the last revision that was there at a moment (a day: at its end, UTC)."""
        query = self._until(select(func.max(revision.c.number)).where(revision.c.entered <= moment(time)))
        return int(self._read(lambda c: c.scalar(query)) or 0)

    # -- whole --------------------------------------------------------------------------------------------------
    def contents(self, piece: str | None = None) -> Contents:
        """Everything about one piece, from one moment, as plain records.

        Raises
        ------
        RegisterError: if the register holds no piece, or several and none was named.
        """
        chosen = self._scope(piece)

        def work(connection: Connection) -> tuple[int, Sequence[RowMapping]]:
            number = int(connection.scalar(self._until(select(func.max(revision.c.number)))) or 0)
            return number, self._standing(connection, chosen)

        number, rows = self._read(work)
        numbers: dict[str, int] = {}
        faults: list[str] = []

        def taken(row: RowMapping) -> list[Any]:
            body = sound(row)["body"]
            if row["withdrawn"]:
                return []
            try:
                record = stated_damage.told(row, decode(row["kind"], body, shown=True))
            except RegisterError:
                faults.append(f"Record {row['record']} ({row['kind']}) cannot be read and is left out.")
                return []
            if isinstance(record, Piece):
                record = values.bearable(record)
            elif wrong := _wrong(row["digest"], record):
                faults.append(f"Record {row['record']} ({row['kind']}) has values that cannot be ({wrong}) and is "
                              "left out.")
                return []
            numbers[record.id] = row["number"]
            return [record]

        pieces = [record for row in rows if row["kind"] == "piece" for record in taken(row)]
        if chosen is None and len(pieces) != 1:
            raise RegisterError("The register holds no piece yet" if not pieces else
                                f"The register holds {len(pieces)} pieces", self.where,
                                "enter the piece first" if not pieces else "say which: contents(piece=its id)",
                                pieces=[p.id for p in pieces])
        whole = [p for p in pieces if chosen in (None, p.id)]
        if not whole:
            raise RegisterError("There is no such piece in the register", str(chosen), "choose one of its pieces")
        records: dict[str, list[Any]] = {kind: [] for kind in KINDS}
        people: list[Person] = []
        for row in rows:
            kind = row["kind"]
            if kind == "piece":
                continue
            if chosen is None or row["piece"] == chosen or len(pieces) == 1:
                records[kind] += taken(row)
            elif kind == "person":
                people += taken(row)
        records["person"] += _named(people, records["role"], records["specimen"], records["person"])
        for kind in ("piece", *SCHOOL_KINDS):
            del records[kind]
        assert isinstance(whole[0], Piece)
        records["inscription"], doubled = values.without_doubles(records["inscription"])
        faults += [f"Sign {id} stands more than once in the order: it is shown where it stands first." for id in
                   doubled]
        photos = {p.id for p in records["photo"]}
        for kind in ("zone", "region"):
            records[kind] = _lying(records[kind], photos, faults)
        return Contents(piece=whole[0], revision=number, numbers=numbers, faults=tuple(faults),
                        **{PLURALS[kind]: tuple(found) for kind, found in records.items()})

    def newer(self, known: Contents) -> Contents | None:
        """What ``known`` became by what was entered since; None where only ``contents`` can tell."""
        if self.cutoff is not None or self.piece not in (None, known.piece.id):
            return None
        query = select(revision).where(revision.c.number > known.revision).order_by(revision.c.number)
        return grown(known, self._rows(query), PLURALS)

    def pieces_held(self) -> list[Piece]:
        """The pieces of this register."""
        return self.all("piece", piece="*")


#: What was found wrong with a revision's values, by its digest: contents are read again after every gesture.
_LOOKED: dict[str, str] = {}


def _wrong(digest: str, record: Any) -> str:
    found = _LOOKED.get(digest)
    if found is None:
        if len(_LOOKED) > 200_000:
            _LOOKED.clear()
        found = _LOOKED[digest] = "; ".join(values.faults(record))
    return found


def _lying(outlines: list[Any], photos: set[str], faults: list[str]) -> list[Any]:
    """The zones or regions that lie on a photo; the others are told, since one of them stopped every report."""
    found = []
    for one in outlines:
        if one.photo in photos:
            found.append(one)
        else:
            faults.append(f"{type(one).__name__} {one.id} lies on no photo of the piece and is left out.")
    return found


def _named(others: list[Person], roles: Iterable[Role], specimens: Iterable[Specimen],
           own: Iterable[Person]) -> list[Person]:
    """Persons entered under another piece that this piece names, and their teachers."""
    by_id = {p.id: p for p in others}
    wanted = [r.person for r in roles] + [s.person for s in specimens if s.person] + [
        p.teacher for p in own if p.teacher]
    found: dict[str, Person] = {}
    while wanted:
        person = by_id.get(wanted.pop())
        if person is not None and person.id not in found:
            found[person.id] = person
            wanted += [person.teacher] if person.teacher else []
    return list(found.values())


