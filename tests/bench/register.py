"""The register: durable attempts a second, 100,000 attempts, 500 kills, eight writers."""

import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.piece import Piece
from readaid.register import lookup
from readaid.register.book import Register
from readaid.register.startup import FILE
from tests.register.test_trust import FORK, kill_a_writer, write_many

Row = tuple[str, float, str, str]
ATTEMPTS, KILLS, WRITERS, EACH = 100_000, 500, 8, 500


def _attempt(at: int) -> Attempt:
    return Attempt("i", f"きくのかを{at}", kana=f"きくのかを{at}", lines=("きくのかを",), morae=(5,),
                   chosen=tuple((f"c{n}", s) for n, s in enumerate("きくのかを")), reader="Aki")


def _raw(folder: Path, count: int) -> float:
    """Rows a second into a bare table of one text column, in the same mode (rollback journal, FULL)."""
    raw = sqlite3.connect(folder / "raw.sqlite", isolation_level=None)
    raw.execute("PRAGMA synchronous=FULL")
    raw.execute("PRAGMA journal_mode=TRUNCATE")
    raw.execute("CREATE TABLE t (number INTEGER PRIMARY KEY, body TEXT)")
    body = "x" * 700
    start = time.perf_counter()
    for _ in range(count):
        raw.execute("BEGIN IMMEDIATE")
        raw.execute("INSERT INTO t (body) VALUES (?)", (body,))
        raw.execute("COMMIT")
    spent = time.perf_counter() - start
    raw.close()
    return count / spent


def speed(count: int = 300) -> list[Row]:
    """Attempts one by one, each durable, turn by turn with bare SQLite so that both meet the same disk."""
    ours, bare, memory = [], [], []
    with tempfile.TemporaryDirectory() as folder, Register.open(folder) as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        for turn in range(3):
            start = time.perf_counter()
            for at in range(count):
                register.save(_attempt(at), reader="Aki")
            ours.append(count / (time.perf_counter() - start))
            (Path(folder) / f"raw{turn}").mkdir()
            bare.append(_raw(Path(folder) / f"raw{turn}", count))
    if Path("/dev/shm").is_dir():  # no disk at all: what our own code costs
        with tempfile.TemporaryDirectory(dir="/dev/shm") as folder, Register.open(folder) as register:
            register.save(Piece("tray", id="p"), reader="Aki")
            start = time.perf_counter()
            for at in range(count):
                register.save(_attempt(at), reader="Aki")
            memory.append(count / (time.perf_counter() - start))
    rows = [("durable attempts, one by one", statistics.median(ours), "1/s", ">= 300"),
            ("bare SQLite in the same mode, one row each", statistics.median(bare), "1/s", ""),
            ("ratio to bare SQLite", statistics.median(o / b for o, b in zip(ours, bare, strict=True)), "", "")]
    return rows + [("the same in memory (what our code allows)", m, "1/s", "") for m in memory]


_OPEN = """
import sys, time
start = time.perf_counter()
from readaid.register.book import Register
loaded = time.perf_counter()
register = Register.open(sys.argv[1])
opened = time.perf_counter()
page = register.search(kinds="attempt", limit=50)
shown = time.perf_counter()
assert len(page.hits) == 50 and page.total == int(sys.argv[2])
print(loaded - start, opened - loaded, shown - opened)
"""


def large() -> list[Row]:
    """A register of 100,000 attempts in 50 pieces."""
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder:
        with Register.open(folder) as register:
            register.save_all([Piece(f"piece {n}", id=f"p{n}") for n in range(50)], reader="Aki")
            start = time.perf_counter()
            for piece in range(50):
                signs = [Character((), (Candidate("き", 0.6), Candidate("さ", 0.5)), id=f"p{piece}c{n}")
                         for n in range(5)]
                register.save_all([Inscription(id=f"i{piece}", columns=(tuple(s.id for s in signs),)), *signs,
                                   *(_attempt(piece * 2000 + n) for n in range(ATTEMPTS // 50))], reader="Aki",
                                  piece=f"p{piece}")
            rows.append(("enter 100,000 attempts, 2,000 a gesture", time.perf_counter() - start, "s", ""))
        rows.append(("size of the register", (Path(folder) / FILE).stat().st_size / 1e6, "MB", ""))
        times = [[float(x) for x in subprocess.run([sys.executable, "-c", _OPEN, folder, str(ATTEMPTS)], check=True,
                                                   capture_output=True, text=True).stdout.split()] for _ in range(5)]
        load, opening, page = (statistics.median(t[i] for t in times) for i in range(3))
        rows += [("load the room (fresh process)", load, "s", ""),
                 ("open 100,000 attempts and show the first page", opening + page, "s", "< 0.5"),
                 ("  of which opening with its check", opening, "s", "")]
        with Register.open(folder) as register:
            for what, work in (("search text that is rare", lambda: register.search("かを77777")),
                               ("search a kana in any letter of its sound", lambda: register.search(sound="き")),
                               ("characters still disputed, all pieces", lambda: lookup.disputed(register))):
                start = time.perf_counter()
                assert work().total > 0
                rows.append((what, time.perf_counter() - start, "s", ""))
            start = time.perf_counter()
            register.search(kinds="attempt", offset=90_000, limit=50)
            rows.append(("page 1,801 of the attempts", time.perf_counter() - start, "s", ""))
            start = time.perf_counter()
            frame = register.frame("attempt")
            assert len(frame) == ATTEMPTS
            rows.append(("all 100,000 attempts as a DataFrame", time.perf_counter() - start, "s", ""))
            start = time.perf_counter()
            register.save(Piece("one more", id="q"), reader="Aki")
            rows.append(("first save of a session", time.perf_counter() - start, "s", ""))
            start = time.perf_counter()
            assert register.check().sound
            rows.append(("full check", time.perf_counter() - start, "s", ""))
    return rows


def kills(count: int = KILLS) -> list[Row]:
    """A writer killed again and again; every second one may die while it opens the register."""
    chance, told = random.Random(7), []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(count):
            told += kill_a_writer(folder, chance.uniform(0.0, 0.08), f"writer {number}", 1 + number % 2)
        with Register.open(folder) as register:
            held = {a.id for a in register.all("attempt")}
            sound = register.check().sound
    return [(f"acknowledged attempts lost after {count} kills", len(set(told) - held), f"of {len(told)}", "0"),
            ("register sound after them", int(sound), "", "1")]


def writers() -> list[Row]:
    """Eight processes at once."""
    with tempfile.TemporaryDirectory() as folder:
        Register.open(folder).close()
        processes = [FORK.Process(target=write_many, args=(folder, EACH, f"w{n}")) for n in range(WRITERS)]
        start = time.perf_counter()
        for process in processes:
            process.start()
        for process in processes:
            process.join()
        spent = time.perf_counter() - start
        with Register.open(folder) as register:
            held, sound = len(register.all("attempt")), register.check().sound
    return [(f"attempts there after {WRITERS} processes x {EACH}", held, "", str(WRITERS * EACH)),
            ("  in", spent, "s", ""), ("  register sound", int(sound), "", "1")]


def bench() -> list[Row]:
    return [*speed(), *large(), *writers(), *kills()]
