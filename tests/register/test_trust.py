"""What is saved stays saved: kills, many writers, full disk, read-only media, damage, backups."""

import contextlib
import dataclasses
import multiprocessing
import os
import random
import signal
import sqlite3
import subprocess
import time
from datetime import UTC, datetime, timedelta

import pytest

from readaid.core.attempt import Attempt
from readaid.core.errors import RegisterError
from readaid.core.photo import Photo, Zone
from readaid.core.piece import Note, Piece
from readaid.register import backup, recovery
from readaid.register.book import Register
from readaid.register.engine import DamagedRegisterError
from readaid.register.startup import FILE
from readaid.register.store import Change

FORK = multiprocessing.get_context("forkserver")
FORK.set_forkserver_preload(["readaid.register.book", "sqlalchemy.dialects.postgresql.psycopg"])


def write_and_tell(address, pipe, name):
    """Save attempts one by one; tell the id of each only when ``save`` has returned."""
    os.write(pipe.fileno(), b"started\n")
    with Register.open(address) as register:
        at = 0
        while True:
            attempt = Attempt("i", f"{name} {at}")
            register.save(attempt, reader=name)
            os.write(pipe.fileno(), attempt.id.encode() + b"\n")
            at += 1


def kill_a_writer(address, seconds, name, lines):
    """Ids that a writer had acknowledged when it was killed, ``seconds`` after it had told so many lines."""
    ours, theirs = FORK.Pipe(duplex=False)
    process = FORK.Process(target=write_and_tell, args=(address, theirs, name))
    process.start()
    theirs.close()
    told = b""
    while told.count(b"\n") < lines and (block := os.read(ours.fileno(), 65536)):
        told += block
    time.sleep(seconds)
    os.kill(process.pid, signal.SIGKILL)
    process.join()
    while block := os.read(ours.fileno(), 65536):
        told += block
    ours.close()
    return [line for line in told.decode().split("\n") if len(line) == 36]


@pytest.mark.slow
def test_fifty_kills_lose_nothing_acknowledged(tmp_path):
    chance = random.Random(5)
    told = []
    for number in range(50):
        # every second one may die while it opens the register (its first line only says that it has started)
        told += kill_a_writer(tmp_path, chance.uniform(0.0, 0.1), f"writer {number}", 1 + number % 2)
    with Register.open(tmp_path) as register:
        held = {a.id for a in register.all("attempt")}
        assert set(told) <= held
        assert len(told) >= 25, "the writers did write"
        assert register.check().problems == ()


def write_many(address, count, name, pieces=False):
    with Register.open(address) as register:
        for at in range(count):
            register.save(Attempt("i", f"{name} {at}"), reader=name)


def test_many_processes_write_at_once(address):
    with Register.open(address) as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        watched = register.version
        writers = [FORK.Process(target=write_many, args=(address, 15, f"w{n}")) for n in range(4)]
        for writer in writers:
            writer.start()
        for writer in writers:
            writer.join(120)
        assert [w.exitcode for w in writers] == [0, 0, 0, 0]
        assert len(register.all("attempt")) == 60
        numbers = [r.number for r in register.since(watched)]
        assert numbers == list(range(watched + 1, watched + 61)), "no gaps, in order"
        assert register.check().problems == ()


def test_opening_beside_busy_writers_is_no_damage(address):
    """Opening asks several questions; a save between two of them must look neither like damage nor be undone."""
    Register.open(address).close()
    writers = [FORK.Process(target=write_many, args=(address, 40, f"w{n}")) for n in range(2)]
    for writer in writers:
        writer.start()
    opened = 0
    while any(w.is_alive() for w in writers):
        with Register.open(address) as register:
            assert len(register.all("attempt")) <= 80
            opened += 1
    assert [w.exitcode for w in writers] == [0, 0]
    with Register.open(address) as register:
        assert len(register.all("attempt")) == 80
        assert register.check().problems == ()
    assert opened


def test_two_kernels_see_each_other(address):
    with Register.open(address) as one, Register.open(address) as two:
        note = Note("p", "a")
        one.save(note, reader="Aki")
        seen = two.version
        two.save(dataclasses.replace(note, text="b"), reader="Bun")
        assert [r.record.text for r in one.since(seen)] == ["b"]
        assert one.get(note.id).text == "b"


