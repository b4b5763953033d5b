"""What older versions wrote opens for ever and loses nothing: registers, copies, bags, backups, a server's tables.

Checked against ``fixtures/VERSION/expected.json``, which was read from the files with ``sqlite3`` and ``zipfile`` by
the version that wrote them (see ``fixtures/make.py``); nothing of it comes from the code under test.
"""

import hashlib
import json
import shutil
import sqlite3
import zipfile
from pathlib import Path

import pytest
from sqlalchemy import select

from readaid.copies import reader_copy
from readaid.core.contents import KINDS
from readaid.core.errors import RegisterError
from readaid.piece.open_piece import OpenPiece
from readaid.register import bag
from readaid.register.book import Register
from readaid.register.codec import plain
from readaid.register.recovery import recover
from readaid.register.schema import revision

KEPT = Path(__file__).parent / "fixtures"
#: Kinds of record that each version could write.
WROTE = {"0.1.0": {"piece", "photo", "zone", "view", "tracing", "inscription", "character", "attempt", "person", "role",
                   "signature", "specimen", "comparison", "example", "source", "note", "date"}}
VERSIONS = sorted(p.parent.name for p in KEPT.glob("*/expected.json"))


@pytest.fixture(params=VERSIONS)
def kept(request):
    return KEPT / request.param


@pytest.fixture
def expected(kept):
    return json.loads((kept / "expected.json").read_text(encoding="utf-8"))


@pytest.fixture
def folder(kept, tmp_path):
    """The piece folder as it lay on the disk."""
    with zipfile.ZipFile(kept / "piece.zip") as archive:
        archive.extractall(tmp_path / "piece")
    return tmp_path / "piece"


def rows(register):
    """The revision table as it stands, read through the register's own connection."""
    return [dict(r) for r in register._read(lambda c: c.execute(select(revision).order_by(revision.c.number))
                                             .mappings().all())]


def stated(body, row, revisions):
    """A body of 0.1.0 as it is read today: "intact" was the default there, so it is "not stated" unless an earlier
    revision of the sign said something else and this one put it back."""
    if row["kind"] == "character" and body["damage"] == "intact":
        earlier = [json.loads(r["body"])["damage"] for r in revisions
                   if r["record"] == row["record"] and r["number"] < row["number"]]
        if all(damage == "intact" for damage in earlier):
            body["damage"] = "not stated"
    return body


def within(now, then):
    """What is there now of all that was there then, also inside of what lies in a field."""
    if isinstance(now, dict) and isinstance(then, dict):
        return {name: within(now[name], value) for name, value in then.items()}
    if isinstance(now, list) and isinstance(then, list) and len(now) == len(then):
        return [within(a, b) for a, b in zip(now, then, strict=True)]
    return now


def assert_whole(register, said):
    """Every revision is there as it was written, and every record with its order and its history."""
    held = rows(register)
    known = list(said["revisions"][0])
    assert [{name: row[name] for name in known} for row in held] == said["revisions"]
    first, last = {}, {}
    for row in said["revisions"]:
        first.setdefault(row["record"], row["number"])
        last[row["record"]] = row
    for kind in KINDS:
        ids = sorted((i for i, row in last.items() if row["kind"] == kind), key=first.__getitem__)
        standing = [i for i in ids if not last[i]["withdrawn"]]
        assert [r.id for r in register.all(kind, piece="*")] == standing, kind
        assert [r.id for r in register.all(kind, piece="*", withdrawn=True)] == ids, kind
        for record in register.all(kind, piece="*", withdrawn=True):
            body = stated(json.loads(last[record.id]["body"]), last[record.id], said["revisions"])
            now = json.loads(json.dumps(plain(record)))
            assert within(now, body) == body, "later fields may come, none goes or changes"
    for id in last:
        history = [(r.number, r.reader, r.reason, r.made, r.withdrawn, r.undoes) for r in register.history(id)]
        assert history == [(r["number"], r["reader"], r["reason"], r["made"], r["withdrawn"], r["undoes"])
                           for r in said["revisions"] if r["record"] == id]
    health = register.check()
    assert health.problems == ()
    assert list(health.lost) == said["lost"]


def test_the_kept_register_has_everything_in_it(kept, expected):
    """Of the fixtures themselves: a kind that nobody kept would be proved by nothing."""
    said = expected["piece"]["revisions"]
    assert {r["kind"] for r in said} == WROTE[kept.name] <= set(KINDS)
    assert any(r["withdrawn"] for r in said)
    assert any(r["undoes"] for r in said)
    assert any(r["gesture"].startswith("merge-") for r in said)
    assert len({r["reader"] for r in said}) > 1
    assert max(sum(r["record"] == x["record"] for r in said) for x in said) > 3
    assert expected["recovered"]["lost"]


def test_register_opens_and_loses_nothing(folder, expected):
    with Register.open(folder) as register:
        assert_whole(register, expected["piece"])
    with Register.open(folder) as register:  # and once more after what opening may have brought up to date
        assert_whole(register, expected["piece"])


def test_register_opens_for_reading_only_and_is_left_as_it_was(folder, expected):
    path = folder / "register.sqlite"
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    assert before == expected["files"]["register.sqlite"]
    with Register.open(folder, read_only=True) as register:
        assert_whole(register, expected["piece"])
        with pytest.raises(RegisterError, match="reading only"):
            register.withdraw(expected["piece"]["revisions"][0]["record"], reader="x")
    for name, digest in expected["files"].items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest, name


