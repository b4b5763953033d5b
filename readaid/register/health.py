"""The full check of a register, on demand: every page, every revision, the derived table.

Conventions: problems are sentences; an empty list means that all is well. Reads
everything (some 8 s of processor time for 100,000 revisions), changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from html import escape

from sqlalchemy import Connection, func, select
from sqlalchemy.exc import DatabaseError

from readaid.core.errors import RegisterError
from readaid.core.progress import Progress, unheard
from readaid.register import index
from readaid.register.codec import decode
from readaid.register.engine import patiently
from readaid.register.revision import fingerprint
from readaid.register.schema import current, lost, revision
from readaid.register.view import View


@dataclass(frozen=True, slots=True)
class Health:
    """What a check found. ``lost``: revisions known to be missing since an earlier recovery."""

    problems: tuple[str, ...]
    revisions: int
    lost: tuple[int, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    def _repr_html_(self) -> str:
        if self.sound:
            return f"<p>The register is sound: {self.revisions} revisions.</p>"
        return "<ul>" + "".join(f"<li>{escape(p)}</li>" for p in self.problems) + "</ul>"


def check(view: View, progress: Progress = unheard) -> Health:
    """Read the whole register and say what is wrong with it; ``progress`` is told every hundred revisions."""

    def work() -> Health:
        with view._engine.begin() as connection:
            return _check(connection, progress)

    try:
        found = patiently(work, view.where)
        return replace(found, problems=(*getattr(view, "troubles", ()), *found.problems))
    except RegisterError as error:
        return Health((str(error),), 0)


def _check(connection: Connection, progress: Progress) -> Health:
    problems: list[str] = []
    of = int(connection.scalar(select(func.count()).select_from(revision)) or 0)
    if connection.dialect.name == "sqlite":
        found = connection.exec_driver_sql("PRAGMA integrity_check(20)").scalars().all()
        problems += [f"SQLite: {line}" for line in found if line != "ok"]
    gone = set(connection.scalars(select(lost.c.number)))
    expected, count = 1, 0
    try:
        for row in connection.execute(select(revision).order_by(revision.c.number)).mappings():
            number = int(row["number"])
            absent = [n for n in range(expected, number) if n not in gone]
            if absent:
                problems.append(f"{len(absent)} revisions are missing before number {number}")
            expected, count = number + 1, count + 1
            if count % 100 == 0:
                progress(count, of)
            if fingerprint(row) != row["digest"]:
                problems.append(f"Revision {number} is not as it was written")
                continue
            try:
                decode(row["kind"], row["body"])
            except RegisterError as error:
                problems.append(f"Revision {number}: {error}")
    except DatabaseError as error:
        problems.append(f"The revisions after number {expected - 1} cannot be read: {error.orig}")
        return Health(tuple(problems), count, tuple(sorted(gone)))
    # A damaged revision makes the search table differ as well: told once, as what it is.
    if not problems:
        held = {r["record"]: dict(r) for r in connection.execute(select(current)).mappings()}
        if held != {r["record"]: r for r in index.derive(connection)}:
            problems.append("The table for searching does not stand with the revisions: rebuild it")
    last = int(connection.scalar(select(func.max(revision.c.number))) or 0)
    # An index may end before the table does, or say a number that no row has.
    if last != expected - 1:
        problems.append(f"The last revision is {last}, but {expected - 1} could be read")
    return Health(tuple(problems), count, tuple(sorted(gone)))
