"""The register knows itself: gone, older, another, newer, damaged anywhere; each told with the way back."""

import contextlib
import json
import os
import shutil
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from click.testing import CliRunner

import readaid
from readaid.cli import main
from readaid.core.errors import NewerRegisterError, RegisterError
from readaid.core.piece import Note, Piece
from readaid.register import backup, recovery
from readaid.register.book import Register
from readaid.register.engine import DamagedRegisterError, MisplacedRegisterError
from readaid.register.startup import FILE, RECENT


def write(folder, *texts, piece="p"):
    with Register.open(folder) as register:
        if not register.version:
            register.save(Piece("tray", id=piece), reader="Aki")
        for text in texts:
            register.save(Note(piece, text), reader="Aki")


def texts(folder):
    with Register.open(folder) as register:
        return [n.text for n in register.all("note")]


@pytest.fixture
def folder(tmp_path):
    """A register of six revisions, a backup of four of them, the rest in its journal."""
    folder = tmp_path / "piece"
    folder.mkdir()
    write(folder, "a", "b", "c")
    backup.make(folder / FILE)
    write(folder, "d", "e")
    return folder


@pytest.fixture
def another(tmp_path):
    folder = tmp_path / "another"
    folder.mkdir()
    write(folder, "x", "y", "z", "u", "v", "w", "s", piece="q")
    return folder


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words])


# -- gone -----------------------------------------------------------------------------------------------------------
def test_a_register_that_is_gone_is_told_with_the_way_back(folder):
    (folder / FILE).unlink()
    for attempt in (lambda: Register.open(folder), lambda: Register.open(folder, read_only=True),
                    lambda: Register.open(folder, recover=True), lambda: readaid.open(folder),
                    lambda: readaid.new(folder)):
        with pytest.raises(MisplacedRegisterError, match=r"gone, but its backups.*6 revisions.*readaid recover"):
            attempt()
    assert not (folder / FILE).exists(), "no new register is started beside the old one's backups"
    assert "readaid recover" in run("check", folder).output
    assert run("check", folder).exit_code
    done = run("recover", folder)
    assert done.exit_code == 0
    assert "The register was gone. 6 revisions came back" in done.output
    assert texts(folder) == ["a", "b", "c", "d", "e"]


def test_a_folder_without_anything_starts_a_new_register(tmp_path):
    write(tmp_path, "a")
    assert texts(tmp_path) == ["a"]


# -- older ----------------------------------------------------------------------------------------------------------
def test_a_register_put_back_from_an_older_day_is_told(folder):
    shutil.copy(backup.backups(folder / FILE)[0].path, folder / FILE)
    with pytest.raises(MisplacedRegisterError, match=r"ends with revision 4, they know 6 .*readaid recover"):
        Register.open(folder)
    with Register.open(folder, read_only=True) as register:
        assert "older than its backups" in register.notices[0]
        assert "older than its backups" in register.check().problems[0]
    assert run("check", folder).exit_code == 1
    assert run("recover", folder).exit_code == 0
    assert texts(folder) == ["a", "b", "c", "d", "e"]


def test_the_older_state_can_be_kept_on_purpose(folder):
    shutil.copy(backup.backups(folder / FILE)[0].path, folder / FILE)
    (folder / "backups").rename(folder / "elsewhere")
    write(folder, "another d")
    assert texts(folder) == ["a", "b", "c", "another d"]


# -- another --------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("shorter", [True, False])
def test_another_register_in_its_place_is_told_and_not_mixed_in(folder, another, shorter):
    if shorter:
        shutil.rmtree(another)
        another.mkdir()
        write(another, "x", piece="q")
    shutil.copy(another / FILE, folder / FILE)
    with pytest.raises(MisplacedRegisterError, match=r"not the one its backups belong to.*readaid recover"):
        Register.open(folder)
    report = recovery.recover(folder)
    assert report.was == "another"
    assert texts(folder) == ["a", "b", "c", "d", "e"]
    with Register.open(report.damaged) as kept:
        assert kept.all("note")[0].text == "x", "the other one is laid aside"


