"""A school opened: its makers, specimens, sources and kept studies, in a register of its own beside the pieces.

Conventions
-----------
* Kept in a folder (``register.sqlite`` and ``pictures/``), or on a ``postgresql://`` server with a folder of pictures.
* The same register as a piece's: every change a revision with its reader, nothing overwritten, undo a revision.
* A maker is known by name: taken in again, the record is changed and not doubled. A specimen is known by the content
  of its picture and, where it comes from a piece, by that piece's record: met twice, it is one with two origins.
* Pieces stay whole without the school; a school without its pieces keeps their crops and a link back.
"""

from __future__ import annotations

import getpass
from collections.abc import Collection, Iterable, Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from readaid.core.errors import OptionError, ReadaidError
from readaid.core.person import Person
from readaid.core.progress import Progress, unheard
from readaid.core.school import SchoolRecord, StudyRecord
from readaid.core.specimen import ComparisonRecord, Specimen
from readaid.core.veil import Veil
from readaid.forms.comparison import compare
from readaid.photo.ink import Crop
from readaid.register.book import Register
from readaid.register.engine import is_url
from readaid.schools import album_frames
from readaid.schools.intake import Intake
from readaid.schools.matrix import Executor
from readaid.schools.specimen_pictures import Pictures
from readaid.schools.study import Entry, Study, unfolded
from readaid.schools.traced_forms import TracedForms

if TYPE_CHECKING:
    import pandas as pd

FILE = "register.sqlite"


