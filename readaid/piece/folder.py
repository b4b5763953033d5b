"""The piece folder: everything about one piece in one place that can be copied as it is.

Conventions
-----------
``photos/``      the original photos, never changed after they were taken in
``register.sqlite``  the register (and its rotating backups in ``backups/``)
``exports/``     reports and copies; can be made again at any time

Paths in the register are relative to the folder, with forward slashes.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import time
import unicodedata
from pathlib import Path

from readaid.core.errors import PhotoError, ReadaidError
from readaid.core.identity import blocks, new_id, sha256_of
from readaid.core.part_file import PART
from readaid.core.progress import Progress, stretch, unheard
from readaid.register.engine import MisplacedRegisterError, is_url
from readaid.register.safezip import safe_name
from readaid.register.whereabouts import gone, way_back

REGISTER = "register.sqlite"
PHOTOS = "photos"
EXPORTS = "exports"
#: Bytes of a file name that every system takes, a number behind it included (255 is the usual limit).
LONGEST_NAME = 200


def is_piece(folder: Path) -> bool:
    """Whether ``folder`` holds a register."""
    return (folder / REGISTER).is_file()


def beside(place: str | Path, photos: str | Path | None) -> Path:
    """The folder of a piece's pictures: the piece folder itself, or the one named beside a server's address."""
    if not is_url(place):
        if photos is not None:
            raise ReadaidError("A piece folder holds its own photos", str(place),
                               "leave photos= out; it belongs to a postgresql:// address")
        return Path(place).expanduser().resolve()
    if photos is None:
        raise ReadaidError("A piece on a server needs a folder of pictures", str(place).rpartition("@")[2],
                           "name it: readaid.open(address, photos=FOLDER)")
    return Path(photos).expanduser().resolve()


def prepare(folder: Path) -> None:
    """Create an empty piece folder; refuses one that already holds a piece or cannot be written."""
    if told := gone(folder / REGISTER):
        raise MisplacedRegisterError(told, str(folder), way_back(folder / REGISTER))
    if is_piece(folder):
        raise ReadaidError("A piece is already kept there", str(folder), f'open it with: readaid open "{folder}"')
    if folder.exists() and not folder.is_dir():
        raise ReadaidError("That is a file, not a folder", str(folder), "name a folder for the piece")
    try:
        for name in (PHOTOS, EXPORTS):
            (folder / name).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ReadaidError("The piece folder cannot be made", f"{folder}: {error.strerror}",
                           "choose a folder in which you may write") from error


def require(folder: Path) -> None:
    """Raise unless ``folder`` holds a piece."""
    if not folder.exists():
        raise ReadaidError("There is no such folder", str(folder), f'start a piece with: readaid new "{folder}"')
    if not is_piece(folder):
        if told := gone(folder / REGISTER):
            raise MisplacedRegisterError(told, str(folder), way_back(folder / REGISTER))
        raise ReadaidError("No piece is kept in this folder", str(folder),
                           f'start one with: readaid new "{folder}"')


def take_in(source: Path, folder: Path, sha256: str, progress: Progress = unheard) -> str:
    """Copy a photo into ``photos/`` byte for byte; returns its relative path.

    A photo with the same content is not copied twice; another photo of the
    same name gets a number behind its name. The copy is checked against ``sha256``.
    A name that another system or an archive refuses is mended (``plain_name``).
    Many may be taken in at once: a name is given to one of them only. ``progress`` is told within the file; where it
    raises, nothing of it stays.
    """
    name = plain_name(source.name)
    photos = folder / PHOTOS
    part = photos / f"{new_id()}{PART}"
    try:
        with source.open("rb") as original, part.open("xb") as copy:
            for block in blocks(original, stretch(progress, 0.0, 0.6)):
                copy.write(block)
            copy.flush()
            os.fsync(copy.fileno())
        # Cards and cables lie: what was copied is read again before the record says that it is there.
        if sha256_of(part, stretch(progress, 0.6, 1.0)) != sha256:
            raise PhotoError("The copy of the photo differs from the original", str(source),
                             "check the card or the disk and try again")
        return f"{PHOTOS}/{_place(part, photos, name, sha256)}"
    except OSError as error:
        raise PhotoError("The photo cannot be copied into the piece folder", f"{source.name}: {error.strerror}",
                         "make room on the disk or choose a folder in which you may write") from error
    finally:
        with contextlib.suppress(OSError):
            part.unlink()


def rename(file: str, name: str, folder: Path, sha256: str) -> str:
    """Give a photo of the folder another name beside its old one; returns the new relative path.

    The old file stays until its record says the new name: the caller takes it away.
    """
    source = folder / file
    wanted = name if Path(name).suffix else name + source.suffix
    try:
        return f"{PHOTOS}/{_place(source, folder / PHOTOS, plain_name(wanted), sha256, again=True)}"
    except OSError as error:
        raise PhotoError("The photo cannot be renamed", f"{file}: {error.strerror}",
                         "see whether the disk is still there and may be written") from error


def plain_name(name: str) -> str:
    r"""A file name that every system and every archive takes; raises PhotoError for one that marks a half-written file.

    Signs that some system forbids become a dash, names of devices and over-long ones are changed, the ending is in
    small letters. Japanese and other letters stay, composed (NFC), since a name written on one system in parts would be
    another name on the next.

    >>> plain_name("a:b?.JPG"), plain_name("con.png"), plain_name("\u304b\u3099.jpg") == "\u304c.jpg"
    ('a-b-.jpg', 'con-.png', True)
    """
    stem, suffix = os.path.splitext(unicodedata.normalize("NFC", name))
    if suffix.lower() == PART or not stem.strip(". "):
        raise PhotoError("A file of this name is taken for a half-written one", name,
                         "give it the name and the ending that it should have, and take it in again")
    stem = "".join("-" if ord(c) < 32 or c in '\\/:*?"<>|\x7f' else c for c in stem).strip(". ")
    # Bytes, not letters: a Japanese name of 90 signs is too long for most disks.
    while len(f"{stem}{suffix}".encode()) > LONGEST_NAME:
        stem = stem[:-1]
    if not safe_name(f"{stem}{suffix.lower()}"):
        stem = f"{stem}-"
    return f"{stem}{suffix.lower()}"


def _place(part: Path, photos: Path, name: str, sha256: str, again: bool = False) -> str:
    """Put a file under the first free name; a name counts as taken in whatever capitals it is written."""
    stem, suffix = os.path.splitext(name)
    for n in range(1000):
        target = photos / (f"{stem}{suffix}" if n == 0 else f"{stem}-{n + 1}{suffix}")
        there = next((p for p in photos.iterdir() if p.suffix != PART and p.name.casefold() == target.name.casefold()),
                     None)
        if there is not None:
            # The same photo under the same name: taken in twice, it lies there once.
            if not again and sha256_of(there) == sha256:
                return there.name
            continue
        if _put(part, target):
            return target.name
        if not again and sha256_of(target) == sha256:  # another writer was a moment earlier, with the same photo
            return target.name
    raise PhotoError("Too many photos bear this name", name, "give the file another name")


def _put(part: Path, target: Path) -> bool:
    """Give the file its name if nobody has it; never over another one, as a plain renaming would."""
    try:
        os.link(part, target)
    except FileExistsError:
        return False
    except OSError:  # a file system without links
        try:
            with target.open("xb") as new, part.open("rb") as old:
                shutil.copyfileobj(old, new)
                new.flush()
                os.fsync(new.fileno())
        except FileExistsError:
            return False
    return True


def outlet(target: Path, folder: Path) -> Path:
    """The target, if something may be written there: only what lies in ``exports/`` is made again over itself.

    Raises ReadaidError for a file that is there already, and for a place where originals and backups lie.
    """
    place = target.resolve()
    if place.is_relative_to(folder / EXPORTS):
        return target
    if place.is_relative_to(folder / PHOTOS) or place.is_relative_to(folder / "backups"):
        raise ReadaidError("Originals and backups lie there", str(target), "choose another folder, or exports/")
    if target.exists():
        raise ReadaidError("There is a file of this name already", str(target),
                           "choose a new name; only what lies in exports/ is made again")
    return target


def sweep(folder: Path) -> None:
    """Take half-written files away that a crash left behind an hour ago or longer."""
    for place in (folder / PHOTOS, folder / EXPORTS, folder / EXPORTS / "tables", folder / "backups"):
        with contextlib.suppress(OSError):
            for path in place.glob(f"*{PART}"):
                # An hour, since another kernel may be writing one; either way from now, since clocks go wrong both
                # ways.
                if path.is_file() and not path.is_symlink() and abs(time.time() - path.stat().st_mtime) > 3600:
                    path.unlink()


def inside(folder: Path) -> set[Path]:
    """What lies in the places where a beginning puts something."""
    places = (folder, folder / PHOTOS, folder / EXPORTS, folder / "backups")
    return {path for place in places if place.is_dir() for path in (place, *place.iterdir())}


def clear(folder: Path, before: set[Path]) -> None:
    """Take away what a beginning left that failed, and nothing that was there before it."""
    # Deepest first, so that a folder is empty when its turn comes.
    for path in sorted(inside(folder) - before, key=lambda p: -len(p.parts)):
        with contextlib.suppress(OSError):
            if path.is_dir() and not path.is_symlink():
                path.rmdir()
            else:
                path.unlink()