def test_opening_a_copy_leaves_the_original_untouched(folder, expected, tmp_path):
    shutil.copytree(folder, tmp_path / "copied")
    with OpenPiece(tmp_path / "copied", reader="Dai Sample") as piece:
        piece.add_note(piece.piece.id, "written in the copied folder")
        assert_whole_but_last(piece.register, expected["piece"])
    for name, digest in expected["files"].items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest, name


def assert_whole_but_last(register, said):
    assert [r["digest"] for r in rows(register)][:-1] == [r["digest"] for r in said["revisions"]]


def test_piece_opens_with_its_photos_and_past(folder, expected):
    with OpenPiece(folder) as piece:
        assert piece.check_photos() == []
        assert piece.notices == ()
        said = expected["piece"]["revisions"]
        middle = said[len(said) // 2]
        past = piece.register.at(middle["entered"])
        upto = [r for r in said if r["entered"] <= middle["entered"]]
        assert past.version == upto[-1]["number"]
        standing = {r["record"]: r for r in upto}
        assert {c.id for c in past.all("character")} == {
            i for i, r in standing.items() if r["kind"] == "character" and not r["withdrawn"]}


def test_undo_reaches_what_an_older_version_did(folder, expected):
    last = expected["piece"]["revisions"][-1]
    with OpenPiece(folder, reader=last["reader"]) as piece:
        assert piece.undo()
        assert last["record"] not in piece.register
        assert piece.redo()
        assert last["record"] in piece.register


def test_register_with_known_gaps(kept, expected, tmp_path):
    shutil.copy(kept / "recovered.sqlite", tmp_path / "register.sqlite")
    with Register.open(tmp_path) as register:
        assert_whole(register, expected["recovered"])


@pytest.mark.parametrize("name", ["plain-copy", "blind-copy", "returned-copy"])
def test_copies_are_read_and_received(kept, expected, tmp_path, name):
    with Register.open(reader_copy.receive(kept / f"{name}.zip", tmp_path / "theirs")) as register:
        assert [[r["record"], r["id"], r["digest"]] for r in rows(register)] == expected[name]
        assert register.check().problems == ()
    with OpenPiece(tmp_path / "theirs") as piece:
        assert piece.check_photos() == []


def test_returned_copy_merges_into_the_register_it_came_from(kept, folder, expected):
    said = expected["piece"]["revisions"]
    with Register.open(folder) as register:
        merged = reader_copy.merge(register, kept / "returned-copy.zip", "Aki Sample")
        held = rows(register)
        assert [r["digest"] for r in held[:len(said)]] == [r["digest"] for r in said]
        here = {r["id"] for r in said}
        came = [(i, d) for _, i, d in expected["returned-copy"] if i not in here]
        assert came, "the second reader did something"
        assert merged.added >= len(came)
        entered = {r["id"]: r["digest"] for r in held}
        assert [entered.get(i) for i, _ in came] == [d for _, d in came]
        assert "Bun Sample" in merged.readers
        version = register.version
        assert reader_copy.merge(register, kept / "plain-copy.zip", "Aki Sample").added == 0
        assert register.version == version
        assert register.check().problems == ()


def test_bag_is_valid_and_restores(kept, expected, tmp_path):
    checked = bag.check(kept / "bag.zip")
    assert checked.problems == ()
    assert checked.files == len([n for n in expected["files"] if not n.endswith("-journal")])
    with Register.open(bag.restore(kept / "bag.zip", tmp_path / "back")) as register:
        assert_whole(register, expected["piece"])


@pytest.mark.parametrize("harm", ["cut off", "gone", "nonsense"])
def test_old_backups_and_journal_bring_the_register_back(folder, expected, harm):
    path = folder / "register.sqlite"
    if harm == "gone":
        path.unlink()
    else:
        path.write_bytes(path.read_bytes()[:5000] if harm == "cut off" else b"x" * 40_000)
    assert recover(folder).missing == ()
    with Register.open(folder) as register:
        assert_whole(register, expected["piece"])


def test_server_tables_open_and_lose_nothing(kept, expected, empty_server):
    import psycopg

    dump = kept / "postgresql.sql"
    if not dump.exists():
        pytest.skip("this version left no server dump")
    text = "\n".join(line for line in dump.read_text(encoding="utf-8").split("\n") if not line.startswith("\\"))
    with psycopg.connect(empty_server, autocommit=True) as connection:
        connection.execute(text)
    for read_only in (True, False):
        with Register.open(empty_server, read_only=read_only) as register:
            assert [[r["record"], r["id"], r["digest"]] for r in rows(register)] == expected["plain-copy"]
            assert register.check().problems == ()
            assert [p.id for p in register.pieces_held()] == [expected["piece"]["revisions"][0]["record"]]


def test_the_kept_files_are_small(kept):
    assert sum(p.stat().st_size for p in kept.iterdir()) < 600_000


def test_expected_values_stand_with_the_kept_file(kept, expected, tmp_path):
    """The expectation itself is read again, with nothing but ``sqlite3``: a doctored one would prove nothing."""
    with zipfile.ZipFile(kept / "piece.zip") as archive:
        archive.extract("register.sqlite", tmp_path)
    raw = sqlite3.connect(tmp_path / "register.sqlite")
    found = raw.execute("SELECT number, id, digest FROM revision ORDER BY number").fetchall()
    raw.close()
    assert found == [(r["number"], r["id"], r["digest"]) for r in expected["piece"]["revisions"]]
