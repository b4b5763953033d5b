"""The reader's copy: a piece in one file, to a colleague and back.

Conventions
-----------
* A zip of plain parts: ``manifest.json`` (what, of which register, SHA-256 of every part),
  ``revisions.jsonl`` (one revision a line) and ``photos/``.
* A blind copy holds the last state only, without guesses, fillers and known verses.
* Position, owner and serial numbers leave only if ``private`` is set: a photo without them has
  another hash, and the copy's record of that photo carries it.
* ``merge`` takes a colleague's copy back; see ``merge`` for what becomes of conflicts.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import zipfile
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import select

from readaid._version import __version__
from readaid.copies.enclosed import put_in_place, staged
from readaid.copies.merge import Merged, merge_rows
from readaid.core.errors import ArchiveError, ReadaidError, RegisterError
from readaid.core.identity import now
from readaid.core.photo import Photo
from readaid.core.piece import Piece
from readaid.core.progress import Progress, counted, stretch, unheard
from readaid.core.specimen import Specimen
from readaid.core.veil import Veil
from readaid.photo.metadata import stripped
from readaid.register import safezip
from readaid.register.book import Register
from readaid.register.codec import decode, encode
from readaid.register.revision import fingerprint, value_of
from readaid.register.schema import current, revision
from readaid.register.startup import FILE
from readaid.register.store import Change
from readaid.register.values import faults, readable, together
from readaid.register.view import View

FORMAT, VERSION = "readaid reader's copy", 2  # 2: records may have fields that readaid 0.1.0 does not know
#: From this version on judgements are records of their own; in an older copy they are read from the characters.
JUDGED_FROM = 2
_COLUMNS = ("number", "id", "record", "kind", "piece", "body", "withdrawn", "reader", "reason", "made", "gesture",
            "base", "undoes", "digest")
_TYPES: dict[str, Any] = dict.fromkeys(("id", "record", "kind", "piece", "body", "reader", "reason", "made", "gesture",
                                        "digest"), str) | {"number": int, "withdrawn": bool, "base": int | None,
                                                           "undoes": str | None}
#: Ids of revisions and gestures.
_NAME = re.compile(r"[\w.:-]{1,200}")
_CURE = "do not use it; ask for a new copy from someone you trust"
_MOST_TEXT = 400_000_000


def write(register: View, path: str | Path, blind: bool = False, photos: str | Path | None = None, *,
          piece: str | None = None, private: bool = False, progress: Progress = unheard) -> Path:
    """Write a reader's copy of a piece.

    Parameters
    ----------
    path: the file to make; ``.zip`` is added if it has no ending.
    blind: leave out guesses, fillers, known verses and whatever else would tell the second reader what to see.
    photos: the piece folder, if its photos are to go along.
    private: let out position, owner and serial numbers too.
    progress: told before each photo; where it raises, the former copy stays as it was.

    Raises
    ------
    RegisterError: if the register holds several pieces and none is named.
    ArchiveError: if a photo is missing or the file cannot be written.
    """
    path = Path(path)
    path = path if path.suffix else path.with_suffix(".zip")
    whole = register.contents(piece)
    held = _rows(register, whole.piece.id, [p.id for p in whole.persons], last_only=blind)
    over = Veil.over([value_of(row) for row in held], blind, private)
    rows = _seen([veiled for row in held if (veiled := _veiled(row, over)) is not None], blind)
    sources = {p.id: p.file for row in held if isinstance(p := value_of(row), Photo)}
    work = path.with_name(path.name + f".{os.getpid()}.part")
    files: dict[str, dict[str, Any]] = {}
    left_out: list[str] = []
    try:
        with zipfile.ZipFile(work, "w", zipfile.ZIP_DEFLATED) as archive:
            if photos is not None:
                changed, left_out = _add_photos(archive, files, Path(photos), rows, sources, private,
                                                progress)
                rows = [_with_hash(row, changed) for row in rows]
            _add(archive, files, "revisions.jsonl", "".join(
                json.dumps(row, ensure_ascii=False) + "\n" for row in rows).encode("utf-8"))
            manifest = {"format": FORMAT, "version": VERSION, "piece": whole.piece.id,
                        "title": over.record(whole.piece).title,
                        "made": now(), "program": f"readaid {__version__}", "blind": blind,
                        "revision": whole.revision, "files": files, "left_out": left_out}
            archive.writestr("manifest.json", json.dumps(manifest, ensure_ascii=False, indent=1))
        progress(1, 1)  # the last place to stop
        os.replace(work, path)
    except OSError as error:
        raise ArchiveError("The reader's copy cannot be written", str(path), str(error.strerror or error)) from error
    finally:
        work.unlink(missing_ok=True)
    return path


def _rows(view: View, piece: str, persons: list[str], last_only: bool) -> list[dict[str, Any]]:
    query = select(revision).order_by(revision.c.number)
    # In a piece's own register everything is that piece's, persons too; in a department's it must be chosen.
    alone = len(view.pieces_held()) == 1
    if not alone:
        query = query.where((revision.c.piece == piece) | revision.c.record.in_(persons))
    if last_only:
        query = query.join(current, current.c.number == revision.c.number).where(current.c.withdrawn.is_(False))
    if view.cutoff is not None:
        query = query.where(revision.c.number <= view.cutoff)
    found = view._read(lambda c: c.execute(query).mappings().all())
    rows = [{name: row[name] for name in _COLUMNS} | {"withdrawn": bool(row["withdrawn"])} for row in found]
    return [row for row in rows if readable(row)]  # one that is not (opening tells it) would have the copy refused


def _veiled(row: dict[str, Any], over: Veil) -> dict[str, Any] | None:
    held = value_of(row)
    record = over.record(held)
    if record is None:
        return None
    if isinstance(record, Piece):
        record = replace(record, reader="")  # the colleague's work must not go under our name
    reason = "" if over.blind else over.text(row["reason"])
    # Unchanged rows keep the fingerprint that their maker gave them, and are known again when they come back.
    if record == held and reason == row["reason"] and not over.blind:
        return row
    row = row | {"body": row["body"] if record == held else encode(record), "reason": reason}
    row |= {"base": None, "undoes": None} if over.blind else {}
    return row | {"digest": fingerprint(row)}


def _seen(rows: list[dict[str, Any]], blind: bool) -> list[dict[str, Any]]:
    """The rows of a blind copy without those that name what stays here: a zone on a photo that was withdrawn."""
    photos = {row["record"] for row in rows if row["kind"] == "photo"}
    return [r for r in rows if r["kind"] != "zone" or getattr(value_of(r), "photo", "") in photos] if blind else rows


def _add(archive: zipfile.ZipFile, files: dict[str, dict[str, Any]], name: str, data: bytes) -> None:
    stored = zipfile.ZIP_STORED if name.startswith("photos/") else zipfile.ZIP_DEFLATED
    archive.writestr(name, data, stored)
    files[name] = {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}


def _add_photos(archive: zipfile.ZipFile, files: dict[str, dict[str, Any]], folder: Path,
                rows: list[dict[str, Any]], sources: dict[str, str], private: bool, progress: Progress
                ) -> tuple[dict[str, str], list[str]]:
    """Put the photos in, from their ``sources`` in the piece folder; returns the new hash of each that was stripped, by
    its old hash, and which were left out.

    A photo whose file has gone, or is no longer the one taken in, stays out: its record goes, the manifest names it.
    """
    last: dict[str, Photo] = {}
    for row in rows:
        if row["kind"] == "photo":
            last.pop(row["record"], None)
            if not row["withdrawn"]:
                last[row["record"]] = decode("photo", row["body"])  # type: ignore[assignment]
    changed: dict[str, str] = {}
    left_out: list[str] = []
    for photo in counted(tuple(last.values()), progress):
        source = folder / sources[photo.id]
        if not safezip.safe_name(sources[photo.id]) or not source.resolve().is_relative_to(folder.resolve()):
            raise ArchiveError("A photo lies outside the piece folder", sources[photo.id], "move it into the folder")
        try:
            data = source.read_bytes()
        except OSError:
            left_out.append(photo.id)
            continue
        # The file is another picture now: under the record's checksum it would be vouched for wrongly.
        if hashlib.sha256(data).hexdigest() != photo.sha256:
            left_out.append(photo.id)
            continue
        if not private:
            data = stripped(data, sources[photo.id])
            digest = hashlib.sha256(data).hexdigest()
            if digest != photo.sha256:
                changed[photo.sha256] = digest
        _add(archive, files, f"photos/{photo.id}/{Path(photo.file).name}", data)
    return changed, left_out


def _with_hash(row: dict[str, Any], changed: dict[str, str]) -> dict[str, Any]:
    if row["kind"] != "photo":
        return row
    photo = decode("photo", row["body"])
    assert isinstance(photo, Photo)
    if photo.sha256 not in changed:
        return row
    row = row | {"body": encode(replace(photo, sha256=changed[photo.sha256]))}
    return row | {"digest": fingerprint(row)}


# -- reading ------------------------------------------------------------------------------------------------------
def read(path: str | Path, progress: Progress = unheard) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Manifest and revisions of a copy, every part checked against its hash.

    ``progress``: told before each part, and then before each revision.

    Raises
    ------
    ArchiveError: if it is not safe, damaged, or no reader's copy. See ``safezip`` for what is refused.
    """
    with safezip.open_checked(path) as archive:
        manifest = _manifest(archive, Path(path).name)
        for name, said in counted(tuple(manifest["files"].items()), stretch(progress, 0, 0.5)):
            digest = hashlib.sha256()
            for block in safezip.blocks(archive, name):
                digest.update(block)
            if digest.hexdigest() != said["sha256"]:
                raise ArchiveError("A file is not as its sender wrote it", name, "ask for the copy again")
        return manifest, _checked(safezip.read(archive, "revisions.jsonl", _MOST_TEXT), stretch(progress, 0.5, 1))


