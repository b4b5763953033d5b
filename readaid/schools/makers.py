"""A school: its makers with their teachers, as read from a table, and how far apart they stand.

Conventions: a maker is a ``core.person.Person`` whose ``teacher`` is the id of another. The table is CSV with a
header; ``name`` is required, and ``teacher`` (a name of the table), ``generation``, ``born``, ``died``,
``active_from``, ``active_to`` (Western years), ``school``, ``aliases``, ``readings`` (parted by ;) and ``note`` may
follow. All faults of a table are told at once.
"""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt

from readaid.core.errors import TableError, unknown_option
from readaid.core.person import Person

Floats = npt.NDArray[np.float64]
YEARS = ("generation", "born", "died", "active_from", "active_to")
COLUMNS = ("name", "teacher", *YEARS, "school", "aliases", "readings", "note")


def read_makers(table: str | Path) -> tuple[Person, ...]:
    """Read makers from a CSV file (a Path, or a text with line breaks).

    Generations not given are counted from the teacher. Raises TableError with every fault, a loop of teachers among
    them.

    >>> [m.generation for m in read_makers("name,teacher\\nAkihisa,\\nYasunori,Akihisa\\n")]
    [1, 2]
    """
    where = "the table" if isinstance(table, str) and "\n" in table else Path(table).name
    if isinstance(table, str) and "\n" in table:
        text = table
    else:
        try:
            text = Path(table).read_text(encoding="utf-8-sig")
        except FileNotFoundError:
            raise TableError("The table of makers was not found", where, "check the name and folder") from None
    rows = list(csv.DictReader(io.StringIO(text)))
    columns = list(rows[0]) if rows else []
    if "name" not in columns:
        raise TableError(
            "The table of makers has no column 'name'", where, "add a header line: name,teacher,generation"
        )
    for column in columns:
        if column not in COLUMNS:
            raise unknown_option("column", str(column), COLUMNS)
    faults: list[str] = []
    people: dict[str, Person] = {}
    teachers: dict[str, tuple[int, str]] = {}
    for number, row in enumerate(rows, 2):
        name = (row.get("name") or "").strip()
        if not name or name in people:
            faults.append(f"row {number}: {'the name is missing' if not name else f'{name} stands twice'}")
            continue
        years: dict[str, int | None] = {}
        for column in YEARS:
            value = (row.get(column) or "").strip()
            try:
                years[column] = int(value) if value else None
            except ValueError:
                years[column] = None
                faults.append(f"row {number}: {column} is '{value}', not a whole number")
        parted = {
            c: tuple(v.strip() for v in (row.get(c) or "").split(";") if v.strip()) for c in ("aliases", "readings")
        }
        people[name] = Person(
            name,
            readings=parted["readings"],
            aliases=parted["aliases"],
            school=(row.get("school") or "").strip(),
            generation=years["generation"],
            born=years["born"],
            died=years["died"],
            active_from=years["active_from"],
            active_to=years["active_to"],
            note=(row.get("note") or "").strip(),
        )
        if teacher := (row.get("teacher") or "").strip():
            teachers[name] = (number, teacher)
    for name, (number, teacher) in teachers.items():
        if teacher not in people:
            faults.append(f"row {number}: the teacher {teacher} is not in the table")
        else:
            people[name] = dataclasses.replace(people[name], teacher=people[teacher].id)
    if faults:
        raise TableError("The table of makers has faults", where, "; ".join(faults), faults=faults)
    return checked(people.values())


def checked(makers: Iterable[Person]) -> tuple[Person, ...]:
    """The makers with generations filled in; raises TableError if teachers run in a loop or are missing."""
    people = {m.id: m for m in makers}
    faults = []
    for maker in people.values():
        way = [maker]
        while way[-1].teacher is not None:
            teacher = people.get(way[-1].teacher)
            if teacher is None:
                faults.append(f"the teacher of {way[-1].name} is not among the makers")
                break
            if teacher in way:
                names = [p.name for p in way[way.index(teacher) :]] + [teacher.name]
                if maker is teacher and maker.name == min(names):
                    faults.append("teachers run in a loop: " + " was taught by ".join(names))
                break
            way.append(teacher)
    if faults:
        raise TableError(
            "The teachers do not make a tree",
            "",
            "; ".join(dict.fromkeys(faults)) + ": correct one row of it",
            faults=faults,
        )
    return tuple(dataclasses.replace(m, generation=m.generation or len(_line(m, people))) for m in people.values())


def _line(maker: Person, people: dict[str, Person]) -> list[str]:
    """Ids from the maker up to the founder."""
    line = [maker.id]
    while (teacher := people[line[-1]].teacher) is not None:
        line.append(teacher)
    return line


def merged(found: Iterable[Person], known: Iterable[Person]) -> tuple[Person, ...]:
    """Makers taken in beside those that are there: one known by name is changed and not doubled.

    What a table leaves empty stays as it was; teachers named by an id of ``found`` are led to the id that stays.

    >>> there = Person("Akihisa", id="a", born=1740)
    >>> merged([Person("Akihisa", id="x", died=1801)], [there])[0]
    Person(name='Akihisa', id='a', ..., born=1740, died=1801, ...)
    """
    new = tuple(found)
    there = {p.name: p for p in known}
    stays = {p.id: there[p.name].id if p.name in there else p.id for p in new}
    out = []
    for person in new:
        former = there.get(person.name)
        teacher = stays.get(person.teacher, person.teacher) if person.teacher else None
        if former is None:
            out.append(dataclasses.replace(person, teacher=teacher))
            continue
        empty = Person(person.name, id=person.id)
        said = {f.name: getattr(person, f.name) for f in dataclasses.fields(person)
                if f.name not in ("id", "teacher") and getattr(person, f.name) != getattr(empty, f.name)}
        out.append(dataclasses.replace(former, **said, teacher=teacher or former.teacher))
    return tuple(out)


def lineage_distances(makers: Sequence[Person]) -> Floats:
    """Steps from maker to maker along the tree of teachers, (n, n); makers of different trees stand one step
    farther apart than any two of one tree.

    >>> lineage_distances(read_makers("name,teacher\\nA,\\nB,A\\nC,A\\n")).tolist()
    [[0.0, 1.0, 1.0], [1.0, 0.0, 2.0], [1.0, 2.0, 0.0]]
    """
    people = {m.id: m for m in makers}
    lines = [_line(m, people) for m in makers]
    out = np.full((len(lines), len(lines)), np.nan)
    for i, a in enumerate(lines):
        for j, b in enumerate(lines):
            common = next((k for k in a if k in b), None)
            if common is not None:
                out[i, j] = a.index(common) + b.index(common)
    return np.where(np.isnan(out), np.nanmax(out) + 1, out)


def year_of(maker: Person) -> float | None:
    """The middle of a maker's years of work, or of a guess from birth (from 20 on) and death; None if nothing is
    known."""
    begin = (
        maker.active_from if maker.active_from is not None else (maker.born + 20 if maker.born is not None else None)
    )
    end = maker.active_to if maker.active_to is not None else maker.died
    known = [y for y in (begin, end) if y is not None]
    return sum(known) / len(known) if known else None


def taught_by_self(person: Person, known: Mapping[str, Person]) -> bool:
    """Whether the line of teachers comes back to the person.

    >>> a = Person("a", id="a", teacher="b"); taught_by_self(a, {"b": Person("b", id="b", teacher="a")})
    True
    """
    seen, at = {person.id}, person.teacher
    while at:
        if at in seen:
            return True
        seen.add(at)
        at = known[at].teacher if at in known else None
    return False
