"""What comes into a school: makers from tables, forms from pictures, folders and pieces, and whose they are.

Conventions: every taking-in is one gesture in the school's register. A maker is known by name and a form by the content
of its picture or by its record in a piece, so that what comes twice changes what is there and doubles nothing.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from readaid.core.contents import Contents
from readaid.core.errors import OptionError, unknown_option
from readaid.core.person import Person
from readaid.core.piece import Source
from readaid.core.progress import Progress, counted, unheard
from readaid.core.school import Origin
from readaid.core.specimen import Specimen
from readaid.register.book import Register
from readaid.schools import specimen_table
from readaid.schools.makers import merged, read_makers
from readaid.schools.specimen_pictures import Pictures

if TYPE_CHECKING:
    import pandas as pd


class PieceLike(Protocol):
    """What a school asks of an opened piece."""

    folder: Path

    @property
    def contents(self) -> Contents: ...

    @property
    def signers(self) -> Any: ...


class Intake:
    """The half of a school that takes in; ``album.School`` is the other half and holds what is named here."""

    register: Register
    images: Pictures
    reader: str

    if TYPE_CHECKING:

        @property
        def people(self) -> tuple[Person, ...]: ...
        @property
        def makers(self) -> pd.DataFrame: ...
        @property
        def specimens(self) -> pd.DataFrame: ...
        def _specimens(self) -> list[Specimen]: ...

    # -- taking in -----------------------------------------------------------------------------------
    def add_makers(self, table: str | Path | Iterable[Person]) -> pd.DataFrame:
        """Take makers from a CSV table or from records; returns all makers, one row each.

        Parameters
        ----------
        table: a path, the text of a table (columns name, teacher, years ...; see ``makers``), or records.

        Raises
        ------
        TableError: the table has faults; all of them are told at once.
        """
        found = read_makers(table) if isinstance(table, (str, Path)) else tuple(table)
        self._save(merged(found, self.people), "makers taken in")
        return self.makers

    def add_maker(self, name: str, teacher: str | None = None, **fields: Any) -> Person:
        """Enter one maker, or change the one of this name.

        Parameters
        ----------
        name: as it is signed; it tells makers apart in the school.
        teacher: a name or id of the school, None: not said.
        fields: those of ``core.person.Person``; years are Western.

        Raises
        ------
        OptionError: the school holds no such teacher. TypeError: a person has no such field.
        """
        known = {p.name: p for p in self.people}
        if teacher is not None:
            fields["teacher"] = self._maker(teacher).id
        person = dataclasses.replace(known[name], **fields) if name in known else Person(name, **fields)
        self._save([person], "maker entered")
        return person

    def add_picture(self, image: str | Path | Any, maker: str | None = None, origin: Origin | None = None,
                    **fields: Any) -> Specimen:
        """Take in one form; a picture that is there already only adds its origin to the first specimen.

        Parameters
        ----------
        image: a picture file, or an array (H, W) or (H, W, 3) uint8 in pixels.
        maker: a name or id of the school, None: not known.
        origin: the piece or publication it stands in; by default the file.
        fields: those of ``core.specimen.Specimen``; ``year`` is Western, ``age`` in years.

        Raises
        ------
        OptionError: no such maker, or a specimen has no such field. PhotoError: the picture cannot be read.
        """
        known = {f.name for f in dataclasses.fields(Specimen)}
        for name in fields:
            if name not in known:
                raise unknown_option("specimen field", name, known - {"id", "image", "sha256", "origins"})
        if isinstance(image, (str, Path)):
            path = Path(image).expanduser()
            kept, digest = self.images.take_in(path)
            origin = origin or Origin("file", path.name, str(path))
        else:
            kept, digest = self.images.put(np.asarray(image, np.uint8))
        if maker is not None:
            fields["person"] = self._maker(maker).id
        made = self._joined(Specimen(image=kept, sha256=digest, origins=(origin,) if origin else (), **fields))
        self._save([made], "specimen taken in")
        return made

    def assign(self, specimens: Iterable[str], maker: str | None) -> None:
        """Say whose specimens are, as one gesture.

        Parameters
        ----------
        specimens: their ids.
        maker: a name or id of the school, None: not known.

        Raises
        ------
        OptionError: the school holds no such specimen or maker; nothing is changed then.
        """
        person = self._maker(maker).id if maker is not None else None
        held = {s.id: s for s in self._specimens()}
        chosen = list(specimens)
        if unknown := [i for i in chosen if i not in held]:
            raise OptionError("There is no such specimen in the school", ", ".join(unknown[:5]),
                              "take ids from school.specimens")
        self._save([dataclasses.replace(held[i], person=person) for i in chosen], "maker of specimens said")

    def add_folder(self, folder: str | Path, table: str | Path | None = None, makers: Iterable[str] = (),
                   progress: Progress = unheard) -> pd.DataFrame:
        """Take in a folder of pictures as one gesture; returns all specimens, one row each.

        Parameters
        ----------
        folder: where the pictures lie.
        table: a CSV table of what they are (see ``specimen_table``). None: every picture counts, and a subfolder named
            like a maker gives the maker.
        makers: names that are entered with the pictures where the school does not know them yet.
        progress: told before each picture; where it raises, no record and no picture has come in.

        Raises
        ------
        TableError: the table has faults; all of them are told at once. PhotoError: a picture cannot be read.
        """
        place = Path(folder).expanduser()
        fresh = {name: Person(name) for name in makers if name not in {p.name for p in self.people}}
        names = [*(p.name for p in self.people), *fresh]
        rows = (specimen_table.read(Path(table).expanduser(), place, names) if table is not None
                else specimen_table.of_folder(place, names))
        came: list[str] = []
        try:
            self._save([*fresh.values(), *self._of_rows(rows, fresh, came, progress)], "folder of pictures taken in")
        except BaseException:  # pictures without records; what any record names, a withdrawn one too, stays
            named = {s.image for s in self.register.all("specimen", withdrawn=True)}
            self.images.drop(name for name in came if name not in named)
            raise
        return self.specimens

    def _of_rows(self, rows: Sequence[specimen_table.Row], fresh: Mapping[str, Person], came: list[str],
                 progress: Progress) -> list[Any]:
        """Sources and specimens of the rows; ``came`` gets each picture kept, ``fresh`` are makers not yet saved."""
        sources = {s.citation: s for s in self.register.all("source")}
        new: dict[str, Source] = {}
        made: dict[str, Specimen] = {}
        for row in counted(rows, progress):
            source = None
            if row.citation:
                source = sources.get(row.citation) or new.setdefault(row.citation, Source("literature", row.citation))
            kept, digest = self.images.take_in(row.file)
            came.append(kept)
            origin = (Origin("publication", row.citation, row.file.name, page=row.page) if row.citation
                      else Origin("file", row.file.name, str(row.file)))
            maker = (fresh.get(row.maker) or self._maker(row.maker)).id if row.maker else None
            specimen = Specimen(
                image=kept, sha256=digest, origins=(origin,), person=maker, what=row.what, kind=row.kind, year=row.year,
                age=row.age, hand=row.hand, rights=row.rights, note=row.note, source=source.id if source else None)
            made[digest] = self._joined(specimen, made.get(digest))
        return [*new.values(), *made.values()]

    def add_piece(self, piece: PieceLike) -> list[Specimen]:
        """Take over the specimens of an opened piece with their persons and a link back; the piece is not changed.

        Parameters
        ----------
        piece: as ``readaid.open`` gives it. Taken over again, what changed in the piece is changed here.

        Raises
        ------
        PhotoError: a photograph of the piece is gone or cannot be read.
        """
        contents = piece.contents
        people = {p.id: p for p in contents.persons}
        named = {p.name: p for p in merged(tuple(people.values()), self.people)}
        made = []
        for specimen in contents.specimens:
            kept, digest = self.images.put(piece.signers.pixels(specimen))
            origin = Origin("piece", contents.piece.title, str(piece.folder), contents.piece.id, specimen.id)
            owner = people.get(specimen.person or "")
            made.append(self._joined(dataclasses.replace(
                specimen, id=Specimen().id, zone=None, photo=None, inscription=None, image=kept, sha256=digest,
                origins=(origin,), source=None, person=named[owner.name].id if owner else None,
                rights=specimen.rights or contents.piece.rights)))
        wanted = {s.person for s in made}
        line = [p for p in named.values() if p.id in wanted or any(p.id == q.teacher for q in named.values())]
        self._save([*line, *made], f"specimens of {contents.piece.title} taken over")
        return made

    def _joined(self, new: Specimen, also: Specimen | None = None) -> Specimen:
        """The specimen as it stands in the school, if it is there already, with this origin and these fields."""
        origins = {(o.piece, o.record) for o in new.origins if o.record}
        former = also or next((s for s in self._specimens() if s.sha256 == new.sha256 or any(
            (o.piece, o.record) in origins for o in s.origins if o.record)), None)
        if former is None:
            return new
        empty = Specimen(id=new.id)
        said = {f.name: getattr(new, f.name) for f in dataclasses.fields(new)
                if f.name not in ("id", "origins") and getattr(new, f.name) != getattr(empty, f.name)}
        return dataclasses.replace(former, **said, origins=tuple(dict.fromkeys((*former.origins, *new.origins))))

    # -- inside --------------------------------------------------------------------------------------
    def _maker(self, name: str) -> Person:
        found = next((p for p in self.people if name in (p.id, p.name)), None)
        if found is None:
            raise unknown_option("maker", name, [p.name for p in self.people])
        return found

    def _save(self, records: Sequence[Any], reason: str) -> None:
        held: dict[str, Any] = {r.id: r for r in self.people}
        held |= {s.id: s for s in self._specimens()}
        changed = [r for r in records if held.get(r.id) != r]
        if changed:
            self.register.save_all(changed, reader=self.reader, reason=reason)
