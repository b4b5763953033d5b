"""The opened piece: one object through which notebooks, command line and scripts do the whole job.

Conventions
-----------
* Every change is one revision (or one group of revisions in one transaction)
  per finished gesture; nothing is held back in memory, so several kernels may
  work on one folder. ``version`` grows with each revision.
* ``layout`` draws and orders zones, ``surfaces`` lays photos over each other, ``judging`` tags characters and keeps
  reading attempts, ``signing`` holds signature, dates, specimens, comparisons.
* Pixels are full-size image pixels after EXIF rotation; lengths in mm.
"""

from __future__ import annotations

import dataclasses
import getpass
from collections.abc import Iterable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from readaid.core.contents import Contents, Record
from readaid.core.errors import ConflictError, OptionError, PhotoError, ReadaidError, unknown_option
from readaid.core.photo import Photo, Scale, Zone
from readaid.core.piece import Note, Piece, Source
from readaid.piece import folder as places
from readaid.register.store import Change, Register

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from readaid.photo.pyramid import Pyramid
    from readaid.piece.judging import Judging
    from readaid.piece.layout import Layout
    from readaid.piece.sharing import Sharing
    from readaid.piece.signing import Signing
    from readaid.piece.surfaces import Surfaces

R = TypeVar("R", bound=Record)
#: Formats of the register's tables.
TABLES = ("xlsx", "parquet")


