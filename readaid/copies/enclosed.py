"""The pictures enclosed in a copy: which file of the zip is which photo's, what name it gets, and how it comes in.

Conventions
-----------
* In the zip a picture is ``photos/RECORD/NAME``; every file of a copy is its revisions or such a picture.
* Pictures are unpacked beside their place and looked at (``register.admission``) before anything of the copy is used;
  a file that is there already is never touched: the picture that comes gets another name.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from readaid.core.errors import ArchiveError
from readaid.core.identity import sha256_of
from readaid.core.photo import Photo
from readaid.core.progress import Progress, counted, unheard
from readaid.core.specimen import Specimen
from readaid.register import admission, safezip
from readaid.register.codec import decode, encode
from readaid.register.revision import fingerprint

Row = dict[str, Any]
REVISIONS = "revisions.jsonl"
_CURE = "do not use it; ask for a new copy from someone you trust"


@dataclass(frozen=True, slots=True)
class Staged:
    """Rows with the names their photos will have here, and the pictures waiting to be put in place."""

    rows: list[Row]
    pictures: tuple[tuple[str, Path], ...]  # name in the piece folder, where it waits


def owners(files: Iterable[str], rows: Iterable[Row]) -> dict[str, str]:
    """Photo record -> its file in the zip.

    Raises
    ------
    ArchiveError: for a file that is neither the revisions nor a photo's picture.
    """
    photos = {row["record"] for row in rows if row["kind"] == "photo"}
    found: dict[str, str] = {}
    for name in files:
        parts = name.split("/")
        if name == REVISIONS:
            continue
        if len(parts) != 3 or parts[0] != admission.FOLDER or parts[1] not in photos or parts[1] in found:
            raise ArchiveError("The copy holds a file that belongs to no photo", name[:80], _CURE)
        found[parts[1]] = name
    return found


@contextlib.contextmanager
def staged(path: Path, files: dict[str, Any], rows: list[Row], folder: Path | None, held: Iterable[Photo] = (),
           progress: Progress = unheard) -> Iterator[Staged]:
    """Unpack and look at the pictures of photos that are not ``held``; they are gone afterwards unless put in place.

    ``folder``: the piece folder, whose pictures' names are taken; None where no picture will be put in place.
    ``progress``: told before each photo.

    Raises
    ------
    ArchiveError: if one is no picture, or ``photos/`` of the folder leads outside it.
    """
    ours = {p.id: p for p in held}
    enclosed = owners(files, rows)
    if folder is not None:
        _inside(folder)
    # Compared without capitals: on some disks IMG.JPG and img.jpg are one file, and one would overwrite the other.
    taken = {admission.folded(p.file): p.sha256 for p in ours.values()}
    names: dict[str, str] = {}
    waiting: list[tuple[str, Path]] = []
    with tempfile.TemporaryDirectory(prefix=".readaid-", dir=folder) as place, safezip.open_checked(path) as archive:
        for photo in counted(_photos(rows), progress):
            if photo.id in ours:
                names[photo.id] = ours[photo.id].file
                continue
            file, format, digest = Path(place) / str(len(waiting)), "JPEG", photo.sha256
            if photo.id in enclosed:
                # The zip's own checksum: the record's is of the photo before its metadata was taken off.
                digest = str(files[enclosed[photo.id]]["sha256"])
                safezip.extract(archive, enclosed[photo.id], file, digest)
                format = admission.format_of(file, enclosed[photo.id])
            name = photo.file
            fits = admission.fits(name, format) if photo.id in enclosed else admission.plain(name)
            if not fits or taken.get(admission.folded(name), digest) != digest or (
                    folder is not None and _other(folder / name, digest)):
                name = admission.made(photo, format)
            taken[admission.folded(name)] = digest
            names[photo.id] = name
            if photo.id in enclosed and folder is not None and not (folder / name).exists():
                waiting.append((name, file))
        yield Staged(_renamed(rows, names), tuple(waiting))


def put_in_place(pictures: Iterable[tuple[str, Path]], folder: Path) -> list[Path]:
    """Move waiting pictures where they belong; returns what was made. A name that is taken meanwhile is left alone."""
    made = []
    for name, waiting in pictures:
        target = folder / name
        target.parent.mkdir(exist_ok=True)
        waiting.chmod(0o644)
        try:
            os.link(waiting, target)  # unlike a move, it fails where there is a file already
        except FileExistsError:
            continue
        except OSError:  # a disk without links
            if not target.exists():
                shutil.move(waiting, target)
        made.append(target)
    return made


def _photos(rows: Iterable[Row]) -> list[Photo]:
    last = {row["record"]: row["body"] for row in rows if row["kind"] == "photo"}
    return [p for p in (decode("photo", body) for body in last.values()) if isinstance(p, Photo)]


def _inside(folder: Path) -> None:
    photos = folder / admission.FOLDER
    if photos.exists() and (photos.is_symlink() or not photos.is_dir()):
        raise ArchiveError("A folder of the piece leads outside", str(photos), "remove the link")


def _other(target: Path, digest: str) -> bool:
    """Whether another picture lies there."""
    return target.is_symlink() or (target.exists() and (not target.is_file() or sha256_of(target) != digest))


def _renamed(rows: list[Row], names: dict[str, str]) -> list[Row]:
    """The rows with the photos' names here; a row whose name stands keeps its fingerprint."""
    moved: dict[str, str] = {}
    out = []
    for row in rows:
        if row["kind"] == "photo":
            photo = decode("photo", row["body"])
            assert isinstance(photo, Photo)
            name = names[photo.id]
            if photo.file != name:
                moved[photo.file] = name
                row = _with_body(row, replace(photo, file=name))
        out.append(row)
    if not moved:
        return out
    return [_specimen(row, moved) if row["kind"] == "specimen" else row for row in out]


def _specimen(row: Row, moved: dict[str, str]) -> Row:
    specimen = decode("specimen", row["body"])
    assert isinstance(specimen, Specimen)
    if specimen.image not in moved:
        return row
    return _with_body(row, replace(specimen, image=moved[specimen.image]))


def _with_body(row: Row, record: Any) -> Row:
    row = row | {"body": encode(record)}
    return row | {"digest": fingerprint(row)}
