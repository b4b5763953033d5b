"""Copies, bags and folders that a stranger may send: each a name, how it is made, and by which way it comes.

Conventions: everything is made from one honest piece (``honest``). A case is accepted or refused; both are well, as
long as ``left`` finds nothing in the piece folder but a register, its backups and pictures, and nothing ran.
``MARK`` is what a program among them would leave behind.
"""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import io
import json
import os
import sqlite3
import stat
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from PIL import Image

from readaid.copies import reader_copy
from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.identity import sha256_of
from readaid.core.person import Person, Role
from readaid.core.photo import Photo, Zone, rectangle
from readaid.core.piece import Note, Piece
from readaid.register import bag
from readaid.register.book import Register
from readaid.register.revision import fingerprint

MARK = "it-ran"
Parts = dict[str, bytes]


def honest(folder: Path) -> Path:
    """A piece with a photo, zones, signs, an order, an attempt."""
    (folder / "photos").mkdir(parents=True)
    Image.effect_noise((64, 48), 40).save(folder / "photos" / "kiku.jpg")
    with Register.open(folder) as register:
        register.save_all([
            Piece("tray", id="p", reader="Aki"),
            Photo("photos/kiku.jpg", sha256_of(folder / "photos" / "kiku.jpg"), 64, 48, id="ph"),
            Zone("ph", rectangle(0, 0, 10, 10), id="z1"), Zone("ph", rectangle(0, 12, 10, 10), id="z2"),
            Character(("z1",), (Candidate("き", 0.8),), id="c1"), Character(("z2",), (Candidate("く", 0.6),), id="c2"),
            Inscription(id="i", columns=(("c1", "c2"),)), Attempt("i", "きく", id="a"), Person("山菊", id="m"),
            Role("m", "maker", id="r"), Note("p", "worn", id="n")], reader="Aki")
    return folder


def program(place: Path) -> bytes:
    """What writes the mark when Python runs it."""
    return f"open({str(place / MARK)!r}, 'a').write('x')\n".encode()


def notebook(place: Path) -> bytes:
    """A notebook of our own name whose cell writes the mark."""
    cell = {"cell_type": "code", "metadata": {"trusted": True}, "source": [program(place).decode()], "outputs": [],
            "execution_count": None}
    return json.dumps({"cells": [cell], "metadata": {"readaid": {"page": "photo"}}, "nbformat": 4,
                       "nbformat_minor": 5}).encode()


def picture(format: str = "JPEG") -> bytes:
    stream = io.BytesIO()
    Image.effect_noise((40, 30), 30).save(stream, format)
    return stream.getvalue()


# -- copies ------------------------------------------------------------------------------------------------------------
def parts_of(copy: Path) -> Parts:
    with zipfile.ZipFile(copy) as archive:
        return {n: archive.read(n) for n in archive.namelist()}


def packed(parts: Parts, target: Path, fitting: bool = True) -> Path:
    """A zip of parts, its list of contents made to fit."""
    manifest = json.loads(parts["manifest.json"])
    if fitting:
        manifest["files"] = {n: {"sha256": hashlib.sha256(d).hexdigest(), "bytes": len(d)}
                             for n, d in parts.items() if n != "manifest.json"}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in {**parts, "manifest.json": json.dumps(manifest).encode()}.items():
            archive.writestr(name, data)
    return target


def rows_of(parts: Parts) -> list[dict[str, Any]]:
    return [json.loads(line) for line in parts["revisions.jsonl"].decode().splitlines()]


def with_rows(parts: Parts, rows: list[dict[str, Any]]) -> None:
    for row in rows:
        row["digest"] = fingerprint(row)
    parts["revisions.jsonl"] = "\n".join(json.dumps(r) for r in rows).encode()


def added(parts: Parts, kind: str, **values: Any) -> None:
    """A further record of a kind, like the first of its kind but for some values."""
    rows = rows_of(parts)
    like = next(r for r in rows if r["kind"] == kind)
    body = json.loads(like["body"]) | {"id": f"new-{kind}"} | values
    rows.append(like | {"number": len(rows) + 1, "id": f"rev-{body['id']}", "record": body["id"],
                        "body": json.dumps(body)})
    with_rows(parts, rows)


def changed(parts: Parts, kind: str, **values: Any) -> None:
    """A later revision of the first record of a kind."""
    rows = rows_of(parts)
    like = next(r for r in rows if r["kind"] == kind)
    body = json.loads(like["body"]) | values
    rows.append(like | {"number": len(rows) + 1, "id": f"rev-{kind}", "body": json.dumps(body), "gesture": "g2"})
    with_rows(parts, rows)


