"""Saving, reading back, withdrawing, undo, conflicts: the same on SQLite and PostgreSQL."""

import dataclasses
import sqlite3
import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.condition import Layer, Region, StrokeMeasure
from readaid.core.confidence import Damage
from readaid.core.contents import KINDS, SCHOOL_KINDS
from readaid.core.entry import Allusion, Entry, GlossedWord, Translation
from readaid.core.errors import ConflictError, NewerRegisterError, OptionError, RegisterError
from readaid.core.judgement import Judgement
from readaid.core.person import Person, Role, Signature, SignaturePart
from readaid.core.photo import Photo, Scale, Tracing, ViewSetting, Zone, rectangle
from readaid.core.piece import DateRecord, Note, Piece, Source
from readaid.core.school import SchoolRecord, StudyRecord
from readaid.core.specimen import ComparisonRecord, Example, FormCounts, Specimen
from readaid.register.book import Register
from readaid.register.codec import decode, encode, kind_of

EVERY_KIND = [
    Piece("tray", sensitive=("lacquer",), width=12.5),
    Photo("kiku.jpg", "0" * 64, 60, 40, scale=Scale((0, 0), (3, 4), 5.0), light_direction=(0.0, 0.6, 0.8), id="ph"),
    Zone("ph", rectangle(1, 2, 3, 4), confidence=0.4),
    ViewSetting("ph", "local contrast", (("radius", 12.0),)),
    Tracing("z", (((0.0, 1.0), (2.0, 3.5)),)),
    Inscription(title="verse", columns=(("a", "b"), ("c",))),
    Character(("z",), (Candidate("𛀁", 0.7, probability=0.2), Candidate("え", 0.3)), missing=(1, 3)),
    Attempt("i", "きくのかを", lines=("きくのかを",), morae=(5,), chosen=(("c", "き"),), probability=0.25),
    Person("山菊", readings=("さんきく",), born=1790),
    Role("person", "carver", confidence=0.9),
    Signature("山菊作", (SignaturePart("name", "山菊", 0, 2),)),
    Specimen(counted=FormCounts(0.8, 5, 4, 2, 1, 0), descriptor=(0.1, 0.25)),
    ComparisonRecord("a", "b", 0.75, (("closed spaces", 1.0),), rank=2),
    Example("菊", (0.5, 0.25)),
    Source("box inscription", "lid, ink"),
    Note("z", "line one\nline two"),
    DateRecord("天保三年", "1832-02-02", "1833-02-19", "天保", 3),
    Judgement("c", "Aki", "き", 0.6, Damage.WORN),
    Entry("i", edited="煤払い", translations=(Translation("soot", "en", "Aki"),), season=("煤払い (winter)",),
          words=(GlossedWord("すす", "煤", "名詞", "soot", "reader"),), allusions=(Allusion("x", "y", "a variant"),),
          tool_width=0.4),
    Layer("inlay", "gold", "front", True),
    Region("ph", ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0)), "corrosion", "watch", "n"),
    StrokeMeasure("z", 0.4, 0.02, 7, 0.1, 0.01, "n"),
    SchoolRecord("Three hands", rights="the museum"),
    StudyRecord("Nine forms", ("a", "b"), (0.75,), (("seed", "0"),), ("Two forms compared.",), "0.2.0"),
]


def test_every_kind_has_a_sample():
    assert {type(r) for r in EVERY_KIND} == set(KINDS.values())


def test_every_kind_comes_back_equal(register):
    register.save_all(EVERY_KIND, reader="Aki")
    for record in EVERY_KIND:
        assert register.get(record.id) == record
        assert type(register.get(record.id)) is type(record)
        assert record in register.all(type(record), piece="*")


TEXT = st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=20)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(TEXT, TEXT, st.floats(0, 1), st.lists(st.tuples(TEXT, TEXT), max_size=3), st.none() | st.floats(0, 1))
def test_a_record_survives_its_coding(written, note, confidence, chosen, probability):
    record = Attempt("i", written, note=note, confidence=confidence, chosen=tuple(chosen), probability=probability)
    assert decode("attempt", encode(record)) == record


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(TEXT)
def test_any_text_is_kept(text_register, text):
    record = Note("x", text)
    text_register.save(record, reader="Aki", reason=text)
    assert text_register.get(record.id) == record


@pytest.fixture(scope="module")
def text_register(tmp_path_factory):
    with Register.open(tmp_path_factory.mktemp("text")) as opened:
        yield opened


def test_half_a_character_is_refused_and_nothing_is_saved(register):
    before = register.version
    with pytest.raises(RegisterError, match="cannot be stored"):
        register.save_all([Note("x", "good"), Note("x", "\ud83d")], reader="Aki")
    assert register.version == before


def test_nothing_is_overwritten(register):
    first = Attempt("i", "きくの?を")
    second = dataclasses.replace(first, written="きくのかを", confidence=0.8)
    register.save(first, reader="Aki", reason="raking light from the left")
    register.save(second, reader="Bun", reason="second look")
    assert register.get(first.id) == second
    history = register.history(first.id)
    assert [(r.record, r.reader, r.reason) for r in history] == [
        (first, "Aki", "raking light from the left"), (second, "Bun", "second look")]
    assert history[1].base == history[0].number


