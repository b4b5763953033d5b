"""Search over many pieces at once: a folder of piece folders, a school, a register on a server, or all of them.

Conventions
-----------
* What is asked is asked of each register in turn, and all of it must fit; hits come place by place, newest first within
  one. Nothing is written, and a register that cannot be opened is told in ``Finds.troubles`` and stops nobody.
* In a piece ``maker``, ``place`` and ``dated`` choose pieces (``register.lookup``), and ``sign`` records in which it
  stands. In a school they choose specimens: ``dated`` by the specimen's year, else by its maker's working years;
  ``place`` by where its maker worked; ``sign`` by what the specimen is.
* Days are ISO 8601; a bare year stands for all of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from readaid.core.contents import Record
from readaid.core.errors import ReadaidError
from readaid.core.person import Person
from readaid.core.specimen import Specimen
from readaid.piece.folder import REGISTER, is_piece
from readaid.register.book import Register
from readaid.register.engine import is_url
from readaid.register.index import fold
from readaid.register.lookup import days, shown


@dataclass(frozen=True, slots=True)
class Find:
    """One record found: ``where`` the folder or server, ``title`` of the piece or school, ``text`` in a few words."""

    where: str
    title: str
    kind: str
    id: str
    text: str
    reader: str
    made: str
    record: Record


@dataclass(frozen=True, slots=True)
class Finds:
    """What was found in ``places`` registers; ``total`` counts all, ``troubles`` tells what could not be looked at."""

    finds: tuple[Find, ...]
    total: int
    places: int
    troubles: tuple[str, ...] = ()

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><td>{escape(f.title)}</td><td>{f.kind}</td><td lang='ja'>{escape(f.text)}</td>"
                       f"<td>{escape(f.reader)}</td><td>{f.made[:10]}</td></tr>" for f in self.finds[:50])
        return f"<p>{self.total} found in {self.places} registers</p><table>{rows}</table>"


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: every field that is not empty must fit. ``dated`` is first and last day as ``days`` gives them."""

    text: str = ""
    sign: str = ""
    maker: str = ""
    place: str = ""
    dated: tuple[str, str] | None = None
    reader: str = ""


def registers(places: str | Path | Sequence[str | Path]) -> list[str]:
    """Folders and addresses that hold a register: those named, and those that lie in them.

    Raises ReadaidError where a place holds none.
    """
    found: list[str] = []
    for place in [places] if isinstance(places, str | Path) else places:
        if is_url(place):
            found.append(str(place))
            continue
        folder = Path(place).expanduser().resolve()
        below = folder.rglob(REGISTER) if folder.is_dir() else ()
        inside = [folder] if is_piece(folder) else sorted(
            p.parent for p in below if "backups" not in p.relative_to(folder).parts)
        if not inside:
            raise ReadaidError("Neither a piece nor a school is kept there", str(folder),
                               "name a piece folder, a school, or a folder that holds some")
        found += [str(p) for p in inside]
    return list(dict.fromkeys(found))


def search(places: str | Path | Sequence[str | Path], text: str = "", *, sign: str = "", maker: str = "",
           place: str = "", dated: tuple[str, str] | None = None, reader: str = "", limit: int = 200) -> Finds:
    """Search pieces and schools.

    Parameters
    ----------
    places: a piece folder, a school's folder, a folder that holds some, a ``postgresql://`` address, or a list of such.
    text: words anywhere in a record; all must be there. sign: a sign as written. maker: name, reading or alias.
    place: where a signature says or a person is known to have worked. dated: first and last day or year.
    reader: who entered it. limit: how many finds at most; ``Finds.total`` counts all.

    Raises ReadaidError where a place holds no register, or for what is no day.
    """
    asked = Question(text, sign, maker, place, days(dated) if dated is not None else None, reader)
    finds: list[Find] = []
    troubles: list[str] = []
    total, wanted = 0, registers(places)
    for where in wanted:
        try:
            with Register.open(where if is_url(where) else Path(where) / REGISTER, read_only=True) as register:
                found, count = _of_one(register, where.rpartition("@")[2], asked, limit)
        except ReadaidError as error:
            troubles.append(f"{where.rpartition('@')[2]}: {error}")
            continue
        finds += found
        total += count
    return Finds(tuple(finds[:limit]), total, len(wanted), tuple(troubles))