def _manifest(archive: zipfile.ZipFile, where: str) -> dict[str, Any]:
    try:
        manifest = json.loads(safezip.read(archive, "manifest.json", 20_000_000))
        files = manifest["files"]
        known = manifest["format"] == FORMAT and all(isinstance(f["sha256"], str) for f in files.values())
        version = int(manifest["version"])
        names = {"manifest.json", *files} if isinstance(manifest["piece"], str) else set()
    except (ArchiveError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise ArchiveError("This is no reader's copy", where, "choose a file that was written as one") from error
    if not known or "revisions.jsonl" not in names:
        raise ArchiveError("This is no reader's copy", where, "choose a file that was written as one")
    if version > VERSION:
        raise ArchiveError("This reader's copy was written by a newer readaid", where, "update readaid")
    held = {e.filename for e in archive.infolist() if not e.is_dir()}
    # A part that the list does not name has no checksum: it could be anything.
    if held != names:
        odd = sorted(held ^ names)[0]
        raise ArchiveError("The copy's list of contents does not fit its contents", odd, "ask for the copy again")
    return dict(manifest)


def _checked(data: bytes, progress: Progress) -> list[dict[str, Any]]:
    rows = []
    lines = data.decode("utf-8", "replace").split("\n")  # a text may hold other line ends
    for at, line in enumerate(counted(lines, progress), 1):
        if not line.strip():
            continue
        try:
            row = json.loads(line)
            if set(row) != set(_COLUMNS) or fingerprint(row) != row["digest"]:
                raise ValueError("digest")
            if not all(isinstance(row[n], kinds) for n, kinds in _TYPES.items()) or isinstance(row["number"], bool):
                raise ValueError("type")
            datetime.fromisoformat(row["made"])
            if len(row["reader"]) > 500 or len(row["reason"]) > 50_000 or not all(
                    _NAME.fullmatch(row[n]) for n in ("id", "gesture")):
                raise ValueError("text")
            record = decode(row["kind"], row["body"])
            if record.id != row["record"]:
                raise ValueError("id")
            wrong = faults(record)
        except (ReadaidError, ValueError, KeyError, TypeError, RecursionError) as error:
            raise ArchiveError("A revision in the copy is not well formed", f"line {at}", "ask for the copy again"
                               ) from error
        if wrong:
            raise ArchiveError("A record in the copy has values that cannot be", f"line {at}: {'; '.join(wrong)}",
                               _CURE)
        file = record.file if isinstance(record, Photo) else record.image if isinstance(record, Specimen) else ""
        if file and not safezip.safe_name(file):
            raise ArchiveError("The copy names a file outside the piece folder", file[:80], _CURE)
        rows.append(row)
    return rows


def _stands(piece: str, rows: list[dict[str, Any]], register: View | None = None) -> None:
    """Raise ArchiveError where the copy's records do not stand together, or name what is neither there nor here."""
    # A second piece record by this way once stopped everything in the receiving folder.
    if {r["record"] for r in rows if r["kind"] == "piece"} != {piece}:
        raise ArchiveError("The copy is not of one piece", piece, _CURE)
    if any(r["piece"] not in ("", piece) and r["kind"] != "person" for r in rows):
        raise ArchiveError("The copy holds a record of another piece", piece, _CURE)
    last = {row["record"]: row for row in rows}
    known = {row["record"] for row in rows}
    if register is not None:
        known |= set(register._read(lambda c: c.execute(select(current.c.record)).scalars().all()))
    wrong = together((decode(r["kind"], r["body"]) for r in last.values() if not r["withdrawn"]), known)
    if wrong:
        raise ArchiveError("The records in the copy do not stand together", "; ".join(wrong), _CURE)


def receive(path: str | Path, folder: str | Path) -> Path:
    """Unpack a copy into a new piece folder, to work on it there; returns the folder.

    Raises
    ------
    ArchiveError: as ``read``, or if the folder exists and is not empty.
    """
    manifest, rows = read(path)
    folder = Path(folder)
    if folder.exists() and any(folder.iterdir()):
        raise ArchiveError("The folder is not empty", str(folder), "choose a new one")
    _stands(manifest["piece"], rows)
    there = folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    try:
        with staged(Path(path), manifest["files"], rows, folder) as came:
            put_in_place(came.pictures, folder)
            with Register.open(folder / FILE) as register:
                register.write([_as_change(row) for row in came.rows], reader=rows[0]["reader"] if rows else "copy")
                if manifest["version"] < JUDGED_FROM:
                    register.judgements_begin()
    except BaseException:  # half a piece would look like one
        shutil.rmtree(folder, ignore_errors=True)
        if there:
            folder.mkdir(exist_ok=True)
        raise
    return folder


def _as_change(row: dict[str, Any]) -> Change:
    return Change(decode(row["kind"], row["body"]), withdrawn=bool(row["withdrawn"]), piece=row["piece"], id=row["id"],
                  made=row["made"], reader=row["reader"], reason=row["reason"], gesture=row["gesture"],
                  undoes=row["undoes"], body=row["body"])


def merge(register: Register, path: str | Path, reader: str, *, photos: str | Path | None = None,
          progress: Progress = unheard) -> Merged:
    """Take a colleague's copy back: every revision of theirs enters the history; conflicts are listed, ours stands.

    Merging the same copy twice adds nothing. ``photos``: the piece folder, if photos they added are to be written.
    ``progress``: told between the steps; where it raises, register and folder are as before.

    Raises
    ------
    ArchiveError: as ``read``. RegisterError: if the copy is of a piece this register does not hold.
    """
    manifest, rows = read(path, stretch(progress, 0, 0.4))
    if manifest["piece"] not in {p.id for p in register.pieces_held()}:
        raise RegisterError("The copy is of another piece", str(manifest.get("title", "")),
                            "open the register of that piece", piece=manifest["piece"])
    _stands(manifest["piece"], rows, register)
    ours = register.all("photo", piece="*", withdrawn=True)
    folder = Path(photos) if photos is not None else None
    with staged(Path(path), manifest["files"], rows, folder, ours, stretch(progress, 0.4, 0.7)) as came:
        made = put_in_place(came.pictures, folder) if folder is not None else []
        try:
            return merge_rows(register, came.rows, reader, f"merged from {Path(path).name}", manifest["piece"],
                              judged=manifest["version"] >= JUDGED_FROM, progress=stretch(progress, 0.7, 1))
        except BaseException:  # pictures without records
            for file in made:
                file.unlink(missing_ok=True)
            raise