def test_version_and_since(register):
    before = register.version
    saved = register.save_all([Note("p1", "a"), Note("p1", "b")], reader="Aki")
    assert register.version == before + 2
    assert register.since(before) == saved
    assert len({r.gesture for r in saved}) == 1
    assert register.since(register.version) == []


def test_withdraw_keeps_the_history(register):
    note = Note("p1", "a crack")
    register.save(note, reader="Aki")
    revision = register.withdraw(note.id, reader="Bun", reason="it was a hair")
    assert revision.withdrawn
    assert note.id not in register
    assert register.all("note") == []
    assert register.all("note", withdrawn=True) == [note]
    with pytest.raises(RegisterError, match="withdrawn"):
        register.get(note.id)
    assert register.get(note.id, withdrawn=True) == note
    assert [r.withdrawn for r in register.history(note.id)] == [False, True]


def test_unknown_id(register):
    with pytest.raises(RegisterError, match="no such record"):
        register.get("nowhere")
    assert "nowhere" not in register


def test_undo_and_redo_are_new_revisions(register):
    note = Note("p1", "one")
    register.save(note, reader="Aki")
    register.save(dataclasses.replace(note, text="two"), reader="Aki")
    assert register.undo(reader="Aki")[0].record.text == "one"
    assert register.get(note.id).text == "one"
    assert register.redo(reader="Aki")[0].record.text == "two"
    register.undo(reader="Aki")
    register.undo(reader="Aki")
    assert note.id not in register
    assert [r.record.text for r in register.history(note.id)] == ["one", "two", "one", "two", "one", "one"]
    assert register.redo(reader="Aki")[0].record.text == "one"
    assert register.redo(reader="Aki")[0].record.text == "two"
    assert register.redo(reader="Aki") == []


def test_undo_takes_back_a_whole_gesture_of_this_reader_only(register):
    mine = [Note("p1", "a"), Note("p1", "b")]
    register.save_all(mine, reader="Aki")
    theirs = Note("p1", "c")
    register.save(theirs, reader="Bun")
    assert len(register.undo(reader="Aki")) == 2
    assert register.all("note") == [theirs]


def test_undo_does_not_run_over_a_colleague(register):
    note = Note("p1", "a")
    register.save(note, reader="Aki")
    register.save(dataclasses.replace(note, text="b"), reader="Bun")
    with pytest.raises(ConflictError, match="changed after") as caught:
        register.undo(reader="Aki")
    assert caught.value.values["theirs"].text == "b"


def test_a_conflict_carries_both_versions_and_saves_nothing(register):
    note = Note("p1", "a")
    seen = register.save(note, reader="Aki").number
    theirs = dataclasses.replace(note, text="theirs")
    mine = dataclasses.replace(note, text="mine")
    other = Note("p1", "part of the same gesture")
    register.save(theirs, reader="Bun", base=seen)
    with pytest.raises(ConflictError, match="Bun changed the record") as caught:
        register.save_all([other, mine], reader="Aki", bases={note.id: seen})
    assert caught.value.values["mine"] == mine
    assert caught.value.values["theirs"] == theirs
    assert register.get(note.id) == theirs
    assert other.id not in register


def test_what_was_seen_is_enough_to_find_a_conflict(register):
    notes = [Note("p1", "a"), Note("p1", "b")]
    register.save_all(notes, reader="Aki")
    seen = register.contents().numbers
    register.save(dataclasses.replace(notes[0], text="theirs"), reader="Bun")
    register.save_all([dataclasses.replace(notes[1], text="mine"), Note("p1", "new")], reader="Aki", bases=seen)
    with pytest.raises(ConflictError, match="Bun changed the record") as caught:
        register.save_all([dataclasses.replace(notes[0], text="mine")], reader="Aki", bases=seen)
    assert caught.value.values["theirs"].text == "theirs"


def test_as_it_stood_then(register):
    note = Note("p1", "early")
    register.save(note, reader="Aki")
    time.sleep(0.005)
    moment = register.last(note.id).entered
    time.sleep(0.005)
    register.save(dataclasses.replace(note, text="late"), reader="Aki")
    register.save(Note("p1", "another"), reader="Aki")
    then = register.at(moment)
    assert [n.text for n in then.all("note")] == ["early"]
    assert then.get(note.id).text == "early"
    assert [n.text for n in then.contents().notes] == ["early"]
    assert register.at("1990-01-01").version == 0
    assert register.at("2999-01-01").all("note") == register.all("note")


def test_contents_hold_everything_of_the_piece(register):
    register.save_all(EVERY_KIND[1:], reader="Aki")
    contents = register.contents()
    assert contents.piece.id == "p1"
    assert contents.revision == register.version
    for record in (r for r in EVERY_KIND[1:] if kind_of(r) not in SCHOOL_KINDS):
        assert any(record in getattr(contents, field.name) for field in dataclasses.fields(contents)
                   if isinstance(getattr(contents, field.name), tuple))


