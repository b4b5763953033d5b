"""Frames: declared dtypes, also when empty; edited frames saved back, conflicts shown."""

import dataclasses

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage, Status
from readaid.core.contents import KINDS
from readaid.core.errors import OptionError, RegisterError
from readaid.core.photo import Photo, Zone, rectangle
from readaid.core.piece import Note, Piece
from readaid.register import csvfile, exports, frames
from readaid.register.book import Register
from readaid.register.view import PLURALS

from .test_store import EVERY_KIND


@pytest.mark.parametrize("kind", KINDS)
def test_dtypes_are_as_declared_full_or_empty(register, kind):
    empty = getattr(Register.at(register, "1990-01-01"), PLURALS[kind])
    register.save_all(EVERY_KIND, reader="Aki")
    full = register.frame(kind, piece="*")
    assert len(empty) == 0
    assert len(full) >= 1
    declared = frames.dtypes(kind)
    for table in (empty, full):
        assert list(table.columns) == list(declared)
        assert {n: table[n].dtype for n in declared} == {n: pd.Series([], dtype=d).dtype for n, d in declared.items()}
        assert table.index.name == "id"


@pytest.mark.parametrize("record", EVERY_KIND, ids=lambda r: type(r).__name__)
def test_a_frame_gives_back_the_records(register, record):
    register.save(record, reader="Aki")
    kind = next(k for k, cls in KINDS.items() if cls is type(record))
    table = register.frame(kind, piece="*").loc[[record.id]]
    assert frames.records(kind, table) == [record]
    assert frames.edit(register, table, "Bun").unchanged == 1


def test_filter_group_join(register):
    zone = Zone("ph", rectangle(0, 0, 10, 10))
    register.save_all([
        zone, Character((zone.id,), (Candidate("か", 0.6), Candidate("の", 0.3)), damage=Damage.WORN),
        Attempt("i", "a", confidence=0.2), Attempt("i", "b", confidence=0.6, status=Status.PREFERRED),
        Attempt("j", "c", confidence=0.4)], reader="Aki")
    attempts = register.attempts
    assert attempts[attempts.confidence > 0.3].written.tolist() == ["b", "c"]
    assert attempts.groupby("inscription").confidence.mean().round(3).to_dict() == {"i": 0.4, "j": 0.4}
    assert attempts.made.max() <= pd.Timestamp.now("UTC")
    joined = register.candidates.merge(register.characters, left_on="character_id", right_index=True)
    assert joined.character.tolist() == ["か", "の"]
    assert register.characters.damage.tolist() == ["worn"]


def test_an_edit_is_one_gesture_and_saves_only_what_changed(register):
    register.save_all([Attempt("i", "a"), Attempt("i", "b"), Attempt("i", "c")], reader="Aki")
    table = register.attempts
    table.loc[table.written == "b", ["confidence", "status"]] = [0.9, "settled"]
    table.loc[table.written == "c", "note"] = "dot seen at 20x"
    before = register.version
    edited = register.edit(table, "Bun")
    assert len(edited.saved) == 2
    assert edited.unchanged == 1
    assert edited.conflicts.empty
    assert register.version == before + 2
    assert len({r.gesture for r in edited.saved}) == 1
    assert register.attempts.loc[lambda t: t.written == "b", "status"].item() == "settled"
    assert register.undo(reader="Bun")


def test_conflicts_are_shown_and_the_rest_is_saved(register):
    notes = [Note("p1", "a"), Note("p1", "b")]
    register.save_all(notes, reader="Aki")
    table = register.notes
    register.save(dataclasses.replace(notes[0], text="theirs"), reader="Chie")
    table["text"] = ["mine", "b, again"]
    edited = register.edit(table, "Bun")
    assert [r.record.text for r in edited.saved] == ["b, again"]
    assert edited.conflicts.to_dict("records") == [
        {"id": notes[0].id, "field": "text", "was": "a", "mine": "mine", "theirs": "theirs", "theirs_by": "Chie"}]
    assert register.get(notes[0].id).text == "theirs"
    assert "<p>1 saved, 0 unchanged, 1 in conflict</p>" in edited._repr_html_()
    assert "<td>theirs</td>" in edited._repr_html_()


