"""The register under harm: writers at once, full disk, locked medium, wrong clock, damage, a file gone or put back.

Each row says what was tried, and how often something was lost or shown as truth that is not. ``kills`` stand in
``register``.
"""

import math
import multiprocessing
import os
import random
import shutil
import sqlite3
import subprocess
import tempfile
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from PIL import Image

import readaid
from readaid.core.errors import ReadaidError, RegisterError
from readaid.core.piece import Note, Piece
from readaid.register import backup, recovery
from readaid.register.book import Register
from readaid.register.engine import DamagedRegisterError, MisplacedRegisterError
from readaid.register.startup import FILE
from tests import stores
from tests.piece.test_two_kernels import lost, run_writers

Row = tuple[str, float, str, str]
SECONDS, WRITERS, DAMAGES, RECORDS = 60.0, 3, 200, 3000
FORK = multiprocessing.get_context("forkserver")


def _piece(folder: Path):
    path = folder / "front.png"
    Image.new("RGB", (600, 400), "white").save(path)
    piece = readaid.new(folder / "piece", reader="Mori")
    piece.add_photo(path)
    return piece, piece.layout.inscription("verse", piece.contents.photos[0])


def writers(seconds: float = SECONDS) -> list[Row]:
    """Three kernels draw, tag, move and delete on one inscription without a pause."""
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as place:
        piece, verse = _piece(Path(place))
        with piece:
            told, refused = run_writers(FORK, piece.folder, verse.id, (seconds, math.inf), WRITERS)
            rows += [(f"acknowledged signs lost, {WRITERS} writers {seconds:g} s, SQLite",
                      len(lost(piece, verse.id, told)), f"of {len(told)}", "0"),
                     ("  gestures refused and told", refused, "", ""),
                     ("  problems found by the check", len(piece.register.check().problems), "", "0")]
    try:
        with tempfile.TemporaryDirectory() as place, stores.running(Path(place)) as address:
            piece, verse = _piece(Path(place))
            with piece:
                with Register.open(address) as there:  # the same records on the server
                    for row in piece.register.since(0):
                        there.save(row.record, reader=row.reader)
                told, refused = run_writers(FORK, piece.folder, verse.id, (seconds, math.inf), WRITERS, address)
                piece.register.close()
                piece.register = Register.open(address)
                rows += [(f"acknowledged signs lost, {WRITERS} writers {seconds:g} s, PostgreSQL",
                          len(lost(piece, verse.id, told)), f"of {len(told)}", "0"),
                         ("  gestures refused and told", refused, "", ""),
                         ("  problems found by the check", len(piece.register.check().problems), "", "0")]
    except stores.NoServerError as error:
        rows.append((f"three writers on PostgreSQL: not tried, {error}", 0, "", ""))
    return rows


def _large(folder: Path) -> dict[str, str]:
    """A register of three revisions a record, its backup beside it; returns the text of each note."""
    with Register.open(folder) as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        for turn in range(3):
            for start in range(0, RECORDS, 500):
                register.save_all([Note("p", f"note {n} turn {turn} " + "の" * 250, id=f"n{n}")
                                   for n in range(start, start + 500)], reader="Aki")
        register.backup()
        return {n.id: n.text for n in register.all("note")}


