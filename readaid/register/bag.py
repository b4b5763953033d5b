"""The archive: a BagIt 1.0 bag (RFC 8493) of a piece folder, checked and restored.

Conventions
-----------
* A bag is a folder, or a zip of that folder: ``bagit.txt``, ``bag-info.txt``, ``data/`` with the piece folder,
  ``manifest-sha256.txt`` and ``tagmanifest-sha256.txt``.
* The register goes in as one consistent moment, even while somebody works on it. Everything else goes as it
  is, position and owner too: an archive is for keeping; for sending away there is the reader's copy.
* ``check`` (in ``bagcheck``) reads every byte; ``restore`` writes nothing unless the bag is valid.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import sqlite3
import unicodedata
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote

from readaid._version import __version__
from readaid.core.errors import ArchiveError
from readaid.core.identity import sha256_of
from readaid.core.progress import Progress, counted, stretch, unheard
from readaid.register import admission
from readaid.register.bagcheck import BagCheck, check, examine, opened
from readaid.register.safezip import safe_name

_DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
#: What is left out: half-written files, and notes about times that mean nothing elsewhere.
_LEFT_OUT = re.compile(r"(\.part|-journal|\.ipynb_checkpoints(/.*)?|backups/photo-times\.json)$")
_CURE = "restore it from another copy of the bag"


def make(folder: str | Path, target: str | Path, info: Mapping[str, str] | None = None,
         progress: Progress = unheard) -> Path:
    """Make a bag of a piece folder.

    Parameters
    ----------
    target: a new folder, or a new file ending in ``.zip``.
    info: more lines for ``bag-info.txt``, e.g. ``{"External-Identifier": "A 7"}`` (RFC 8493, 2.2.2).
    progress: told before each file, twice for a zip; where it raises, nothing of the bag is left.

    Raises
    ------
    ArchiveError: if the target exists or lies in the folder, a link leads outside, or it cannot be written.
    """
    folder, target = Path(folder).resolve(), Path(target)
    if not folder.is_dir():
        raise ArchiveError("There is no such folder", str(folder), "choose a piece folder")
    if target.exists():
        raise ArchiveError("The archive exists already", str(target), "choose a new name")
    # An archive within its own folder would archive itself.
    if target.resolve().is_relative_to(folder):
        raise ArchiveError("The archive would lie in the folder it archives", str(target), "choose another place")
    zipped = target.suffix.lower() == ".zip"
    work = target.with_name(target.name + f".{os.getpid()}.part")
    try:
        base = work / target.stem if zipped else work
        _fill(folder, base, dict(info or {}), stretch(progress, 0, 0.5 if zipped else 1))
        if zipped:
            _zip(base, target.with_name(target.name + f".{os.getpid()}.zip.part"), target, stretch(progress, 0.5, 1))
        else:
            work.rename(target)
    except (OSError, sqlite3.Error) as error:
        raise ArchiveError("The archive cannot be written", str(target), str(error)) from error
    finally:
        shutil.rmtree(work, ignore_errors=True)
    return target


def _fill(folder: Path, base: Path, info: dict[str, str], progress: Progress) -> None:
    data = base / "data"
    data.mkdir(parents=True)
    lines, size, count = [], 0, 0
    sources = {path.relative_to(folder).as_posix(): path for path in _files(folder)}
    # Refused when it is made, since the reader is here now; at restoring on another system nobody could mend it.
    names = [n for n in sources if not safe_name(n)] + _doubled(sources)
    if names:
        raise ArchiveError("Some file names cannot be kept on every system", ", ".join(names[:10]), "rename them")
    for name, source in counted(tuple(sources.items()), progress):
        copy = data / name
        copy.parent.mkdir(parents=True, exist_ok=True)
        # A register in use, copied byte by byte, is half of one moment and half of the next.
        if source.suffix == ".sqlite":
            _copy_register(source, copy)
        else:
            shutil.copy2(source, copy)
        lines.append(f"{sha256_of(copy)}  data/{_escaped(name)}\n")
        size, count = size + copy.stat().st_size, count + 1
    _write(base / "bagit.txt", _DECLARATION)
    # By name, so that two manifests can be compared line by line.
    _write(base / "manifest-sha256.txt", "".join(sorted(lines, key=lambda line: line[66:])))
    told = {"Bag-Software-Agent": f"readaid {__version__}", "Bagging-Date": datetime.now(UTC).date().isoformat(),
            "Payload-Oxum": f"{size}.{count}", **info}
    _write(base / "bag-info.txt", "".join(f"{k}: {_one_line(v)}\n" for k, v in told.items()))
    tags = ("bag-info.txt", "bagit.txt", "manifest-sha256.txt")
    _write(base / "tagmanifest-sha256.txt", "".join(f"{sha256_of(base / t)}  {t}\n" for t in tags))


def _doubled(names: Iterable[str]) -> list[str]:
    """Names that differ only in capitals or in how accents are written (RFC 8493, 5.1.4)."""
    seen: dict[str, str] = {}
    return [n for n in names if seen.setdefault(unicodedata.normalize("NFC", n).casefold(), n) != n]


def _files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")):
        if not path.resolve().is_relative_to(folder):
            raise ArchiveError("A link leads outside the piece folder", str(path), "put the file itself there")
        if path.is_file() and not _LEFT_OUT.search(path.relative_to(folder).as_posix()):
            yield path


def _copy_register(source: Path, copy: Path) -> None:
    """One moment of a register that may be in use; a file that is none, or damaged, is copied as it is."""
    try:
        with contextlib.closing(sqlite3.connect(f"file:{quote(str(source))}?mode=ro", uri=True, timeout=30)) as old, \
                contextlib.closing(sqlite3.connect(copy)) as new:
            old.backup(new)
    except sqlite3.DatabaseError:
        copy.unlink(missing_ok=True)
        shutil.copy2(source, copy)


def _escaped(name: str) -> str:
    """A path as a manifest writes it: only line ends and percent are encoded (RFC 8493, 2.1.3)."""
    return name.replace("%", "%25").replace("\n", "%0A").replace("\r", "%0D")


def _one_line(text: str) -> str:
    return " ".join(str(text).split())


def _write(path: Path, text: str) -> None:
    path.write_bytes(text.encode("utf-8"))


def _zip(base: Path, work: Path, target: Path, progress: Progress) -> None:
    try:
        with zipfile.ZipFile(work, "w", zipfile.ZIP_STORED) as archive:  # photos are packed already
            for path in counted(sorted(p for p in base.rglob("*") if p.is_file()), progress):
                archive.write(path, path.relative_to(base.parent).as_posix())
        work.rename(target)
    finally:
        work.unlink(missing_ok=True)


def restore(bag: str | Path, folder: str | Path, say: Callable[[str], object] = lambda _left: None) -> Path:
    """Check a bag and put its piece folder back in a new place; nothing is written if the bag is not valid.

    Only what makes a piece comes back: the register, its backups, and pictures known by their content. A bag may come
    from anybody, and a notebook or a program in it once ran. ``say`` is told of each file that is left in the bag.

    Raises
    ------
    ArchiveError: if the bag is not valid (all problems are told), or the folder exists and is not empty.
    """
    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise ArchiveError("The folder is not empty", str(folder), "choose a new one")
    work = folder.with_name(folder.name + f".{os.getpid()}.part")
    with opened(Path(bag)) as base:
        # All of it before anything is written: half a piece would look like one.
        found = examine(base, Path(bag))
        if not found.valid:
            raise ArchiveError("The bag is not as it was", "; ".join(found.problems[:20]), _CURE,
                               problems=found.problems)
        try:
            for source in sorted(p for p in (base / "data").rglob("*") if p.is_file()):
                name = source.relative_to(base / "data").as_posix()
                if not _comes_back(source, name):
                    say(f"{name} is left in the bag: it is neither the register nor a picture.")
                    continue
                (work / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, work / name)  # not its rights: nothing comes back that may be run
            if not work.exists():
                raise ArchiveError("The bag holds nothing of a piece", str(bag), "choose the bag of a piece folder")
            if folder.exists():
                folder.rmdir()
            work.rename(folder)
        except OSError as error:
            raise ArchiveError("The piece folder cannot be written", str(folder), str(error)) from error
        finally:
            shutil.rmtree(work, ignore_errors=True)
    return folder


def _comes_back(source: Path, name: str) -> bool:
    folder, _, file = name.rpartition("/")
    if folder in ("", "backups") and file.endswith((".sqlite", ".jsonl")):
        return True  # the register, even a damaged one, its backups and journals: read, never run
    try:
        return admission.fits(name, admission.format_of(source))
    except ArchiveError:
        return False


__all__ = ["BagCheck", "check", "make", "restore"]
