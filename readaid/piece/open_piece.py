"""The opened piece: one object through which notebooks, command line and scripts do the whole job.

Conventions
-----------
* Every change is one revision (or one group of revisions in one transaction)
  per finished gesture; nothing is held back in memory, so several kernels may
  work on one folder. ``version`` grows with each revision.
* ``layout`` draws and orders zones, ``surfaces`` lays photos over each other, ``decipherment`` tags characters and
  keeps reading attempts, ``signers`` holds signature, dates, specimens, comparisons.
* Pixels are full-size image pixels after EXIF rotation; lengths in mm.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from readaid.core.contents import Record
from readaid.core.errors import PhotoError, ReadaidError, unknown_option
from readaid.core.identity import sha256_of
from readaid.core.photo import Photo, Scale
from readaid.core.piece import Note, Piece, Source
from readaid.core.progress import Progress, unheard
from readaid.piece import folder as places
from readaid.piece import photo_intake
from readaid.piece.holding import Holding, account
from readaid.register.book import Register

if TYPE_CHECKING:
    from readaid.core.character import Inscription
    from readaid.piece.custody import Custody
    from readaid.piece.decipherment import Decipherment
    from readaid.piece.layout import Layout
    from readaid.piece.proposal import Proposal
    from readaid.piece.reading_log import ReadingLog
    from readaid.piece.signers import Signers
    from readaid.piece.surfaces import Surfaces
    from readaid.piece.survey import Survey
    from readaid.piece.write_up import WriteUp

R = TypeVar("R", bound=Record)
#: Formats of the register's tables.
TABLES = ("xlsx", "parquet")


class OpenPiece(Holding):
    """A piece folder opened for work: a holding with everything that is done on it. Parameters as ``Holding``."""

    @classmethod
    def new(cls, folder: str | Path, reader: str | None = None, photos: str | Path | None = None,
            **fields: Any) -> OpenPiece:
        """Start an empty piece in ``folder``; ``fields`` are those of :class:`readaid.core.piece.Piece`.

        ``folder`` may be a ``postgresql://`` address; then ``photos`` is the folder of pictures.
        """
        path = places.beside(folder, photos)
        known = {f.name for f in dataclasses.fields(Piece)}
        for name in fields:
            if name not in known:
                raise unknown_option("piece field", name, known - {"id"})
        who = reader or fields.get("reader") or account()
        fields = {"title": path.name, **fields, "reader": who}
        places.prepare(path)
        with Register.open(path / places.REGISTER if photos is None else str(folder)) as register:
            if register.pieces_held() or register.all("school", piece="*"):
                raise ReadaidError("A piece or a school is kept in this register already", register.where,
                                   "open it, or make another database for the new piece")
            register.save(Piece(**fields), reader=who, reason="piece started")
        return cls(folder, reader=who, photos=photos)

    # -- what is there -------------------------------------------------------------------------
    @cached_property
    def notices(self) -> tuple[str, ...]:
        """What the user should be told at opening: a register brought back, a locked place, photos that have changed.

        Photos whose size and time are as noted at the last full reading are taken as unchanged; all others are read.
        """
        from readaid.register.hashes import check

        photos = check(self.folder, self.contents.photos, quick=True).troubles
        several = (self.several,) if self.several else ()
        return (*self.register.notices, *several, *self.contents.faults, *photos)

    def describe(self, **fields: Any) -> Piece:
        """Enter or change fields of the piece (material, dimensions, notes, translation ...)."""
        return self.change(self.piece, reason="piece described", **fields)

    # -- photos ---------------------------------------------------------------------------------
    def add_photo(self, path: str | Path, **fields: Any) -> Photo:
        """Take a photo into the folder, untouched; returns its record.

        ``fields`` are those of :class:`readaid.core.photo.Photo` (surface, light, evidence, rights ...).
        Raises PhotoError when the file is not a photo that can be read whole.
        """
        return self.add_photos([path], **fields)[0]

    def add_photos(self, paths: Sequence[str | Path], progress: Progress = unheard, **fields: Any) -> list[Photo]:
        """Take several photos in as one gesture: all of them, or none where one cannot be read.

        ``progress``: told before each; where it raises, no record and no file has come in. Raises PhotoError as
        :meth:`add_photo` does.
        """
        return self.keep_photos(photo_intake.copied(self, paths, progress, **fields))

    def keep_photos(self, copied: photo_intake.Copied) -> list[Photo]:
        """Record photos that were copied in (``photo_intake.copied``), as one gesture."""
        held = {p.id for p in self.contents.photos}
        with photo_intake.whole(self, copied.brought):
            if new := [p for p in copied.photos if p.id not in held]:
                self.save(*new, reason="photo added")
        return list(copied.photos)

    def rename_photo(self, photo: Photo | str, name: str) -> Photo:
        """Give a photo's file another name in ``photos/``; its content stays what it is.

        Raises PhotoError where the file has gone or is no longer the one taken in.
        """
        record = self.find(Photo, photo) if isinstance(photo, str) else photo
        source = self.path(record)
        if sha256_of(source) != record.sha256:
            raise PhotoError("The photo has changed since it was taken in", record.file,
                             "copy the original back before it is renamed")
        file = places.rename(record.file, name, self.folder, record.sha256)
        try:
            renamed = self.change(record, reason="photo renamed", file=file)
        except BaseException:
            (self.folder / file).unlink(missing_ok=True)
            raise
        # Only now, when the record says the new name: broken off before, the photo lies there under both.
        source.unlink(missing_ok=True)
        return renamed

    def set_scale(self, photo: Photo | str, scale: Scale) -> Photo:
        """Record the scale of a photo; its length is checked when read (see :meth:`scale_warnings`)."""
        record = self.find(Photo, photo) if isinstance(photo, str) else photo
        _ = scale.mm_per_pixel  # raises where the two points coincide
        return self.change(record, reason="scale set", scale=scale)

    def advice(self) -> list[str]:
        """What the photos lack: scale, size of the signs, lights that are missing."""
        from readaid.photo.scale import advice

        return list(advice(list(self.contents.photos), list(self.contents.zones)))

    def check_photos(self) -> list[str]:
        """One sentence per photo that is missing or no longer the one taken in (SHA-256)."""
        from readaid.register.hashes import check

        return [f"{trouble} Copy it back from the original." for trouble in
                check(self.folder, self.contents.photos).troubles]

    # -- sources and notes ------------------------------------------------------------------------
    def add_source(self, kind: str, citation: str, **fields: Any) -> Source:
        """Record evidence beside the piece: rubbing, catalogue, box inscription, certificate."""
        source = Source(kind=kind, citation=citation, **fields)
        self.save(source, reason="source added")
        return source

    def add_note(self, about: str, text: str, place: tuple[float, float] | None = None, private: bool = False) -> Note:
        """Record a free note about any record; ``place`` pins it to a photograph, in full-size pixels."""
        note = Note(about=about, text=text, place=place, private=private)
        self.save(note, reason="note added")
        return note

    # -- the three kinds of work ------------------------------------------------------------------
    @cached_property
    def layout(self) -> Layout:
        """Zones, columns and their order."""
        from readaid.piece.layout import Layout

        return Layout(self, self.surfaces)

    @cached_property
    def surfaces(self) -> Surfaces:
        """Photos of one surface laid over each other; relief and squared-up pictures computed from them."""
        from readaid.piece.surfaces import Surfaces

        return Surfaces(self)

    def propose_reading(self, inscription: Inscription | str, form: str | None = None, k: int = 5, among: str = "all",
                        time_limit: float | None = 10.0) -> Proposal:
        """Readings in which shape speaks for the signs nobody has judged; see :meth:`Decipherment.propose_reading`."""
        return self.decipherment.propose_reading(inscription, form, k, among, time_limit)

    @cached_property
    def decipherment(self) -> Decipherment:
        """Characters, readings, attempts."""
        from readaid.piece.decipherment import Decipherment

        return Decipherment(self, self.surfaces)

    @cached_property
    def signers(self) -> Signers:
        """Signature, dates, specimens and comparisons."""
        from readaid.piece.signers import Signers

        return Signers(self, self.decipherment)

    @cached_property
    def survey(self) -> Survey:
        """The condition that explains: layers, marked regions and the signs they touch, measured strokes."""
        from readaid.piece.survey import Survey

        return Survey(self, self.surfaces)

    @cached_property
    def write_up(self) -> WriteUp:
        """The catalogue entry of each inscription: proposals, and what the reader writes down."""
        from readaid.piece.write_up import WriteUp

        return WriteUp(self, self.decipherment)

    @cached_property
    def log(self) -> ReadingLog:
        """What was done, in sentences, each with its way back."""
        from readaid.piece.reading_log import ReadingLog

        return ReadingLog(self)

    @cached_property
    def custody(self) -> Custody:
        """Reader's copies, worksheets, archive, checks, agreement."""
        from readaid.piece.custody import Custody

        return Custody(self)

    def report(self, format: str = "html", path: str | Path | None = None, **options: Any) -> Path:
        """Write the report into ``exports/`` (or ``path``); returns the file written.

        ``format`` is one of ``readaid.report.FORMATS``, or "xlsx" / "parquet" for the register's tables (see
        :meth:`tables`). ``options`` are those of :func:`readaid.report.write`: edition, language, private, blind, part.
        """
        from readaid.report import FORMATS

        if format not in (*FORMATS, *TABLES):
            raise unknown_option("report format", format, (*FORMATS, *TABLES))
        if format in TABLES:
            return self.tables(format, Path(path) if path else None, bool(options.get("private")),
                               bool(options.get("blind")))
        from readaid.report import write

        target = places.outlet(Path(path), self.folder) if path else None
        return write(self.contents, self.folder, format=format, path=target, **options)

    def tables(self, format: str = "xlsx", folder: Path | None = None, private: bool = False,
               blind: bool = False) -> Path:
        """Write the register's frames into ``exports/tables/``: one workbook (xlsx) or a file per kind.

        Returns the workbook, or the folder of files. ``private`` and ``blind``: what may leave, see ``core.veil``.
        """
        from readaid.register.exports import export

        target = folder or self.folder / places.EXPORTS / "tables"
        if folder is not None and format == "xlsx":
            places.outlet(target / "register.xlsx", self.folder)
        written = export(self.register, target, format, private=private, blind=blind)
        return written[0] if format == "xlsx" else target

    def __repr__(self) -> str:
        c = self.contents
        return (f"<piece '{c.piece.title}' in {self.folder}: {len(c.photos)} photos, {len(c.zones)} zones, "
                f"{len(c.attempts)} attempts>")