def _harm(path: Path, chance: random.Random) -> str:
    """One kind of damage somewhere in the file."""
    size = path.stat().st_size
    kind = chance.choice(["one byte", "16 bytes", "512 bytes", "zeros", "two pages exchanged", "cut off", "text"])
    with path.open("r+b") as file:
        at = chance.randrange(100, size - 8192)
        file.seek(at)
        if kind == "text":
            file.seek(0)
            data = file.read()
            places = data.find(b"turn ", at)
            at = places if places > 0 else data.find(b"turn ")
            file.seek(at + 5)
            file.write(b"7")
        elif kind == "cut off":
            file.truncate(size - chance.randrange(1, size // 2))
        elif kind == "two pages exchanged":
            one, two = (chance.randrange(1, size // 4096 - 1) * 4096 for _ in range(2))
            file.seek(one)
            first = file.read(4096)
            file.seek(two)
            second = file.read(4096)
            file.seek(one)
            file.write(second)
            file.seek(two)
            file.write(first)
        elif kind == "zeros":
            file.seek(at // 4096 * 4096)
            file.write(b"\0" * 4096)
        else:
            file.write(chance.randbytes({"one byte": 1, "16 bytes": 16, "512 bytes": 512}[kind]))
    return kind


def damages(count: int = DAMAGES, recovered: int = 20) -> list[Row]:
    """Damages of a register too large for the look at every page at opening."""
    chance = random.Random(11)
    told = harmless = wrong = whole = tried = 0
    with tempfile.TemporaryDirectory() as place:
        home = Path(place) / "home"
        home.mkdir()
        truth = _large(home)
        size = (home / FILE).stat().st_size / 1e6
        for number in range(count):
            work = Path(place) / "work"
            shutil.rmtree(work, ignore_errors=True)
            work.mkdir()
            shutil.copyfile(home / FILE, work / FILE)
            _harm(work / FILE, chance)
            try:
                with Register.open(work, read_only=True) as register:
                    shown = {n.id: n.text for n in register.contents().notes}
            except (DamagedRegisterError, RegisterError):
                told += 1
                if tried < recovered:
                    tried += 1
                    shutil.copytree(home / "backups", work / "backups")
                    recovery.recover(work)
                    with Register.open(work) as register:
                        whole += {n.id: n.text for n in register.all("note")} == truth
                continue
            harmless, wrong = harmless + (shown == truth), wrong + (shown != truth)
            if shown != truth:
                print(f"    damage {number} was shown as truth")
    return [(f"damages of a register of {size:.0f} MB shown as truth", wrong, f"of {count}", "0"),
            ("  told", told, f"of {count}", ""), ("  without effect on what stands", harmless, f"of {count}", ""),
            ("  recovered whole from backup and journal", whole, f"of {tried}", str(tried))]


@contextmanager
def _small_disk(folder: Path, size: str = "2m"):
    folder.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "readaid", folder], capture_output=True)
    try:
        yield done.returncode == 0
    finally:
        if done.returncode == 0:
            subprocess.run(["umount", "-l", folder], check=True)


def media() -> list[Row]:
    """A full disk and a locked medium."""
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as place, _small_disk(Path(place) / "disk") as mounted:
        if not mounted:
            return [("full disk and locked medium: not tried, no file system may be mounted here", 0, "", "")]
        folder, saved, words = Path(place) / "disk", [], ""
        with Register.open(folder) as register:
            register.save(Piece("tray", id="p"), reader="Aki")
            try:
                for at in range(9000):
                    note = Note("p", f"{at} " + "の" * 500)
                    register.save(note, reader="Aki")
                    saved.append(note)
            except RegisterError as error:
                words = str(error)
        with Register.open(folder) as register:
            rows += [("acknowledged notes lost on a full disk", len(set(saved) - set(register.all("note"))),
                      f"of {len(saved)}", "0"),
                     ("  told in words with the cure", int("free some space" in words), "", "1")]
        subprocess.run(["mount", "-o", "remount,ro", folder], check=True)
        with Register.open(folder) as register:
            rows.append(("notes that cannot be read on a locked medium",
                         len(set(saved) - set(register.all("note"))), f"of {len(saved)}", "0"))
            try:
                register.save(Note("p", "x"), reader="Aki")
                rows.append(("  writing there is told", 0, "", "1"))
            except RegisterError:
                rows.append(("  writing there is told", 1, "", "1"))
        subprocess.run(["mount", "-o", "remount,rw", folder], check=True)
    return rows


def _refused(folder: Path) -> int:
    """Whether opening refuses and says the way back, and ``recover`` then gives every note again."""
    try:
        Register.open(folder).close()
    except MisplacedRegisterError as error:
        recovery.recover(folder)
        with Register.open(folder) as register:
            return int("readaid recover" in str(error) and len(register.all("note")) == 20)
    return 0


def whereabouts() -> list[Row]:
    """A file gone, put back from an older day, exchanged, newer; a clock a day ahead."""
    found = {}
    with tempfile.TemporaryDirectory() as place:
        def begin(name: str) -> Path:
            folder = Path(place) / name
            folder.mkdir()
            with Register.open(folder) as register:
                register.save(Piece("tray", id="p"), reader="Aki")
                for at in range(20):
                    register.save(Note("p", f"{name} {at}"), reader="Aki")
                    if at == 10:
                        register.backup()
            return folder

        gone, older, exchanged, newer, other = (begin(n) for n in ("gone", "older", "exchanged", "newer", "other"))
        (gone / FILE).unlink()
        early = min(backup.backups(older / FILE), key=lambda b: b.version)
        shutil.copy(early.path, older / FILE)
        shutil.copy(other / FILE, exchanged / FILE)
        for name, folder in (("gone", gone), ("put back from an older day", older),
                             ("exchanged for another", exchanged)):
            found[f"register {name}: told, and back whole"] = _refused(folder)
        with closing(sqlite3.connect(newer / FILE)) as raw, raw:
            raw.execute("INSERT INTO migration VALUES ('9999', '2030', 'readaid 9')")
        before = (newer / FILE).read_bytes()
        try:
            recovery.recover(newer)
        except ReadaidError:
            found["register of a newer readaid: refused, not touched"] = int((newer / FILE).read_bytes() == before)
        with Register.open(other) as register:
            register.save(Note("p", "one more"), reader="Aki")
            backup.make(other / FILE, datetime.now(UTC) + timedelta(days=1))
            register.save(Note("p", "and one"), reader="Aki")
        newest = backup.backups(other / FILE)[0]
        found["clock a day ahead, then right: the next session has its backup"] = int(newest.version == 23)
    return [(name, value, "", "1") for name, value in found.items()]


def bench() -> list[Row]:
    os.nice(5)
    return [*whereabouts(), *media(), *damages(), *writers()]