def test_another_register_s_backups_are_not_mixed_in(folder, another):
    (folder / FILE).write_bytes(b"nothing is left of it")
    for path in (another / "backups").iterdir():
        shutil.copy(path, folder / "backups" / path.name)
    backup.make(another / FILE)
    shutil.copy(backup.backups(another / FILE)[0].path, folder / "backups")
    recovery.recover(folder)
    found = texts(folder)
    assert found in (["a", "b", "c", "d", "e"], ["x", "y", "z", "u", "v", "w", "s"]), "one of them, never both"


def test_two_ways_from_one_register(folder):
    """The older state was worked on with the backups away; then they came back: two histories of one register."""
    shutil.copy(backup.backups(folder / FILE)[0].path, folder / FILE)
    (folder / "backups").rename(folder / "elsewhere")
    write(folder, "another d", "another e", "f")
    shutil.rmtree(folder / "backups")
    (folder / "elsewhere").rename(folder / "backups")
    with pytest.raises(MisplacedRegisterError, match="different ways after revision 4"):
        Register.open(folder)
    report = recovery.recover(folder)
    assert texts(folder) == ["a", "b", "c", "another d", "another e", "f"]
    assert [p.parent.name.startswith("other-") for p in report.aside] == [True]
    assert all(p.exists() for p in report.aside)


# -- newer ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("where", ["file", "backup"])
def test_a_newer_register_is_never_repaired(folder, where):
    path = folder / FILE if where == "file" else backup.backups(folder / FILE)[0].path
    with contextlib.closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("INSERT INTO migration VALUES ('9999-from-the-future', '2030', 'readaid 9')")
    if where == "backup":
        (folder / FILE).write_bytes(b"spoilt")
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    with pytest.raises(NewerRegisterError, match="newer readaid"):
        recovery.recover(folder)
    assert run("recover", folder).exit_code == 2
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before


# -- in one step ----------------------------------------------------------------------------------------------------
def test_recovery_replaces_in_one_step(folder, monkeypatch):
    (folder / FILE).write_bytes(b"spoilt" * 1000)
    replace = os.replace

    def fails(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fails)
    with pytest.raises(RegisterError, match="cannot be put in its place"):
        recovery.recover(folder)
    assert (folder / FILE).read_bytes() == b"spoilt" * 1000, "the former file stands till the new one takes its place"
    monkeypatch.setattr(os, "replace", replace)
    recovery.recover(folder)
    assert texts(folder) == ["a", "b", "c", "d", "e"]
    assert not list(folder.glob("*recovering*"))