#: Names under which a "photo" tried to come in; what it holds is a program, a notebook, or an honest picture.
NAMES = ("notebooks/1_photograph_and_zones.ipynb", "jupyter.py", "notebooks/readaid.py", "readaid/__init__.py",
         "sitecustomize.py", "ipython_config.py", ".jupyter/jupyter_server_config.py", "photos/readaid.py",
         "photos/kiku.jpg.py", "photos/.hidden.jpg", "photos/sub/x.jpg", "exports/report.html", "register.sqlite",
         "backups/register.sqlite", "photos/kiku.svg", "photos/kiku\u202egpj.exe", "run.sh", "autorun.inf", "x.desktop")


def _photo(name: str, data: bytes) -> Callable[[Parts, Path], None]:
    def make(parts: Parts, place: Path) -> None:
        added(parts, "photo", file=name, sha256=hashlib.sha256(data).hexdigest(), id="x")
        parts[f"photos/x/{Path(name).name}"] = data.replace(b"PLACE", str(place).encode())
    return make


def _added(kind: str, **values: Any) -> Callable[[Parts, Path], None]:
    return lambda parts, place: added(parts, kind, **values)


def _changed(kind: str, **values: Any) -> Callable[[Parts, Path], None]:
    return lambda parts, place: changed(parts, kind, **values)


def _part(name: str, data: bytes) -> Callable[[Parts, Path], None]:
    return lambda parts, place: parts.update({name: data})


def copies() -> Iterator[tuple[str, Callable[[Parts, Path], None]]]:
    """Name and change of each hostile copy."""
    run = b"open('PLACE/it-ran', 'a').write('x')\n"
    for name in NAMES:
        yield f"program as {name!a}", _photo(name, run)
        yield f"picture as {name!a}", _photo(name, picture())
    yield "PostScript as a photo", _photo("photos/a.jpg", b"%!PS-Adobe-3.0\n%%BoundingBox: 0 0 9 9\n(x) (w) file\n")
    yield "SVG as a photo", _photo("photos/a.png", b"<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>")
    yield "HTML as a photo", _photo("photos/a.jpg", b"<script>x()</script>")
    yield "PNG that calls itself JPEG", _photo("photos/a.jpg", picture("PNG"))
    yield "GIF as a photo", _photo("photos/a.jpg", picture("GIF"))
    yield "empty photo", _photo("photos/a.jpg", b"")
    yield "a photo's name taken twice", _photo("photos/KIKU.jpg", picture())
    yield "a file that belongs to nothing", _part("photos/none/x.py", run)
    yield "a file beside the photos", _part("jupyter.py", run)
    yield "a notebook beside the photos", _part("notebooks/1_photograph_and_zones.ipynb", run)
    yield "our photo renamed to a program", _changed("photo", file="jupyter.py")
    yield "our photo made enormous", _changed("photo", width=10**9)
    yield "zone without points", _added("zone", outline=[])
    yield "zone of one point", _added("zone", outline=[[1, 1]])
    yield "zone without area", _added("zone", outline=[[1, 1], [1, 1], [1, 1]])
    yield "zone of no numbers", _added("zone", outline=[[float("nan"), 0], [1, 0], [1, 1]])
    yield "zone without end", _added("zone", outline=[[float("inf"), 0], [1, 0], [1, 1]])
    yield "zone far outside", _added("zone", outline=[[1e9, 1e9], [2e9, 1e9], [2e9, 2e9]])
    yield "zone of a million points", _added("zone", outline=[[1, 1]] * 100_000)
    yield "zone on no photo", _added("zone", photo="nowhere")
    yield "attempt at nothing", _added("attempt", inscription="nowhere")
    yield "role of nobody", _added("role", person="nobody")
    yield "a sign twice in an order", _changed("inscription", columns=[["c1", "c1"]])
    yield "a sign in two orders", _added("inscription", columns=[["c1"]])
    yield "a billion signs lost", _changed("character", missing=[0, 10**9])
    yield "a confidence of 7", _changed("character", candidates=[{"character": "き", "confidence": 7.0, "note": "",
                                                                  "probability": None, "source": "reader"}])
    yield "a probability of none", _added("attempt", probability=float("nan"))
    yield "an attempt of minus morae", _added("attempt", morae=[-5])
    yield "a scale without length", _changed("photo", scale={
        "a": [1, 1], "b": [1, 1], "millimetres": 5.0, "what": "", "check_a": None, "check_b": None,
        "check_millimetres": None, "check_what": ""})
    yield "a matrix of three numbers", _changed("photo", to_reference=[1.0, 2.0, 3.0], reference="ph2")
    yield "a matrix that cannot be turned round", _changed("photo", to_reference=[0.0] * 9, reference="ph2")
    yield "a text of a million signs", _added("note", text="x" * 1_000_000)
    yield "a second piece", _added("piece", title="another")
    yield "an id that is a path", _added("note", id="../../x")
    yield "an id with a line end", _added("note", id="a\nb")
    yield "a number as text", _added("zone", confidence="very")
    yield "a text as a list", _added("note", text=["x"])
    yield "no time", lambda parts, place: with_rows(parts, [r | {"made": "yesterday"} for r in rows_of(parts)])
    yield "a gesture with a zero byte", lambda parts, place: with_rows(
        parts, [r | {"gesture": "a\0b"} for r in rows_of(parts)])
    yield "a reader of a million signs", lambda parts, place: with_rows(
        parts, [r | {"reader": "x" * 1_000_000} for r in rows_of(parts)])
    yield "no piece", lambda parts, place: with_rows(parts, [r for r in rows_of(parts) if r["kind"] != "piece"])
    yield "another piece's record", lambda parts, place: with_rows(
        parts, [r | ({"piece": "q"} if r["kind"] == "note" else {}) for r in rows_of(parts)])