class School(Intake):
    """A school opened for work; use it as a context manager, or call ``close()``.

    Parameters
    ----------
    place: a folder, or a ``postgresql://`` address. title: begins a new school where there is none yet.
    reader: name written beside every revision. pictures: the folder of pictures (by default the school's own).

    Raises ReadaidError where there is no school and no title is given, or where no folder can be made.
    """

    def __init__(self, place: str | Path, title: str | None = None, reader: str | None = None,
                 pictures: str | Path | None = None) -> None:
        self.reader = reader or _account()
        if is_url(place):
            if pictures is None:
                raise ReadaidError("A school on a server needs a folder of pictures", str(place).rpartition("@")[2],
                                   "name it: readaid.school(address, pictures=FOLDER)")
            self.folder = Path(pictures).expanduser().resolve()
            where: str | Path = str(place)
        else:
            self.folder = Path(place).expanduser().resolve()
            where = self.folder / FILE
            if title is None and not where.is_file():
                raise ReadaidError("No school is kept in this folder", str(self.folder),
                                   f'begin one with: readaid school new "{self.folder}"')
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise ReadaidError("The school's folder cannot be made", f"{self.folder}: {error.strerror}",
                               "choose a place where you may write") from error
        self.register = Register.open(where)
        self.images = Pictures(Path(pictures).expanduser().resolve() if pictures is not None else self.folder)
        self._index: tuple[int, Any, dict[str, Specimen]] | None = None
        self.tracings = TracedForms(self.register, lambda s: self.images.pixels(s.image), self._called, self.reader)
        try:
            self._begin(title)
        except BaseException:
            self.register.close()
            raise

    def _begin(self, title: str | None) -> None:
        held: list[SchoolRecord] = self.register.all("school")
        if not held:
            if self.register.all("piece", piece="*"):
                raise ReadaidError("This is the register of a piece, not of a school", self.register.where,
                                   "choose another folder for the school")
            if title is None:
                raise ReadaidError("The register holds no school yet", self.register.where, "give it a title")
            self.register.save(SchoolRecord(title, reader=self.reader), reader=self.reader, reason="school begun")

    # -- what is there -------------------------------------------------------------------------------
    @property
    def record(self) -> SchoolRecord:
        """The school's own record."""
        found: SchoolRecord = self.register.all("school")[0]
        return found

    @property
    def people(self) -> tuple[Person, ...]:
        """Makers and other persons, as records."""
        return tuple(self.register.all("person"))

    @property
    def makers(self) -> pd.DataFrame:
        """Makers, one row each: name, readings, generation, teacher (id and name), years, places, number of forms."""
        return album_frames.makers(self.people, self._specimens())

    @property
    def specimens(self) -> pd.DataFrame:
        """Specimens, one row each: maker (id and name), what, year, picture, where from, rights."""
        return album_frames.specimens(self.people, self._specimens())

    @property
    def whereabouts(self) -> pd.DataFrame:
        """Every place where a specimen stands, one row each: specimen, kind, title, address, piece, record, page."""
        return album_frames.whereabouts(self._specimens())

    @property
    def studies(self) -> pd.DataFrame:
        """Kept studies, one row each: title, number of forms, version of readaid, note."""
        return album_frames.studies(self.register.all("study"))

    def _specimens(self) -> list[Specimen]:
        return self.register.all("specimen")

    # -- working -------------------------------------------------------------------------------------
    def study(self, specimens: Iterable[str] | None = None, title: str = "", seed: int = 0,
              progress: Progress = unheard, executor: Executor | None = None,
              cluster: str | None = None) -> Study:
        """A study of chosen specimens; nothing is kept yet, and nothing compared before it is asked for.

        Parameters
        ----------
        specimens: their ids, None: all. The id or title of a kept study alone opens that one again, with its
            figures as kept.
        title: what the study is called, by default the school's title.
        seed: for every resampling and shuffle.
        progress: called with pairs done and all pairs.
        executor: compares in its workers (``concurrent.futures``).
        cluster: the address of a Dask scheduler ("tcp://...:8786") whose workers compare; same figures as here.

        Raises
        ------
        OptionError: the school holds no such specimen. ShapeError: fewer than two are chosen.
        """
        chosen = [specimens] if isinstance(specimens, str) else list(specimens) if specimens is not None else None
        if chosen is not None and len(chosen) == 1:
            kept = next((s for s in self.register.all("study") if chosen[0] in (s.id, s.title)), None)
            if kept is not None:
                return self._opened(kept)
        held = {s.id: s for s in self._specimens()}
        unknown = [i for i in chosen or () if i not in held]
        if unknown:
            raise OptionError("There is no such specimen in the school", ", ".join(unknown[:5]),
                              "take ids from school.specimens")
        entries = self._entries([held[i] for i in chosen] if chosen is not None else list(held.values()))
        if cluster is not None:
            from readaid.schools.cluster import Cluster

            executor = Cluster(cluster)
        return Study(title or self.record.title, entries, self.people, seed, progress=progress, executor=executor)

    def _opened(self, kept: StudyRecord) -> Study:
        held = {s.id: s for s in self.register.all("specimen", withdrawn=True)}
        seed = int(dict(kept.settings).get("seed", "0"))
        return Study(kept.title, self._entries([held[i] for i in kept.specimens]), self.people, seed,
                     unfolded(kept), record=kept)

    def veil(self, private: bool = False) -> Veil:
        """What of the school may leave on a page: see ``core.veil``; former values count, since labels quote them.

        Parameters
        ----------
        private: True lets private fields through, for a page that stays in the house.

        Raises
        ------
        RegisterError: the register cannot be read.
        """
        kinds = ("piece", "person", "role", "specimen")
        return Veil.over([r for kind in kinds for r in self.register.all(kind, withdrawn=True)], private=private)

    def keep(self, study: Study, note: str = "") -> StudyRecord:
        """Keep a study: its specimens, figures, settings and sentences; kept again, it is a new revision.

        Parameters
        ----------
        study: of this school.
        note: in words of your own.

        Raises
        ------
        ShapeError: a form cannot be compared. RegisterError: the register cannot be written.
        """
        record = study.kept(note)
        self._save([record], "study kept")
        study.record = record
        return record

    def keep_comparison(self, a: str, b: str, turn: str = "as it stands", traced: Collection[str] = (),
                        note: str = "") -> ComparisonRecord:
        """Compare two specimens and keep the comparison whole: turn, tracings used, transform, parts.

        Parameters
        ----------
        a, b: ids of specimens.
        turn: changes b first, one of ``forms.comparison.TURNS``.
        traced: those of "a" and "b" that are compared as they were traced.
        note: in words of your own.

        Raises
        ------
        OptionError: no such specimen or turn. ShapeError: no tracing of one is kept.
        """
        first, second = (self.tracings.form(x) if side in traced else self.tracings.photographed(x)
                         for side, x in (("a", a), ("b", b)))
        found = compare(first, second, turn)
        record = ComparisonRecord(a, b, float(found.likeness), tuple(found.parts.items()), found.transform,
                                  len(self._specimens()), note=note, turn=turn, traced=tuple(sorted(traced)))
        self.register.save_all([record], reader=self.reader, reason="forms compared")
        return record

    def rerun(self, study: str) -> tuple[Study, float]:
        """A kept study computed anew, and the largest difference of a likeness (0 to 1) from what was kept.

        Parameters
        ----------
        study: its id or title.

        Raises
        ------
        OptionError: no such study is kept.
        """
        former = self.study([study])
        if former.record is None:
            raise OptionError("There is no such study", study, "take its id from school.studies")
        anew = Study(former.title, former.entries, self.people, former.seed, record=former.record)
        return anew, float(np.abs(anew.likeness - former.likeness).max())

    def nearest(self, image: Crop, k: int = 10) -> pd.DataFrame:
        """The specimens whose lines are nearest to a new form by their stored descriptors, nearest first.

        The cosine (-1 to 1) orders the list and is no likeness; ``study(...).nearest`` compares closely and may say
        "none".

        Parameters
        ----------
        image: a picture file or an array (H, W[, 3]) uint8.
        k: how many rows.

        Raises
        ------
        ShapeError: no form shows on the picture.
        """
        import pandas as pd

        from readaid.schools.form_index import FormIndex

        version = self.register.version
        if self._index is None or self._index[0] != version:
            found = [s for s in self._specimens() if s.image]
            index = FormIndex()
            if found:
                wanted = {s.sha256: s.image for s in found}
                vectors = dict(zip(wanted, self.images.descriptors(wanted), strict=True))
                index.add([s.id for s in found], np.stack([vectors[s.sha256] for s in found]))
            # records stay beside their descriptors: read anew, a hundred thousand take longer than the search
            self._index = (version, index, {s.id: s for s in found})
        _, index, held = self._index
        near = index.nearest(image, k)
        frame = album_frames.specimens(self.people, [held[i] for i, _ in near])
        frame.insert(0, "cosine", pd.Series(dict(near), dtype=float))
        return frame[["cosine", "maker", "maker_name", "what", "year", "picture"]]

    def _entries(self, specimens: Sequence[Specimen]) -> list[Entry]:
        people = {p.id: p for p in self.people}
        seen: dict[str, int] = {}
        entries = []
        for s in specimens:
            maker = people.get(s.person or "")
            name = self._called(s, people)
            seen[name] = seen.get(name, 0) + 1
            label = name if seen[name] == 1 else f"{name} ({seen[name]})"
            entries.append(Entry(s, maker, label, self.images.pixels(s.image)))
        return entries

    def _called(self, specimen: Specimen, people: dict[str, Person] | None = None) -> str:
        known = {p.id: p for p in self.people} if people is None else people
        maker = known.get(specimen.person or "")
        return (maker.name if maker else "maker not known") + (f" {specimen.year}" if specimen.year else "")

    def close(self) -> None:
        """Close the register; leaving a ``with`` block does it too."""
        self.register.close()

    def __enter__(self) -> School:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __repr__(self) -> str:
        return (f"<school '{self.record.title}' in {self.folder}: {len(self.people)} makers, "
                f"{len(self._specimens())} specimens, {len(self.register.all('study'))} studies>")

    def _repr_html_(self) -> str:
        return f"<p>{escape(repr(self)[1:-1])}</p>"


def _account() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "reader"
