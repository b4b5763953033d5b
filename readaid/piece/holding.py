"""What is held of one piece: its folder, its register, its photos' pixels. The parts of the work hold it in turn.

Conventions: every change is one revision (or one group in one transaction) per finished gesture; nothing is held back
in memory, so several kernels may work on one folder. ``version`` grows with each revision. Pixels are full-size image
pixels after EXIF rotation.
"""

from __future__ import annotations

import dataclasses
import getpass
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self, TypeVar

from readaid.core.condition import Region
from readaid.core.contents import Contents, Record
from readaid.core.errors import (
    ConflictError,
    OptionError,
    OvertakenError,
    PhotoError,
    ReadaidError,
    unknown_option,
)
from readaid.core.photo import Photo, Zone
from readaid.core.piece import Piece
from readaid.piece import folder as places
from readaid.piece import links
from readaid.piece.moment import Moment
from readaid.register.book import Register
from readaid.register.engine import is_url
from readaid.register.store import Change
from readaid.register.values import faults

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from readaid.photo.pyramid import Pyramid

R = TypeVar("R", bound=Record)
T = TypeVar("T")


class Holding:
    """A piece folder with its register and photos.

    Parameters
    ----------
    folder: the piece folder, or the ``postgresql://`` address of its register.
    photos: the folder of pictures beside a register on a server.
    reader: name written beside every revision; by default the piece's reader, else the account name.
    read_only: open without the right to write (needed on locked media).

    Raises
    ------
    ReadaidError: no piece there. RegisterError: the register cannot be read. A damaged register is brought back from
    its backups, and ``register.notices`` says what is missing.
    """

    def __init__(self, folder: str | Path, reader: str | None = None, read_only: bool = False,
                 photos: str | Path | None = None) -> None:
        self.folder = places.beside(folder, photos)
        links.refuse(self.folder)
        if is_url(folder):
            self.register = Register.open(str(folder), read_only=read_only)
            self._require_piece()
        else:
            places.require(self.folder)
            # Recovered unasked: whoever opens a piece cannot be expected to know a command for it, and nothing is
            # thrown away.
            self.register = Register.open(self.folder / places.REGISTER, read_only=read_only, recover=not read_only)
        self.several = ""
        self._settle_on_one()
        if not self.register.read_only:
            places.sweep(self.folder)
        self.read_only = read_only
        self._pyramids: dict[str, tuple[tuple[int, int], Pyramid]] = {}
        self._contents: Contents | None = None
        self._closed = False
        self._moment = Moment(self._newest)
        self.reader = reader or self.piece.reader or account()

    def _require_piece(self) -> None:
        """A register on a server without a piece is closed again and told; a school is no piece."""
        if not self.register.pieces_held():
            where = self.register.where
            self.register.close()
            raise ReadaidError("No piece is kept in this register", where,
                               "start one: readaid.new(address, photos=FOLDER, title=...)")

    @property
    def version(self) -> int:
        """Number of the newest revision; panels poll it."""
        return self.register.version

    @property
    def contents(self) -> Contents:
        """All records of the piece as they stand now, in a gesture as they stood when it began.

        They are read again only when a revision has come.
        """
        return self._moment.contents or self._newest()

    def _newest(self) -> Contents:
        held = self._contents
        # One number is asked for instead of all records: panels read the contents at every gesture.
        if held is not None and held.revision == self.version:
            return held
        grown = self.register.newer(held) if held is not None else None
        if grown is None:  # as when a piece's own record came
            self._settle_on_one()
            grown = self.register.contents()
        self._contents = grown
        return grown

    def _settle_on_one(self) -> None:
        """A second piece record, by whatever way it came, stopped everything: the first is the folder's."""
        if self.register.piece is None and len(pieces := self.register.pieces_held()) > 1:
            self.register.piece = pieces[0].id
            self.several = f"The register holds {len(pieces)} pieces; the first one is shown."

    def once(self, work: Callable[[], T]) -> T:
        """Do ``work`` as one gesture: what it reads comes from one moment, what it saves is checked against it.

        If somebody else's change comes between, it is done anew from the next moment; so it must save once, and
        change nothing else before.
        """
        return self._moment.once(work)

    @property
    def piece(self) -> Piece:
        """The piece's own record."""
        return self.contents.piece

    def standing(self, record: str) -> Record | None:
        """The record with this id as it stands in :attr:`contents`; None where there is none."""
        return self._moment.index(self.contents).get(record)

    def find(self, kind: type[R], record: str) -> R:
        """The record with this id, of this kind; raises OptionError if there is none."""
        found = self._moment.record(record) or self.register.get(record)
        if not isinstance(found, kind):
            raise OptionError(f"There is no {kind.__name__.lower()} with this id", record,
                              "take the id from the register")
        return found

    def save(self, *records: Record, reason: str = "", withdraw: Iterable[str] = (), base: Contents | None = None,
             alone: bool = False) -> None:
        """Write records as new revisions and withdraw others, all in one transaction (one gesture).

        ``base``: the contents that changed records were made from; in a gesture (:meth:`once`) those it began with. New
        records need none. Raises ConflictError when one of them was changed by somebody else since then; with
        ``alone``, when anything was.
        """
        made_from = base or self._moment.contents
        known = made_from.numbers if made_from is not None else {}
        self._admit(records)
        # 0 means "new": a record whose id is there already was made from something, and must say from what.
        changes = [Change(r, base=known.get(r.id, 0)) for r in records]
        for id in withdraw:
            gone = self.register.last(id)
            changes.append(Change(self.register.get(id), withdrawn=True,
                                  base=known.get(id, gone.number if gone else 0)))
        try:
            self.register.write(changes, self.reader, reason,
                                after=made_from.revision if made_from is not None and alone else None)
        except OvertakenError as error:
            if made_from is not None:
                raise
            raise ConflictError("This record is in the register already, and the change does not say what it was made "
                                "from", error.where, "use change(), or save(..., base=the contents it was made from)",
                                **error.values) from error

    def _admit(self, records: tuple[Record, ...]) -> None:
        """Refuse at the door what would stand in the way of everything else later."""
        photos = {r.id for r in records if isinstance(r, Photo)}
        for record in records:
            wrong = faults(record)
            if isinstance(record, Piece) and record.id != self.piece.id:
                wrong = ("a piece folder holds one piece",)
            # The photo may come in the same gesture as its zones.
            if isinstance(record, Zone | Region) and record.photo not in photos | {p.id for p in self.contents.photos}:
                wrong = ("it lies on no photo of the piece",)
            if wrong:
                raise OptionError(f"This {type(record).__name__.lower()} cannot be kept: {wrong[0]}", record.id,
                                  "correct it and save it again", faults=wrong)

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
        return self.once(lambda: self._changed(record, reason, fields))

    def _changed(self, record: R, reason: str, fields: dict[str, Any]) -> R:
        now: R = self.find(type(record), record.id)
        for name, value in fields.items():
            theirs = getattr(now, name)
            # Both entered the same: that is agreement and no conflict.
            if theirs != getattr(record, name) and theirs != value:
                raise ConflictError("Somebody else has changed this in the meantime", name.replace("_", " "),
                                    "look at it again and make your change anew", mine=value, theirs=theirs)
        changed = dataclasses.replace(now, **fields)
        if changed != now:
            self.save(changed, reason=reason)
        return changed

    # -- pixels ---------------------------------------------------------------------------------
    def path(self, photo: Photo | str) -> Path:
        """Absolute path of a photo's file; raises PhotoError if it has gone or lies outside the folder."""
        record = self.find(Photo, photo) if isinstance(photo, str) else photo
        path = (self.folder / record.file).resolve()
        # A record from a copy may name ../../anything.
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
            # Zones are in the pixels of the picture that was taken in; on another one they would lie anywhere.
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

    def close(self) -> None:
        """Close the register; closing twice is no harm."""
        if not self._closed:
            self._closed = True
            self.register.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()


def account() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError, ReadaidError):
        return "reader"