# -- bags and folders ----------------------------------------------------------------------------------------------
def planted(folder: Path, place: Path) -> None:
    """Programs, changed notebooks, configuration and runnable pictures in a piece folder."""
    for name in NAMES:
        if name not in ("register.sqlite", "photos/.hidden.jpg", "photos/sub/x.jpg", "backups/register.sqlite"):
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(notebook(place) if name.endswith(".ipynb") else program(place))
    (folder / "photos" / "run.jpg").write_bytes(b"#!/bin/sh\n" + program(place))
    for path in folder.rglob("*"):
        if path.is_file():
            path.chmod(0o755)


def written(folder: Path, change: Callable[[Parts, Path], None], place: Path) -> None:
    """Write what a hostile copy would bring straight into the register of a folder, digests made to fit: nobody's door
    was asked, as in a copied folder, a restored bag, or a server to which others write.
    """
    with Register.open(folder) as register:
        copy = reader_copy.write(register, folder.with_suffix(".zip"))
    parts = parts_of(copy)
    change(parts, place)
    with contextlib.closing(sqlite3.connect(folder / "register.sqlite")) as raw:
        held = {r[0] for r in raw.execute("SELECT id FROM revision")}
        number = raw.execute("SELECT max(number) FROM revision").fetchone()[0]
        for row in rows_of(parts):
            if row["id"] not in held:
                number += 1
                values = (number, row["id"], row["record"], row["kind"], row["piece"], row["body"], row["withdrawn"],
                          row["reader"], row["reason"], row["made"], row["made"], row["gesture"], None, None,
                          row["digest"])
                raw.execute(f"INSERT INTO revision VALUES ({', '.join('?' * len(values))})", values)
        raw.commit()
    for path in (folder / "backups").glob("*"):  # they do not know of it, and it is not their word that is asked here
        path.unlink()


LINKS = ("register.sqlite", "photos", "exports", "backups", "exports/report.html", "exports/report.html.part",
         "exports/tables", "backups/register-journal.jsonl", "backups/photo-times.json")


#: How the names of those hostile copies begin that are absurd in their values.
VALUES = ("zone", "a sign", "a billion", "a probability", "an attempt", "a scale", "a matrix", "a text", "a number",
          "attempt", "role", "our photo", "an id")


def folders() -> Iterator[tuple[str, Callable[[Path, Path], None]]]:
    """Name and change of each hostile piece folder; a bag of it is as hostile."""
    yield "programs, notebooks, configuration", planted
    for name in LINKS:
        def link(folder: Path, place: Path, name: str = name) -> None:
            (folder / name).parent.mkdir(exist_ok=True)
            if (folder / name).exists():
                (folder / name).rename(place / f"{folder.name}-{Path(name).name}")
            target = place / "elsewhere"
            if (place / f"{folder.name}-{Path(name).name}").exists():
                target = place / f"{folder.name}-{Path(name).name}"
            else:
                target.write_text("mine", encoding="utf-8")
            (folder / name).symlink_to(target)
        yield f"a link as {name}", link

    def scheming(folder: Path, place: Path) -> None:
        with contextlib.closing(sqlite3.connect(folder / "register.sqlite")) as raw:
            raw.execute("CREATE TRIGGER t AFTER INSERT ON revision BEGIN DELETE FROM revision WHERE number < 3; END")
            raw.commit()
    yield "a trigger in the register", scheming
    for name, change in copies():
        if name.startswith(VALUES):
            yield f"{name}, in the register", lambda folder, place, change=change: written(folder, change, place)


def bagged(folder: Path, target: Path) -> Path:
    """A bag of a folder, made by ourselves: its checksums fit."""
    return bag.make(folder, target)


def left(folder: Path) -> list[str]:
    """What lies in a piece folder and should not, or may be run."""
    found = []
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_dir() and not path.is_symlink():
            continue
        mode = path.lstat().st_mode
        known = name in ("register.sqlite", "register.sqlite-journal", "backups/photo-times.json") or (
            name.startswith(("backups/", "register.damaged-")) and name.endswith((".sqlite", ".jsonl"))) or (
            name.startswith("photos/") and name.count("/") == 1 and is_picture(path))
        if not known or not stat.S_ISREG(mode) or mode & 0o111:
            found.append(name)
    return found