def test_threads_share_a_register(address):
    from concurrent.futures import ThreadPoolExecutor

    with Register.open(address) as register, ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda n: register.save(Note("p", str(n)), reader="Aki"), range(20)))
        assert sorted(int(n.text) for n in register.all("note")) == list(range(20))


def test_a_forked_child_uses_its_own_connection(tmp_path):
    with Register.open(tmp_path) as register:
        register.save(Note("p", "parent"), reader="Aki")
        child = os.fork()
        if child == 0:
            with contextlib.suppress(BaseException):
                register.save(Note("p", "child"), reader="Aki")
            os._exit(0)
        os.waitpid(child, 0)
        register.save(Note("p", "parent again"), reader="Aki")
        assert [n.text for n in register.all("note")] == ["parent", "child", "parent again"]
        assert register.check().problems == ()


def test_a_locked_register_is_waited_for_then_told(tmp_path):
    Register.open(tmp_path).close()
    with Register.open(tmp_path, patience=0.2) as register:
        other = sqlite3.connect(tmp_path / FILE, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RegisterError, match="keeps the register locked"):
            register.save(Note("p", "a"), reader="Aki")
        assert register.all("note") == [], "reading goes on beside a writer"
        other.execute("COMMIT")
        register.save(Note("p", "a"), reader="Aki")
        other.close()


# -- media --------------------------------------------------------------------------------------------------------
@pytest.fixture
def small_disk(tmp_path):
    """A file system of one megabyte in memory, and a way to remount it read-only."""
    folder = tmp_path / "disk"
    folder.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "readaid", folder], capture_output=True, text=True)
    if made.returncode:
        pytest.skip(f"no file system may be mounted here: {made.stderr.strip()}")
    yield folder
    subprocess.run(["umount", "-l", folder], check=True)


def test_a_full_disk_loses_nothing(small_disk):
    ballast = small_disk / "ballast"
    with Register.open(small_disk) as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        ballast.write_bytes(b"x" * 500_000)
        saved = []

        def fill():
            for at in range(5000):
                note = Note("p", f"{at} " + "の" * 500)
                register.save(note, reader="Aki")
                saved.append(note)

        with pytest.raises(RegisterError, match=r"disk is full.*free some space"):
            fill()
        assert len(saved) > 5
        assert register.all("note") == saved
    with Register.open(small_disk) as register:
        assert register.all("note") == saved
        assert register.check().problems == ()
        ballast.unlink()
        register.save(Note("p", "room again"), reader="Aki")
        assert len(register.all("note")) == len(saved) + 1


def test_read_only_media_are_read(small_disk):
    with Register.open(small_disk) as register:
        register.save_all([Piece("tray", id="p"), Note("p", "a")], reader="Aki")
    subprocess.run(["mount", "-o", "remount,ro", small_disk], check=True)
    with Register.open(small_disk) as register:
        assert register.read_only
        assert "reading only" in register.notices[0]
        assert register.contents().notes[0].text == "a"
        assert register.notes.text.tolist() == ["a"]
        with pytest.raises(RegisterError, match="reading only"):
            register.save(Note("p", "b"), reader="Aki")
    with Register.open(small_disk, read_only=True) as register:
        assert register.check().sound
    empty = small_disk / "other"
    with pytest.raises(RegisterError, match="folder of the register does not exist"):
        Register.open(empty / "r.sqlite")
    with pytest.raises(RegisterError, match="cannot be written here"):
        Register.open(small_disk / "new.sqlite")


def test_a_cut_off_change_on_read_only_media(small_disk, tmp_path):
    """A writer died in mid-change and the folder was then put on a read-only medium: the state before it shows."""
    with Register.open(tmp_path) as register:
        register.save_all([Piece("tray", id="p"), *(Note("p", "good " * 50, id=f"n{i}") for i in range(200))],
                          reader="Aki")
    writer = sqlite3.connect(tmp_path / FILE, isolation_level=None)
    writer.execute("PRAGMA cache_size=2")  # pages spill into the file before the commit
    writer.execute("BEGIN IMMEDIATE")
    writer.execute("UPDATE revision SET body = replace(body, 'good', 'half')")
    for name in (FILE, FILE + "-journal"):
        (small_disk / name).write_bytes((tmp_path / name).read_bytes())
    assert b"half" in (small_disk / FILE).read_bytes()
    writer.execute("ROLLBACK")
    writer.close()
    subprocess.run(["mount", "-o", "remount,ro", small_disk], check=True)
    with Register.open(small_disk) as register:
        assert all(n.text.startswith("good") for n in register.all("note"))
        assert "cut off half-way" in register.notices[1]