def _of_one(register: Register, where: str, asked: Question, limit: int) -> tuple[list[Find], int]:
    school = register.all("school", piece="*")
    if school:
        rows = list(_of_school(register, asked))
        made = [Find(where, school[0].title, kind, record.id, said, *_entered(register, record.id), record)
                for kind, record, said in rows[:limit]]
        return made, len(rows)
    kinds = "piece" if (asked.maker or asked.place or asked.dated) and not (asked.text or asked.sign) else None
    found = register.search(asked.text, character=asked.sign, maker=asked.maker, place=asked.place, dated=asked.dated,
                            reader=asked.reader, kinds=kinds, limit=limit)
    return [Find(where, h.title, h.kind, h.id, shown(h.record), h.reader, h.made, h.record)
            for h in found.hits], found.total


def _entered(register: Register, record: str) -> tuple[str, str]:
    last = register.last(record)
    return (last.reader, last.made) if last is not None else ("", "")


def _of_school(register: Register, asked: Question) -> Iterator[tuple[str, Any, str]]:
    """Specimens that fit, then makers where only they were asked about; each with its kind and a few words."""
    people: dict[str, Person] = {p.id: p for p in register.all("person")}
    for s in register.all("specimen"):
        maker = people.get(s.person or "")
        if _fits(register, s, maker, asked):
            yield "specimen", s, f"{maker.name if maker else 'maker not known'} {s.year or ''} {s.what}".strip()
    if not asked.sign:
        for p in people.values():
            if _person_fits(p, asked) and (asked.text or asked.maker or asked.place) and _words(
                    asked.text, _texts(p)) and _entered_by(register, p.id, asked.reader):
                yield "person", p, p.name


def _entered_by(register: Register, record: str, reader: str) -> bool:
    return not reader or _entered(register, record)[0] == reader


def _texts(person: Person) -> Iterable[str]:
    return (person.name, *person.readings, *person.aliases, person.school, *(n.name for n in person.names),
            *person.places, person.note)


def _words(text: str, among: Iterable[str]) -> bool:
    held = fold(" ".join(among))
    return all(word in held for word in fold(text).split())


def _person_fits(person: Person | None, asked: Question) -> bool:
    """Whether a person is the maker asked for, worked at the place, and in the years."""
    if asked.maker and (person is None or not _words(asked.maker, (person.name, *person.readings, *person.aliases,
                                                                   *(n.name for n in person.names)))):
        return False
    if asked.place and (person is None or not _words(asked.place, person.places)):
        return False
    return asked.dated is None or (person is not None and _years(person, *asked.dated))


def _years(person: Person, first: str, last: str) -> bool:
    begin, end = person.active_from or person.born, person.active_to or person.died
    if begin is None and end is None:
        return False
    return (begin if begin is not None else -9999) <= int(last[:4]) and (
        end if end is not None else 9999) >= int(first[:4])


def _fits(register: Register, specimen: Specimen, maker: Person | None, asked: Question) -> bool:
    if asked.sign and specimen.what != asked.sign:
        return False
    if asked.dated is not None and specimen.year is not None:
        first, last = asked.dated
        if not int(first[:4]) <= specimen.year <= int(last[:4]):
            return False
        if not _person_fits(maker, Question(maker=asked.maker, place=asked.place)):
            return False
    elif not _person_fits(maker, asked):
        return False
    said = (specimen.what, specimen.kind, specimen.hand, specimen.note, *(_texts(maker) if maker else ()),
            *(t for o in specimen.origins for t in (o.title, o.page)))
    return _words(asked.text, said) and _entered_by(register, specimen.id, asked.reader)
