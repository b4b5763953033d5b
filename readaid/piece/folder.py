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
from pathlib import Path

from readaid.core.errors import PhotoError, ReadaidError
from readaid.core.identity import sha256_of
from readaid.register.engine import MisplacedRegisterError
from readaid.register.whereabouts import gone, way_back

REGISTER = "register.sqlite"
PHOTOS = "photos"
EXPORTS = "exports"


def is_piece(folder: Path) -> bool:
    """Whether ``folder`` holds a register."""
    return (folder / REGISTER).is_file()


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


def take_in(source: Path, folder: Path, sha256: str) -> str:
    """Copy a photo into ``photos/`` byte for byte; returns its relative path.

    A photo with the same content is not copied twice; another photo of the
    same name gets a number behind its name. The copy is checked against ``sha256``.
    """
    stem, suffix = source.stem, source.suffix.lower()
    for n in range(1000):
        name = f"{stem}{suffix}" if n == 0 else f"{stem}-{n + 1}{suffix}"
        target = folder / PHOTOS / name
        if target.exists():
            if sha256_of(target) == sha256:
                return f"{PHOTOS}/{name}"
            continue
        part = target.with_name(target.name + ".part")
        try:
            shutil.copyfile(source, part)
            with part.open("rb") as copy:
                os.fsync(copy.fileno())
            if sha256_of(part) != sha256:
                raise PhotoError("The copy of the photo differs from the original", str(source),
                                 "check the card or the disk and try again")
            os.replace(part, target)
        except OSError as error:
            raise PhotoError("The photo cannot be copied into the piece folder", f"{source.name}: {error.strerror}",
                             "make room on the disk or choose a folder in which you may write") from error
        finally:
            with contextlib.suppress(OSError):
                part.unlink()
        return f"{PHOTOS}/{name}"
    raise PhotoError("Too many photos bear this name", source.name, "give the file another name")