# -- damage -------------------------------------------------------------------------------------------------------
@pytest.fixture
def worked_on(tmp_path):
    """A register with a backup of 41 revisions and 20 more in the journal."""
    with Register.open(tmp_path) as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        for at in range(40):
            register.save(Note("p", f"note {at} " + "x" * 300, id=f"n{at}"), reader="Aki")
        assert register.backup() is not None
        for at in range(40, 60):
            register.save(Note("p", f"note {at} " + "x" * 300, id=f"n{at}"), reader="Aki")
    return tmp_path


def _spoil(path, start, length):
    with path.open("r+b") as file:
        file.seek(start)
        file.write(random.Random(1).randbytes(length))


@pytest.mark.parametrize("how", ["header", "middle", "cut", "one byte", "empty", "text"])
def test_damage_is_noticed_and_everything_comes_back(worked_on, how):
    path = worked_on / FILE
    size = path.stat().st_size
    match how:
        case "header":
            _spoil(path, 0, 100)
        case "middle":
            _spoil(path, size // 2 // 4096 * 4096, 8192)
        case "cut":
            os.truncate(path, size // 2)
        case "one byte":
            data = path.read_bytes()
            path.write_bytes(data.replace(b'"text":"note 45 x', b'"text":"note 46 x'))
        case "empty":
            path.write_bytes(b"")
        case "text":
            path.write_bytes(b"this was a register once" * 100)
    if how == "empty":  # an emptied file is a new register to SQLite: the backups beside it tell otherwise
        with pytest.raises(DamagedRegisterError, match="is empty, but there are backups"):
            Register.open(worked_on)
    else:
        with pytest.raises(DamagedRegisterError, match="recover"):
            Register.open(worked_on)
    report = recovery.recover(worked_on)
    assert (report.revisions, report.missing) == (61, ())
    assert "None up to that one is missing" in str(report)
    assert report.damaged.exists()
    with Register.open(worked_on) as register:
        assert [n.id for n in register.all("note")] == [f"n{i}" for i in range(60)]
        assert register.get("n45").text.startswith("note 45 x")
        assert register.check().problems == ()
        register.save(Note("p", "work goes on"), reader="Aki")


def test_what_is_missing_is_told(worked_on):
    """Register gone, and the journal spoilt in its middle: the rest comes back and the gap is named."""
    lines = (worked_on / "backups" / "register-journal.jsonl").read_text(encoding="utf-8").split("\n")
    (worked_on / "backups" / "register-journal.jsonl").write_text("\n".join(
        line[:40] if '"number": 50,' in line or '"number": 51,' in line else line for line in lines), encoding="utf-8")
    (worked_on / FILE).write_bytes(b"\0" * 5000)
    report = recovery.recover(worked_on)
    assert report.missing == (50, 51)
    assert "2 are missing: 50 to 51" in str(report)
    with Register.open(worked_on) as register:
        assert register.version == 61
        assert register.check().lost == (50, 51)
        assert register.check().sound, "a known gap is not new damage"
        register.save(Note("p", "work goes on"), reader="Aki")
        assert register.version == 62


def test_nothing_to_recover_from(tmp_path):
    (tmp_path / FILE).write_bytes(b"nothing")
    with pytest.raises(RegisterError, match="Nothing of the register can be read"):
        recovery.recover(tmp_path)
    assert (tmp_path / FILE).read_bytes() == b"nothing"


def test_opening_can_recover_by_itself(worked_on):
    _spoil(worked_on / FILE, 0, 100)
    with Register.open(worked_on, recover=True) as register:
        assert len(register.all("note")) == 60
        assert "61 revisions came back" in register.notices[0]


def test_a_damaged_search_table_is_rebuilt_at_opening(worked_on):
    with contextlib.closing(sqlite3.connect(worked_on / FILE)) as raw, raw:
        raw.execute("DELETE FROM current WHERE number > 30")
    with Register.open(worked_on) as register:
        assert register.search("note", kinds="note").total == 60
        assert register.check().problems == ()


def test_the_full_check_finds_what_the_quick_one_does_not_read(worked_on):
    with contextlib.closing(sqlite3.connect(worked_on / FILE)) as raw, raw:
        raw.execute("UPDATE current SET text = 'something else' WHERE record = 'n7'")
    with Register.open(worked_on) as register:
        assert "does not stand with the revisions" in register.check().problems[0]
        assert "problem" not in register.check()._repr_html_()
        assert register.rebuild() == 61
        assert register.check().sound


# -- backups ------------------------------------------------------------------------------------------------------
def test_backups_come_by_themselves(tmp_path, monkeypatch):
    with Register.open(tmp_path) as register:
        register.save(Note("p", "a"), reader="Aki")
    assert [b.version for b in backup.backups(tmp_path / FILE)] == [1]
    with Register.open(tmp_path) as register:
        register.save(Note("p", "b"), reader="Aki")
    assert [b.version for b in backup.backups(tmp_path / FILE)] == [1], "the last one is not old enough"
    monkeypatch.setattr(backup, "INTERVAL", 0.0)
    with Register.open(tmp_path) as register:
        register.save(Note("p", "c"), reader="Aki")
    assert [b.version for b in backup.backups(tmp_path / FILE)] == [3, 2, 1]
    with Register.open(backup.backups(tmp_path / FILE)[1].path, read_only=True) as old:
        assert [n.text for n in old.all("note")] == ["a", "b"]


def test_backups_rotate(tmp_path):
    start = datetime(2026, 1, 1, 12, tzinfo=UTC)
    with Register.open(tmp_path) as register:
        for day in range(40):
            register.save(Note("p", str(day)), reader="Aki")
            backup.make(register.path, start + timedelta(days=day))
        found = backup.backups(register.path)
        assert [b.version for b in found][:8] == [40, 39, 38, 37, 36, 35, 34, 32]
        assert len(found) <= backup.NEWEST + backup.DAYS + backup.WEEKS + backup.MONTHS
        assert register.backup() is None, "nothing new"
    assert all("-v" not in p.stem or int(p.stem.split("-v")[1][:8]) > found[-1].version
               for p in backup.journals(tmp_path / FILE))


def test_trouble_with_backups_does_not_stop_a_save(tmp_path):
    (tmp_path / "backups").write_text("in the way")
    with Register.open(tmp_path) as register:
        register.save(Note("p", "a"), reader="Aki")
        assert register.all("note")
        assert "the register is saved" in register.notices[0]
        with pytest.raises(RegisterError, match="No backup could be made"):
            register.backup()


def test_a_value_of_our_own_that_cannot_be_is_refused_before_it_is_written(tmp_path):
    """A wrong hand of our own is no stranger, but the record would be told as damaged and left out ever after."""
    with Register.open(tmp_path) as register:
        register.save(Piece("tray"), reader="Aki")
        photo = register.save(Photo("photos/a.jpg", "0" * 64, 100, 80), reader="Aki").record
        before = register.version
        flat = Zone(photo.id, ((5, 5), (50, 5)))
        with pytest.raises(RegisterError, match=r"zone is not saved: the outline has fewer than three points.*again"):
            register.save_all([Zone(photo.id, ((5, 5), (50, 5), (50, 50))), flat], reader="Aki")
        with pytest.raises(RegisterError, match="depth is no usable number"):
            register.save(dataclasses.replace(register.contents().piece, depth=float("nan")), reader="Aki")
        assert register.version == before  # the sound zone of the same gesture is not there either
        assert register.contents().zones == ()
        sound = Zone(photo.id, ((5, 5), (50, 5), (50, 50)))
        register.save(sound, reader="Aki")
        register.write([Change(dataclasses.replace(sound, outline=()), withdrawn=True)], "Aki")  # taking back goes
        assert register.contents().zones == ()