def test_recovery_waits_for_nobody_who_writes(folder):
    with contextlib.closing(sqlite3.connect(folder / FILE, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE current SET text = text")
        with pytest.raises(RegisterError, match="writing to the register"):
            recovery.recover(folder)


# -- every row ------------------------------------------------------------------------------------------------------
@pytest.fixture
def long(tmp_path):
    """A register with more revisions than the check at opening looks at; the second one is spoilt."""
    with Register.open(tmp_path) as register:
        register.save_all([Piece("tray", id="p"), Note("p", "one note", id="n")], reader="Aki")
        register.save_all([Note("p", f"note {at}") for at in range(RECENT + 10)], reader="Aki")
        register.backup()
    with contextlib.closing(sqlite3.connect(tmp_path / FILE)) as raw, raw:
        raw.execute("UPDATE revision SET body = replace(body, 'one', 'two') WHERE number = 2")
    return tmp_path


def test_every_row_read_is_checked(long):
    with Register.open(long) as register:
        for ask in (lambda: register.get("n"), lambda: register.all("note"), lambda: register.history("n"),
                    lambda: register.notes, lambda: register.contents(), lambda: register.search("one note").hits,
                    lambda: register.since(0), lambda: register.at("2999-01-01").all("note"),
                    lambda: register.rebuild()):
            with pytest.raises(DamagedRegisterError, match=r"Revision 2 .*not as it was written.*recover"):
                ask()
    with readaid.open(long) as piece:
        assert "513 revisions came back" not in piece.notices[0]
        assert next(n for n in piece.contents.notes if n.id == "n").text == "one note"


def test_what_cannot_be_decoded_gets_the_same_cure(folder):
    with contextlib.closing(sqlite3.connect(folder / FILE)) as raw, raw:
        raw.execute("UPDATE revision SET body = CAST(x'ff7b7d' AS TEXT) WHERE number = 3")
    with pytest.raises(DamagedRegisterError, match=r"damaged.*recover"):
        Register.open(folder)
    recovery.recover(folder)
    assert texts(folder) == ["a", "b", "c", "d", "e"]


def test_a_record_that_this_program_cannot_read_does_not_block_the_rest(folder):
    from readaid.register.revision import fingerprint
    from readaid.register.schema import revision

    with Register.open(folder) as register:
        with register._writer.begin() as connection:
            row = dict(connection.execute(revision.select().where(revision.c.number == 3)).mappings().one())
            row["body"] = '{"id":"odd","about":"p","text":"b","colour":"red"}'
            connection.execute(revision.update().where(revision.c.number == 3).values(
                body=row["body"], digest=fingerprint(row)))
        contents = register.contents()
        assert [n.text for n in contents.notes] == ["a", "c", "d", "e"]
        assert "cannot be read" in contents.faults[0]


# -- what journal and backups say -----------------------------------------------------------------------------------
def test_journal_and_backups_name_the_register(folder):
    with Register.open(folder) as register:
        name = register.identity
    assert len(name) == 36
    lines = (folder / "backups" / "register-journal.jsonl").read_text(encoding="utf-8").split()
    assert lines
    for line in (folder / "backups" / "register-journal.jsonl").read_text(encoding="utf-8").split("\n"):
        if line:
            assert json.loads(line)["register"] == name
    with Register.open(backup.backups(folder / FILE)[0].path, read_only=True) as kept:
        assert kept.identity == name
    (folder / FILE).write_bytes(b"x")
    recovery.recover(folder)
    with Register.open(folder) as register:
        assert register.identity == name, "it is still the same register"


def test_a_clock_that_was_wrong_for_a_day_stops_no_backup(tmp_path):
    write(tmp_path, "a")
    write(tmp_path, "b")
    path = tmp_path / FILE
    backup.make(path, datetime.now(UTC) + timedelta(days=1))
    write(tmp_path, "c")
    newest = backup.backups(path)[0]
    assert newest.version == 4, "newest is what holds most, whatever the clock said"
    assert newest.made <= datetime.now(UTC) + timedelta(minutes=1)
    for day in range(12):
        write(tmp_path, f"day {day}")
        backup.make(path, datetime.now(UTC) + timedelta(days=2 + day))
    assert backup.backups(path)[0].version == 16


def test_a_kernel_that_stays_open_makes_backups(tmp_path, monkeypatch):
    with Register.open(tmp_path) as register:
        register.save(Piece("tray", id="p"), reader="Aki")
        monkeypatch.setattr(backup, "INTERVAL", 0.0)
        register.save(Note("p", "a"), reader="Aki")
        assert backup.backups(tmp_path / FILE)[0].version == 2


def test_two_copies_of_a_folder_are_each_their_own(folder, tmp_path):
    shutil.copytree(folder, tmp_path / "copied")
    write(tmp_path / "copied", "there")
    write(folder, "here")
    assert texts(tmp_path / "copied")[-1] == "there"
    shutil.copy(tmp_path / "copied" / FILE, folder / FILE)
    with pytest.raises(MisplacedRegisterError, match="different ways after revision 6"):
        Register.open(folder)


def test_an_index_that_names_what_is_not_there_is_damage(long):
    """Found by damaging a large register at random: a row of the table gone, its entry in the index left."""
    with contextlib.closing(sqlite3.connect(long / FILE, isolation_level=None)) as raw:
        raw.execute("PRAGMA writable_schema=ON")
        index = raw.execute("SELECT * FROM sqlite_master WHERE name = 'revision_record'").fetchone()
        raw.execute("DELETE FROM sqlite_master WHERE name = 'revision_record'")
    with contextlib.closing(sqlite3.connect(long / FILE, isolation_level=None)) as raw:
        raw.execute("DELETE FROM revision WHERE number = 2")
        raw.execute("PRAGMA writable_schema=ON")
        raw.execute("INSERT INTO sqlite_master VALUES (?, ?, ?, ?, ?)", index)
    with pytest.raises(DamagedRegisterError), Register.open(long) as register:
        register.contents()
    assert recovery.recover(long).missing == ()
    with Register.open(long) as register:
        assert register.get("n").text == "one note"