def is_picture(path: Path) -> bool:
    """By content and by name; read by Pillow."""
    try:
        with Image.open(path) as shown:
            endings = {"JPEG": (".jpg", ".jpeg"), "PNG": (".png",), "TIFF": (".tif", ".tiff"), "WEBP": (".webp",)}
            return path.suffix.lower() in endings[shown.format or ""]
    except (OSError, KeyError):
        return False


def snapshot(place: Path) -> dict[str, tuple[int, int]]:
    """Size and time of everything below a place, to see what changed outside the piece folder."""
    return {str(p): (p.lstat().st_size, p.lstat().st_mtime_ns) for p in place.rglob("*")}


@dataclasses.dataclass(frozen=True)
class Outcome:
    """What became of a case: "accepted" or the words of the refusal; and what was wrong, if anything."""

    name: str
    way: str
    told: str
    wrong: tuple[str, ...]


def try_copies(place: Path) -> Iterator[Outcome]:
    """Every hostile copy, received into a new folder and merged into the piece it came from."""
    from readaid.core.errors import ReadaidError
    from readaid.piece.open_piece import OpenPiece

    base = honest(place / "base")
    with Register.open(base) as register:
        copy = reader_copy.write(register, place / "honest.zip", photos=base)
    for at, (name, change) in enumerate(copies()):
        parts = parts_of(copy)
        change(parts, place)
        sent = packed(parts, place / f"sent-{at}.zip")
        for way in ("receive", "merge"):
            folder = place / f"{way}-{at}"
            told, wrong = "accepted", []
            try:
                if way == "receive":
                    reader_copy.receive(sent, folder)
                else:
                    honest(folder)
                    with Register.open(folder) as register:
                        before = register.version
                        try:
                            reader_copy.merge(register, sent, "Aki", photos=folder)
                        except ReadaidError:
                            if register.version != before:
                                wrong.append("refused, yet something entered")
                            raise
            except ReadaidError as error:
                told = str(error)
            if folder.exists() and (folder / "register.sqlite").exists():
                with OpenPiece(folder) as piece:  # whatever came in, the piece opens and every part of it is read
                    _ = piece.contents, piece.notices, piece.check_photos()
                    piece.report("tei")
                for made in (folder / "exports").rglob("*"):
                    made.unlink()
                wrong += left(folder)
            elif folder.exists() and any(folder.rglob("*")):
                wrong.append("half a piece")
            if (place / MARK).exists():
                wrong.append("it ran")
            yield Outcome(name, way, told, tuple(wrong))
        os.unlink(sent)


def try_folders(place: Path, ways: tuple[str, ...] = ("open", "restore")) -> Iterator[Outcome]:
    """Every hostile folder opened as it lies, and put into a bag and restored; every part of the piece is used."""
    from readaid.core.errors import ReadaidError
    from readaid.piece.open_piece import OpenPiece

    for at, (name, change) in enumerate(folders()):
        for way in ways:
            folder = honest(place / f"folder-{way}-{at}")
            change(folder, place)
            before = snapshot(place / "elsewhere") if (place / "elsewhere").is_dir() else None
            mine = (place / "elsewhere").read_bytes() if (place / "elsewhere").is_file() else b""
            told, wrong = "accepted", []
            if way == "restore" and name.endswith("in the register"):
                continue  # the register comes back as it is: the same as the folder
            try:
                if way == "restore":
                    folder = bag.restore(bagged(folder, place / f"bag-{at}.zip"), place / f"back-{at}")
                with OpenPiece(folder, reader="Mori") as piece:
                    told = "; ".join(("accepted", *piece.contents.faults))
                    piece.check_photos()
                    piece.save(Note("p", "seen"), reason="seen")
                    for format in ("html", "tei", "annotations", "xlsx"):
                        piece.report(format)
                    piece.custody.worksheet()
                    piece.custody.copy()
                    for inscription in piece.contents.inscriptions:
                        piece.decipherment.solve(inscription, k=1)
            except ReadaidError as error:
                told = str(error)
            if way == "restore" and folder.name.startswith("back"):
                for made in (folder / "exports").rglob("*"):
                    if made.is_file():
                        made.unlink()
                wrong += left(folder)
            if before is not None and snapshot(place / "elsewhere") != before:
                wrong.append("written elsewhere")
            if mine and (place / "elsewhere").read_bytes() != mine:
                wrong.append("written elsewhere")
            if (place / MARK).exists():
                wrong.append("it ran")
            yield Outcome(name, way, told, tuple(wrong))
            with contextlib.suppress(OSError):
                (place / "elsewhere").unlink()
