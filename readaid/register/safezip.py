"""Opening a zip from somebody else: nothing leaves its folder, nothing swells, nothing is trusted unchecked.

Conventions: names inside use forward slashes. A zip is looked at whole before
a single byte of it is used; contents are read against their declared size.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
import zipfile
from collections.abc import Iterator
from pathlib import Path

from readaid.core.errors import ArchiveError

#: Most entries, bytes in all, bytes of one entry, and how many times its packed size an entry may grow.
ENTRIES, TOTAL, LARGEST, GROWTH = 20_000, 64_000_000_000, 8_000_000_000, 200
#: Growth is looked at above this size: a page of spaces packs well and harms nobody.
HARMLESS = 2_000_000
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?$", re.IGNORECASE)
_CURE = "do not use it; ask for a new copy from someone you trust"


def safe_name(name: str) -> bool:
    r"""Whether a name stays inside its folder, on every system.

    >>> [safe_name(n) for n in ("photos/kiku.jpg", "../x", "/etc/x", "C:/x", "a\\b", "a//b", "con", "x ")]
    [True, False, False, False, False, False, False, False]
    """
    if not name or len(name) > 500 or any(ord(c) < 32 or c in '\\:*?"<>|\x7f' for c in name):
        return False
    parts = name.split("/")
    # On Windows a name loses its last dot or space, and CON or LPT1.txt is a device: two names would be one, or none.
    return not any(p in ("", ".", "..") or p[-1] in " ." or _RESERVED.match(p) for p in parts)


def open_checked(path: str | Path) -> zipfile.ZipFile:
    """Open a zip after looking at every entry.

    Raises
    ------
    ArchiveError: if it is no zip, or holds a path that leads outside, a link, a device, an encrypted or a doubled
        entry, or unpacks to far more than it is.
    """
    path = Path(path)
    try:
        archive = zipfile.ZipFile(path)
    except (OSError, zipfile.BadZipFile, ValueError) as error:
        raise ArchiveError("The file cannot be opened as a zip", str(path), "ask for it again") from error
    try:
        _look(archive, path)
    except BaseException:
        archive.close()
        raise
    return archive


def _look(archive: zipfile.ZipFile, path: Path) -> None:
    entries = archive.infolist()
    if len(entries) > ENTRIES:
        raise ArchiveError(f"The zip has {len(entries)} entries", str(path), _CURE)
    seen: set[str] = set()
    total = 0
    for entry in entries:
        name, where = entry.filename.rstrip("/"), f"{path.name}: {entry.filename[:80]!r}"
        # ``orig_filename`` too: zipfile cuts a name at a zero byte and turns backslashes on some systems
        if not safe_name(name) or not safe_name(entry.orig_filename.rstrip("/")):
            raise ArchiveError("The zip holds a path that leads outside its folder", where, _CURE)
        # The upper half holds the rights of Unix, and with them what the entry is: a link is a few bytes that lead
        # anywhere.
        mode = entry.external_attr >> 16
        if mode and stat.S_IFMT(mode) not in (0, stat.S_IFREG, stat.S_IFDIR):
            raise ArchiveError("The zip holds a link or a device", where, _CURE)
        if entry.flag_bits & 0x1:
            raise ArchiveError("The zip is encrypted", where, "ask for it without a password")
        # Of two entries of one name one program shows the first and another unpacks the last.
        if name.casefold() in seen:
            raise ArchiveError("The zip holds the same name twice", where, _CURE)
        seen.add(name.casefold())
        total += entry.file_size
        # What deflates a thousandfold is made to fill a disk, not to be read.
        swells = entry.file_size > HARMLESS and entry.file_size > GROWTH * max(entry.compress_size, 1)
        if swells or entry.file_size > LARGEST or total > TOTAL:
            raise ArchiveError("The zip unpacks to far more than it is", where, _CURE, bytes=entry.file_size)
    for entry in entries:  # a file cannot also be a folder
        parents = entry.filename.rstrip("/").casefold().split("/")[:-1]
        for depth in range(1, len(parents) + 1):
            parent = "/".join(parents[:depth])
            if parent in seen and not any(e.filename.casefold() == parent + "/" for e in entries):
                raise ArchiveError("The zip holds a file that is also a folder", entry.filename[:80], _CURE)


def blocks(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """The bytes of an entry, never more than it declares.

    Raises
    ------
    ArchiveError: if it is missing, larger than declared, or damaged.
    """
    try:
        entry = archive.getinfo(name)
        left = entry.file_size
        with archive.open(entry) as stream:
            while block := stream.read(1 << 20):
                left -= len(block)
                if left < 0:
                    raise ArchiveError("The zip unpacks to more than it says", name, _CURE)
                yield block
    except KeyError as error:
        raise ArchiveError("The zip lacks a file it should hold", name, "ask for it again") from error
    except (OSError, zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError, ValueError) as error:
        raise ArchiveError("A file in the zip is damaged", name, "ask for it again") from error
    except Exception as error:
        if type(error).__module__ in ("zlib", "lzma", "_lzma", "bz2"):
            raise ArchiveError("A file in the zip is damaged", name, "ask for it again") from error
        raise


def read(archive: zipfile.ZipFile, name: str, most: int) -> bytes:
    """An entry of at most ``most`` bytes."""
    found, size = [], 0
    for block in blocks(archive, name):
        size += len(block)
        if size > most:
            raise ArchiveError(f"A file in the zip is larger than {most // 1_000_000} MB", name, _CURE)
        found.append(block)
    return b"".join(found)


def extract(archive: zipfile.ZipFile, name: str, target: Path, sha256: str) -> None:
    """Write an entry to a new file, checked against its hash; nothing is left behind if it does not fit."""
    digest = hashlib.sha256()
    work = target.with_name(target.name + ".part")
    try:
        # Never through a link that waits there, never over a file that is there already.
        descriptor = os.open(work, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0)
                             | getattr(os, "O_BINARY", 0), 0o644)
        with os.fdopen(descriptor, "wb") as file:
            for block in blocks(archive, name):
                digest.update(block)
                file.write(block)
        if digest.hexdigest() != sha256:
            raise ArchiveError("A file is not as its sender wrote it", name, "ask for it again", expected=sha256)
        os.replace(work, target)
    except OSError as error:
        raise ArchiveError("A file cannot be written", str(target), str(error.strerror or error)) from error
    finally:
        work.unlink(missing_ok=True)