def test_several_pieces_are_kept_apart(address):
    with Register.open(address) as register:
        register.save_all([Piece("a", id="pa"), Piece("b", id="pb")], reader="Aki")
        with pytest.raises(RegisterError, match="several pieces"):
            register.save(Note("x", "whose?"), reader="Aki")
        with pytest.raises(RegisterError, match="2 pieces"):
            register.contents()
    master = Person("山菊")
    with Register.open(address, piece="pa") as one, Register.open(address, piece="pb") as two:
        one.save_all([Note("pa", "of a"), master], reader="Aki")
        two.save_all([Note("pb", "of b"), Role(master.id, "maker")], reader="Aki")
        assert [n.text for n in one.all("note")] == ["of a"]
        assert len(one.all("note", piece="*")) == 2
        assert [n.text for n in two.contents().notes] == ["of b"]
        assert two.contents().persons == (master,), "a person named here, entered under another piece"


def test_faults_of_the_caller_are_told(register):
    with pytest.raises(OptionError, match="did you mean 'attempt'"):
        register.all("atempt")
    with pytest.raises(RegisterError, match="Nobody is named"):
        register.save(Note("p1", "a"), reader=" ")
    with pytest.raises(RegisterError, match="not a record"):
        register.save("text", reader="Aki")
    with pytest.raises(RegisterError, match="belongs to a record of kind 'piece'"):
        register.save(Note("x", "y", id="p1"), reader="Aki")
    with pytest.raises(RegisterError, match="twice"):
        register.save_all([Note("x", "y", id="n"), Note("x", "z", id="n")], reader="Aki")


def test_sqlite_is_durable_on_the_live_connection(tmp_path):
    """FULL is 2, and the journal a rollback journal (SQLite documentation, pragma synchronous, journal_mode)."""
    with Register.open(tmp_path) as register, register._engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "truncate"
    assert not list(tmp_path.glob("*-wal"))


def test_postgres_is_durable(postgres):
    with Register.open(postgres) as register, register._engine.connect() as connection:
        assert connection.exec_driver_sql("SHOW synchronous_commit").scalar() == "on"


def test_a_newer_register_is_not_touched(address):
    with Register.open(address) as register, register._engine.execution_options(writing=True).begin() as connection:
        connection.exec_driver_sql("INSERT INTO migration VALUES ('9999-later', '2030-01-01', '99')")
    with pytest.raises(NewerRegisterError, match="newer readaid") as caught:
        Register.open(address)
    assert caught.value.values["unknown"] == ["9999-later"]


def test_migrations_are_recorded_and_done_in_one_transaction(address, monkeypatch):
    from readaid.register import schema

    def half(connection):
        connection.exec_driver_sql("CREATE TABLE half (a INTEGER)")
        raise ValueError("the power went off")

    with Register.open(address) as register:
        register.save(Piece("x", id="p"), reader="Aki")
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, ("9002-half", half)))
    with pytest.raises(ValueError, match="power"):
        Register.open(address)
    monkeypatch.undo()
    with Register.open(address) as register, register._engine.connect() as connection:
        assert schema.applied(connection) == [name for name, _ in schema.MIGRATIONS]
        assert not schema.inspect(connection).has_table("half")
        assert register.get("p").title == "x"


def test_an_older_register_is_brought_up_to_date(address, monkeypatch):
    """A migration of a later version: done once, recorded, nothing lost; this version then leaves it alone."""
    from readaid.register import schema

    def later(connection):
        connection.exec_driver_sql("CREATE TABLE later (a INTEGER)")

    with Register.open(address) as register:
        register.save(Piece("x", id="p"), reader="Aki")
    with monkeypatch.context() as patch:
        patch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, ("9002-later", later)))
        for _ in range(2):
            with Register.open(address) as register, register._engine.connect() as connection:
                assert schema.applied(connection) == [name for name, _ in schema.MIGRATIONS]
                assert register.get("p").title == "x"
    with pytest.raises(NewerRegisterError):
        Register.open(address)


def test_another_database_is_not_mistaken_for_a_register(tmp_path):
    with sqlite3.connect(tmp_path / "other.sqlite") as other:
        other.execute("CREATE TABLE stock (item TEXT)")
    with pytest.raises(RegisterError, match="not a register"):
        Register.open(tmp_path / "other.sqlite")


def test_places_that_do_not_do(tmp_path):
    with pytest.raises(RegisterError, match="no register here"):
        Register.open(tmp_path, read_only=True)
    with pytest.raises(RegisterError, match="no register here"):
        Register.open(tmp_path, create=False)
    with pytest.raises(RegisterError, match="folder of the register does not exist"):
        Register.open(tmp_path / "no" / "r.sqlite")
    with pytest.raises(RegisterError, match="on mysql is not known"):
        Register.open("mysql://localhost/x")
    with pytest.raises(RegisterError, match="does not answer"):
        Register.open("postgresql://nobody@127.0.0.1:1/x")