class OpenPiece:
    """A piece folder opened for work.

    Parameters
    ----------
    folder: the piece folder.
    reader: name written beside every revision; by default the piece's reader, else the account name.
    read_only: open without the right to write (needed on locked media).

    Raises
    ------
    ReadaidError: no piece there. RegisterError: the register cannot be read. A damaged register is brought back from
    its backups, and ``notices`` says what is missing.
    """

    def __init__(self, folder: str | Path, reader: str | None = None, read_only: bool = False) -> None:
        self.folder = Path(folder).expanduser().resolve()
        places.require(self.folder)
        self.register = Register.open(self.folder / places.REGISTER, read_only=read_only, recover=not read_only)
        self.read_only = read_only
        self._pyramids: dict[str, tuple[tuple[int, int], Pyramid]] = {}
        self._contents: Contents | None = None
        self._closed = False
        self._seen = 0  # number of the newest revision this writer has looked at: what a conflict is measured from
        self.reader = reader or self.piece.reader or _account()

    @classmethod
    def new(cls, folder: str | Path, reader: str | None = None, **fields: Any) -> OpenPiece:
        """Start an empty piece in ``folder``; ``fields`` are those of :class:`readaid.core.piece.Piece`."""
        path = Path(folder).expanduser().resolve()
        places.prepare(path)
        known = {f.name for f in dataclasses.fields(Piece)}
        for name in fields:
            if name not in known:
                raise unknown_option("piece field", name, known - {"id"})
        who = reader or fields.get("reader") or _account()
        fields = {"title": path.name, **fields, "reader": who}
        register = Register.open(path / places.REGISTER)
        register.save(Piece(**fields), reader=who, reason="piece started")
        register.close()
        return cls(path, reader=who)

    # -- what is there -------------------------------------------------------------------------
    @cached_property
    def notices(self) -> tuple[str, ...]:
        """What the user should be told at opening: a register brought back, a locked place, photos that have changed.

        Photos whose size and time are as noted at the last full reading are taken as unchanged; all others are read.
        """
        from readaid.register.hashes import check

        photos = check(self.folder, self.contents.photos, quick=True).troubles
        return (*self.register.notices, *photos)

    @property
    def version(self) -> int:
        """Number of the newest revision; panels poll it."""
        return self.register.version

    @property
    def contents(self) -> Contents:
        """All records of the piece as they stand now (read again only when a revision has come)."""
        if self._contents is None or self._contents.revision != self.version:
            self._contents = self.register.contents()
        self._seen = max(self._seen, self._contents.revision)
        return self._contents

    @property
    def piece(self) -> Piece:
        """The piece's own record."""
        return self.contents.piece

    def find(self, kind: type[R], record: str) -> R:
        """The record with this id, of this kind; raises OptionError if there is none."""
        seen = self.version
        found = self.register.get(record)
        self._seen = max(self._seen, seen)
        if not isinstance(found, kind):
            raise OptionError(f"There is no {kind.__name__.lower()} with this id", record,
                              "take the id from the register")
        return found

    def save(self, *records: Record, reason: str = "", withdraw: Iterable[str] = ()) -> None:
        """Write records as new revisions and withdraw others, all in one transaction (one gesture).

        Raises ConflictError when one of them was changed by somebody else since this writer last looked.
        """
        changes = [Change(r) for r in records]
        changes += [Change(self.register.get(i), withdrawn=True) for i in withdraw]
        written = self.register.write(changes, self.reader, reason, seen=self._seen)
        if written and written[0].number == self._seen + 1:  # nothing of anybody else's lies between
            self._seen = written[-1].number

    def undo(self) -> bool:
        """Take back this reader's last gesture (by a new revision); False if there is none left."""
        return bool(self.register.undo(reader=self.reader))

    def redo(self) -> bool:
        """Take back this reader's last undo; False if something was done since."""
        return bool(self.register.redo(reader=self.reader))

    def change(self, record: R, reason: str = "", **fields: Any) -> R:
        """Save ``record`` with some fields changed; returns the new record.

        The change is laid on the record as it stands now. Raises ConflictError when somebody else has changed one of
        these fields since ``record`` was read.
        """
        known = {f.name for f in dataclasses.fields(record)}
        for name in fields:
            if name not in known:
                raise unknown_option(f"{type(record).__name__.lower()} field", name, known - {"id"})
        now: R = self.find(type(record), record.id)
        for name, value in fields.items():
            theirs = getattr(now, name)
            if theirs != getattr(record, name) and theirs != value:
                raise ConflictError("Somebody else has changed this in the meantime", name.replace("_", " "),
                                    "look at it again and make your change anew", mine=value, theirs=theirs)
        changed = dataclasses.replace(now, **fields)
        if changed != now:
            self.save(changed, reason=reason)
        return changed

    def describe(self, **fields: Any) -> Piece:
        """Enter or change fields of the piece (material, dimensions, notes, translation ...)."""
        return self.change(self.piece, reason="piece described", **fields)

    # -- photos ---------------------------------------------------------------------------------
    def add_photo(self, path: str | Path, **fields: Any) -> Photo:
        """Take a photo into the folder, untouched; returns its record.

        ``fields`` are those of :class:`readaid.core.photo.Photo` (surface, light, evidence, rights ...).
        Raises PhotoError when the file is not a photo that can be read whole.
        """
        from readaid.photo.file import describe

        source = Path(path).expanduser()
        known = {f.name for f in dataclasses.fields(Photo)}
        for name in fields:
            if name not in known:
                raise unknown_option("photo field", name, known - {"id", "file", "sha256"})
        facts = describe(source)
        same = [p for p in self.contents.photos if p.sha256 == facts.sha256]
        if same:
            return same[0]
        name = places.take_in(source, self.folder, facts.sha256)
        photo = Photo(**{"file": name, "sha256": facts.sha256, "width": facts.width, "height": facts.height,
                         "bits": facts.bits, "title": source.stem, "taken": facts.taken, **fields})
        self.save(photo, reason="photo added")
        return photo

    def path(self, photo: Photo | str) -> Path:
        """Absolute path of a photo's file; raises PhotoError if it has gone or lies outside the folder."""
        record = self.find(Photo, photo) if isinstance(photo, str) else photo
        path = (self.folder / record.file).resolve()
        if not path.is_relative_to(self.folder):
            raise PhotoError("The register names a photo outside the piece folder", record.file,
                             "take the photo in again")
        if not path.is_file():
            raise PhotoError("A photo has gone from the piece folder", record.file,
                             "copy it back from the original; its SHA-256 is in the register")
        return path

    def pyramid(self, photo: Photo | str) -> Pyramid:
        """Tiles of a photo for the board. Raises PhotoError where its file has gone or is not the picture taken in."""
        from readaid.photo.pyramid import Pyramid

        record = self.find(Photo, photo) if isinstance(photo, str) else photo
        path = self.path(record)  # asked each time: a memory stick may have been pulled out meanwhile
        try:
            now = path.stat()
        except OSError as error:
            raise PhotoError("A photo cannot be read any more", record.file,
                             "see whether the disk is still there and may be read", reason=str(error)) from error
        kept = self._pyramids.get(record.id)
        if kept is None or kept[0] != (now.st_size, now.st_mtime_ns):
            made = Pyramid(path)
            if (made.width, made.height) != (record.width, record.height):
                raise PhotoError(f"The file is not the photo that was taken in: {made.width} x {made.height} pixels "
                                 f"instead of {record.width} x {record.height}", record.file,
                                 "copy the original back; its SHA-256 is in the register")
            self._pyramids[record.id] = kept = ((now.st_size, now.st_mtime_ns), made)
        return kept[1]

    def crop(self, zone: Zone | str, margin: float = 0.08) -> NDArray[np.uint8]:
        """Pixels of a zone, (H, W, 3) uint8, with a margin as a share of its size."""
        record = self.find(Zone, zone) if isinstance(zone, str) else zone
        return self.pyramid(record.photo).crop(record.box, margin)

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

    def add_note(self, about: str, text: str) -> Note:
        """Record a free note about any record."""
        note = Note(about=about, text=text)
        self.save(note, reason="note added")
        return note

    # -- the three kinds of work ------------------------------------------------------------------
    @cached_property
    def layout(self) -> Layout:
        """Zones, columns and their order."""
        from readaid.piece.layout import Layout

        return Layout(self)

    @cached_property
    def surfaces(self) -> Surfaces:
        """Photos of one surface laid over each other; relief and squared-up pictures computed from them."""
        from readaid.piece.surfaces import Surfaces

        return Surfaces(self)

    @cached_property
    def judging(self) -> Judging:
        """Characters, readings, attempts."""
        from readaid.piece.judging import Judging

        return Judging(self)

    @cached_property
    def signing(self) -> Signing:
        """Signature, dates, specimens and comparisons."""
        from readaid.piece.signing import Signing

        return Signing(self)

    @cached_property
    def sharing(self) -> Sharing:
        """Reader's copies, worksheets, archive, checks, agreement."""
        from readaid.piece.sharing import Sharing

        return Sharing(self)

    def report(self, format: str = "html", path: str | Path | None = None, **options: Any) -> Path:
        """Write the report into ``exports/`` (or ``path``); returns the file written.

        ``format`` is one of ``readaid.report.FORMATS``, or "xlsx" / "parquet" for the register's tables (see
        :meth:`tables`). ``options`` are those of :func:`readaid.report.write`: edition, language, private, blind.
        """
        if format in TABLES:
            return self.tables(format, Path(path) if path else None, private=bool(options.get("private")))
        from readaid.report import write

        return write(self.contents, self.folder, format=format, path=Path(path) if path else None, **options)

    def tables(self, format: str = "xlsx", folder: Path | None = None, private: bool = False) -> Path:
        """Write the register's frames into ``exports/tables/``: one workbook (xlsx) or a file per kind.

        Returns the workbook, or the folder of files. Where the piece is kept and its provenance stay out
        unless ``private``.
        """
        from readaid.register.exports import export

        target = folder or self.folder / places.EXPORTS / "tables"
        written = export(self.register, target, format, private=private)
        return written[0] if format == "xlsx" else target

    def close(self) -> None:
        """Close the register; closing twice is no harm."""
        if not self._closed:
            self._closed = True
            self.register.close()

    def __enter__(self) -> OpenPiece:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()

    def __repr__(self) -> str:
        c = self.contents
        return (f"<piece '{c.piece.title}' in {self.folder}: {len(c.photos)} photos, {len(c.zones)} zones, "
                f"{len(c.attempts)} attempts>")


def _account() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError, ReadaidError):
        return "reader"