def test_the_same_change_twice_is_no_conflict(register):
    note = Note("p1", "a")
    register.save(note, reader="Aki")
    table = register.notes
    register.save(dataclasses.replace(note, text="b"), reader="Chie")
    table["text"] = "b"
    edited = register.edit(table, "Bun")
    assert edited.conflicts.empty
    assert not edited.saved


def test_a_row_without_id_is_new_and_a_missing_row_is_left_alone(register):
    register.save(Note("p1", "kept"), reader="Aki")
    fresh = pd.DataFrame({"about": ["p1"], "text": ["added in the grid"]})
    assert len(register.edit(fresh, "Bun").saved) == 1
    assert register.notes.text.tolist() == ["kept", "added in the grid"]


def test_faults_are_collected(register):
    register.save_all([Attempt("i", "a"), Attempt("i", "b")], reader="Aki")
    table = register.attempts
    with pytest.raises(OptionError, match="did you mean 'confidence'"):
        register.edit(table.rename(columns={"confidence": "confidense"}), "Bun", kind="attempt")
    table = table.astype({"confidence": "object", "status": "object"})
    table.iloc[0, table.columns.get_loc("confidence")] = "very"
    table.iloc[1, table.columns.get_loc("status")] = "lost"
    with pytest.raises(RegisterError, match=r"row 1, confidence.*row 2, status.*one of open") as caught:
        register.edit(table, "Bun")
    assert len(caught.value.values["faults"]) == 2
    table.iloc[:, table.columns.get_loc("status")] = "open"
    table.iloc[0, table.columns.get_loc("confidence")] = 1.5
    with pytest.raises(RegisterError, match="not between 0 and 1"):
        register.edit(table, "Bun")


HOSTILE = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1+1", "＋1", "－1", "＠x", " =1", "\u3000=1", "\ufeff=1",
           "'=1", "a;=1+1", "a\n=1", 'x"=1', "|=1", "\x07bell", "_x0041_", "かな", "", "tail ", "'"]


@pytest.mark.parametrize("format", exports.FORMATS)
def test_every_kind_goes_out_and_comes_back(register, tmp_path, format):
    register.save_all(EVERY_KIND[1:], reader="Aki")
    paths = exports.export(register, tmp_path, format)
    found = {k: t for p in paths for k, t in exports.load(p).items()}
    assert set(found) == set(KINDS)
    for kind, table in found.items():
        assert frames.records(kind, table) == register.all(kind), kind
        edited = register.edit(table, "Bun", kind=kind)
        assert (edited.unchanged, len(edited.saved), len(edited.conflicts)) == (len(table), 0, 0)


@pytest.mark.parametrize("format", exports.FORMATS)
def test_hostile_text_comes_back_as_it_was(tmp_path, format):
    with Register.open(tmp_path) as register:
        register.save_all([Note("x", t) for t in HOSTILE], reader="Aki")
        path = exports.save("note", register.notes, tmp_path / f"notes.{format}")
        assert exports.load(path)["note"].text.tolist() == HOSTILE


def test_an_edited_file_finds_its_conflicts(register, tmp_path):
    note = Note("p1", "a")
    register.save(note, reader="Aki")
    table = register.notes
    path = exports.save("note", table.assign(text="from the sheet"), tmp_path / "notes.xlsx")
    register.save(dataclasses.replace(note, text="meanwhile"), reader="Chie")
    assert exports.edit_file(register, path, "Bun")["note"].conflicts.theirs.tolist() == ["meanwhile"]


