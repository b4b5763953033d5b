"""Copies, worksheets, bags, checks, search: through the opened piece and the command line."""

import json
import zipfile

import pytest
from click.testing import CliRunner

import readaid
from readaid.cli import main
from readaid.core.photo import rectangle


def run(*args: object):
    return CliRunner().invoke(main, [str(a) for a in args])


@pytest.fixture
def verse(piece, verse):
    for n, sign in enumerate("かはつ"):
        _, character = piece.layout.draw(verse, piece.contents.photos[0], rectangle(100, 20 + 100 * n, 60, 80))
        piece.decipherment.tag(character, sign, 0.6)
    piece.decipherment.write_down(verse, "かはつ", 0.4)
    return verse


def test_copy_goes_out_and_comes_back_with_what_the_colleague_said(piece, verse, tmp_path):
    copy = piece.custody.copy(tmp_path / "copy.zip")
    assert run("receive", copy, tmp_path / "theirs").exit_code == 0
    with readaid.open(tmp_path / "theirs", reader="Tanaka") as theirs:
        character = theirs.contents.characters[0]
        theirs.decipherment.tag(character, "う", 0.7)
        back = theirs.custody.copy(tmp_path / "back.zip")
    merged = piece.custody.merge(back)
    assert merged.readers == ("Tanaka",)
    assert [c.field for c in merged.conflicts] == ["reading"], "the two now read this sign differently: listed"
    assert {c.character for c in piece.contents.characters[0].candidates} == {"か", "う"}
    assert piece.custody.merge(back).added == 0, "the same copy twice adds nothing"
    assert "Tanaka" in [r.reader for r in piece.register.history(character.id)]


def test_blind_copy_holds_no_guess(piece, verse, tmp_path):
    copy = piece.custody.copy(tmp_path / "blind.zip", blind=True)
    with zipfile.ZipFile(copy) as archive:
        text = archive.read("revisions.jsonl").decode()
    assert "かはつ" not in text
    assert '"か"' not in text
    assert "zone" in text


def test_archive_check_restore(piece, verse, tmp_path):
    bag = tmp_path / "bag.zip"
    assert run("archive", piece.folder, bag).exit_code == 0
    assert "as it was" in run("check", bag).output
    assert run("restore", bag, tmp_path / "back").exit_code == 0
    with readaid.open(tmp_path / "back") as back:
        assert back.contents.attempts == piece.contents.attempts
        assert back.custody.check().troubles == ()


def test_a_veiled_archive_tells_no_place_in_its_description(piece, tmp_path):
    piece.describe(title="Lid from Villa Kuro", place_kept="Villa Kuro")
    for veiled, told in ((True, False), (False, True)):
        with zipfile.ZipFile(piece.custody.archive(tmp_path / f"{veiled}.zip", veiled=veiled)) as bag:
            info = next(bag.read(n).decode() for n in bag.namelist() if n.endswith("bag-info.txt"))
        assert "External-Description: Lid from" in info
        assert ("Villa Kuro" in info) is told


def test_check_tells_a_changed_photo(piece, verse):
    path = piece.path(piece.contents.photos[0])
    path.write_bytes(path.read_bytes() + b"x")
    out = run("check", piece.folder, "--json")
    assert out.exit_code == 1
    assert "changed" in json.loads(out.output)["troubles"][0]


def test_worksheet_shows_no_candidate(piece, verse):
    text = piece.custody.worksheet().read_text(encoding="utf-8")
    assert text.count("<img") == 3
    assert "か" not in text


def test_search_from_the_command_line(piece, verse):
    assert "1 found" in run("search", piece.folder, "かはつ").output
    assert "2 found" in run("search", piece.folder, "--sound", "は").output, "the character and the attempt"
    piece.decipherment.tag(piece.contents.characters[0], "う", 0.5)
    assert "1 found" in run("search", piece.folder, "--disputed").output
    several = run("search", piece.folder.parent, "--disputed")
    assert several.exit_code == 2
    assert "--disputed asks within one piece" in several.output


def test_opening_tells_a_changed_photo_and_brings_a_damaged_register_back(piece, verse):
    assert piece.notices == ()
    photo = piece.path(piece.contents.photos[0])
    photo.write_bytes(photo.read_bytes() + b"x")
    kept = piece.contents.attempts
    piece.close()
    path = piece.folder / "register.sqlite"
    data = bytearray(path.read_bytes())
    data[100:4096] = b"\xff" * 3996
    path.write_bytes(bytes(data))
    with readaid.open(piece.folder) as again:
        assert "damaged" in again.notices[0]
        assert "changed" in again.notices[-1]
        assert again.contents.attempts == kept


def test_recover_leaves_a_sound_register_alone_and_mends_a_damaged_one(piece, verse):
    assert "sound" in run("recover", piece.folder).output
    kept = piece.contents.attempts
    piece.close()
    path = piece.folder / "register.sqlite"
    data = bytearray(path.read_bytes())
    data[4096:8192] = b"\xff" * 4096
    path.write_bytes(bytes(data))
    out = run("recover", piece.folder)
    assert out.exit_code == 0, out.output
    with readaid.open(piece.folder) as again:
        assert again.contents.attempts == kept
    assert "came back" in out.output