def test_xlsx_holds_no_formula(tmp_path):
    """Asked of the file itself: ECMA-376 writes a formula as an ``f`` element."""
    import zipfile

    from lxml import etree

    with Register.open(tmp_path) as register:
        register.save_all([Note("x", t) for t in HOSTILE], reader="Aki")
        path = exports.save("note", register.notes, tmp_path / "notes.xlsx")
    sheet = etree.fromstring(zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml"))
    names = {etree.QName(e).localname for e in sheet.iter()}
    assert "f" not in names
    assert "c" in names
    assert {c.get("t") for c in sheet.iter("{*}c")} <= {"s", "inlineStr", "n", "b"}


def test_csv_cells_never_begin_like_a_formula(tmp_path):
    """Read as a spreadsheet would, by comma, semicolon or tab (signs as OWASP lists them, "CSV Injection")."""
    import csv

    path = csvfile.write(["id", "text"], [["x", t] for t in HOSTILE], tmp_path / "t.csv")
    text = path.read_text(encoding="utf-8-sig")
    for delimiter in ",;\t|":
        cells = [c for row in csv.reader(text.splitlines(keepends=True), delimiter=delimiter) for c in row]
        for line in text.replace("\r", "\n").split("\n"):
            cells += line.split(delimiter)
        for cell in cells:
            assert cell.strip(' "\u3000\ufeff\x07')[:1] not in tuple("=+-@\t\r＝＋－＠"), (delimiter, cell)


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="=+-@＝＋－＠'\"\t\r\n;|, \u3000\ufeffaか", max_size=12))
def test_guarded_text_is_safe_and_comes_back(text):
    safe = csvfile.guard(text)
    assert csvfile.unguard(safe) == text
    for part in safe.replace(";", "\n").replace("|", "\n").replace("\t", "\n").replace("\r", "\n").split("\n"):
        assert part.strip(' "\u3000\ufeff')[:1] not in tuple("=+-@＝＋－＠")


def test_long_text_is_not_cut(tmp_path):
    with Register.open(tmp_path) as register:
        register.save(Note("x", "の" * 40_000), reader="Aki")
        with pytest.raises(RegisterError, match="does not fit into a cell"):
            exports.save("note", register.notes, tmp_path / "n.xlsx")
        path = exports.save("note", register.notes, tmp_path / "notes.csv")
        assert exports.load(path)["note"].text.item() == "の" * 40_000


def test_files_that_do_not_do(tmp_path):
    (tmp_path / "notes.xlsx").write_bytes(b"no workbook")
    (tmp_path / "notes.parquet").write_bytes(b"PAR1 cut")
    (tmp_path / "notes.csv").write_bytes("題".encode("shift_jis"))
    for format in exports.FORMATS:
        with pytest.raises(RegisterError, match="cannot be read"):
            exports.load(tmp_path / f"notes.{format}")
    with pytest.raises(OptionError, match="Unknown format 'ods'"):
        exports.load(tmp_path / "notes.ods")
    (tmp_path / "things.csv").write_text("id,text\n")
    with pytest.raises(OptionError, match="Unknown table 'things'"):
        exports.load(tmp_path / "things.csv")
    (tmp_path / "notes.csv").write_text("id,txet\n,x\n")
    with pytest.raises(OptionError, match="did you mean 'text'"):
        exports.load(tmp_path / "notes.csv")


def test_a_sheet_with_numbers_for_text(tmp_path):
    """A spreadsheet turns the inventory number 1832 into a number; it comes back as text."""
    with Register.open(tmp_path) as register:
        register.save(Piece("x", inventory="1832", id="p"), reader="Aki")
        table = register.pieces.astype({"inventory": "object"}).assign(inventory=1832.0)
        assert register.edit(table, "Bun").unchanged == 1
        photo = Photo("a.jpg", "0" * 64, 10, 20)
        register.save(photo, reader="Aki")
        table = register.photos.astype({"width": "object"}).assign(width=10.5)
        with pytest.raises(RegisterError, match=r"width.*whole number"):
            register.edit(table, "Bun")
