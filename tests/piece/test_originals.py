"""Originals and archives are never written over, names fit every system, a beginning that fails leaves nothing."""

import dataclasses
import hashlib
import json
import os
import shutil
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from click.testing import CliRunner
from PIL import Image

import readaid
from readaid.cli import main
from readaid.core.errors import OptionError, PhotoError, ReadaidError
from readaid.core.identity import new_id, now, sha256_of
from readaid.core.photo import Zone, rectangle
from readaid.core.piece import Piece
from readaid.core.places import share
from readaid.piece import demo
from readaid.piece import folder as places
from readaid.register import bag, safezip
from readaid.register.store import Change


def photo(folder, name, shade):
    folder.mkdir(parents=True, exist_ok=True)
    Image.new("RGB", (40, 30), (shade, 90, 90)).save(folder / name, "PNG")
    return folder / name


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words])


# -- taking in ------------------------------------------------------------------------------------------------------
def test_many_photos_of_one_name_at_once(tmp_path):
    folder = tmp_path / "piece"
    places.prepare(folder)
    sources = [photo(tmp_path / str(n), "kiku.png", n * 10) for n in range(8)]
    with ThreadPoolExecutor(8) as pool:
        names = list(pool.map(lambda p: places.take_in(p, folder, sha256_of(p)), [*sources, *sources]))
    assert {sha256_of(folder / n) for n in names} == {sha256_of(p) for p in sources}, "none was written over"
    for source, name in zip([*sources, *sources], names, strict=True):
        assert sha256_of(folder / name) == sha256_of(source)
    assert not list((folder / "photos").glob("*.part"))


def test_a_photo_that_takes_the_name_between_look_and_putting_is_not_written_over(tmp_path, monkeypatch):
    folder, put, left = tmp_path / "piece", places._put, [b"another's photo"]
    places.prepare(folder)

    def late(part, target):
        if left:
            target.write_bytes(left.pop())
        return put(part, target)

    monkeypatch.setattr(places, "_put", late)
    source = photo(tmp_path / "in", "kiku.png", 4)
    assert places.take_in(source, folder, sha256_of(source)) == "photos/kiku-2.png"
    assert (folder / "photos" / "kiku.png").read_bytes() == b"another's photo"


def test_a_file_system_without_links_overwrites_nothing_either(tmp_path, monkeypatch):
    def refused(*_):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    test_many_photos_of_one_name_at_once(tmp_path)


@pytest.mark.parametrize("name", ["a:b?.png", "con.png", "back\\slash.png", "tab\there.png", "ends. .png",
                                  "か" * 80 + ".PNG", "が.png", "quote\".png", "<>|*.png"])
def test_names_are_mended_at_the_door(piece, tmp_path, name):
    source = photo(tmp_path / "in", name, 7)
    taken = piece.add_photo(source)
    assert safezip.safe_name(taken.file)
    assert sha256_of(piece.folder / taken.file) == taken.sha256 == sha256_of(source)
    restored = bag.restore(bag.make(piece.folder, tmp_path / "bag.zip"), tmp_path / "restored")
    assert sha256_of(restored / taken.file) == taken.sha256


def test_names_that_differ_in_capitals_only_are_kept_apart(piece, tmp_path):
    one = piece.add_photo(photo(tmp_path / "1", "Kiku.png", 1))
    two = piece.add_photo(photo(tmp_path / "2", "KIKU.png", 2))
    assert one.file.casefold() != two.file.casefold()
    assert bag.check(bag.make(piece.folder, tmp_path / "bag.zip")).valid


def test_a_half_written_file_is_no_photograph(piece, tmp_path):
    with pytest.raises(PhotoError, match="half-written"):
        piece.add_photo(photo(tmp_path / "in", "kiku.png.part", 1))
    assert len(piece.contents.photos) == 1


def test_leftovers_of_a_crash_are_taken_away_later(piece):
    old, new = (piece.folder / "photos" / f"{n}.part" for n in ("old", "new"))
    for path in (old, new):
        path.write_bytes(b"half")
    os.utime(old, (time.time() - 7200,) * 2)
    readaid.open(piece.folder).close()
    assert (old.exists(), new.exists()) == (False, True), "another kernel may be writing the new one"


def test_a_photograph_can_be_renamed(piece):
    record = piece.contents.photos[0]
    before = (piece.folder / record.file).read_bytes()
    renamed = piece.rename_photo(record, "front of the lid: rim")
    assert renamed.file == "photos/front of the lid- rim.png"
    assert (piece.folder / renamed.file).read_bytes() == before
    assert not (piece.folder / record.file).exists()
    assert piece.check_photos() == []
    (piece.folder / renamed.file).write_bytes(b"another")
    with pytest.raises(PhotoError, match="has changed"):
        piece.rename_photo(renamed, "again")


# -- going out ------------------------------------------------------------------------------------------------------
def test_nothing_is_written_over_an_original_or_an_archive(piece, verse, tmp_path):
    piece.layout.draw(verse, verse.photo, rectangle(10, 10, 30, 30))
    archive = piece.custody.archive(tmp_path / "bag.zip")
    original = photo(tmp_path / "in", "original.png", 3)
    kept = {p: p.read_bytes() for p in (archive, original, *piece.folder.glob("photos/*"),
                                        piece.folder / "register.sqlite")}
    for target in kept:
        for write in (lambda t: piece.custody.copy(t), lambda t: piece.custody.worksheet(t),
                      lambda t: piece.report("html", t), lambda t: piece.custody.archive(t)):
            with pytest.raises(ReadaidError):
                write(target)
        assert run("copy", piece.folder, "--to", target).exit_code == 2
        assert run("worksheet", piece.folder, "--to", target).exit_code == 2
    with pytest.raises(ReadaidError, match="Originals"):
        piece.custody.copy(piece.folder / "photos" / "new.zip")
    assert {p: p.read_bytes() for p in kept} == kept
    for _ in range(2):
        assert piece.custody.copy().exists(), "what lies in exports/ is made again"
        assert piece.custody.worksheet().exists()
        assert piece.report("xlsx").exists()


@pytest.mark.parametrize("format", ["xlsx", "parquet"])
def test_tables_are_written_whole_or_not_at_all(piece, format, monkeypatch):
    former = piece.report(format)
    files = {p: p.read_bytes() for p in (former.iterdir() if former.is_dir() else [former])}

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        piece.report(format)
    assert {p: p.read_bytes() for p in files} == files
    assert not list((piece.folder / "exports").rglob("*.part"))


# -- beginnings -----------------------------------------------------------------------------------------------------
def test_a_beginning_that_fails_leaves_nothing_behind(tmp_path, monkeypatch):
    good = photo(tmp_path / "in", "good.png", 1)
    bad = tmp_path / "in" / "bad.jpg"
    bad.write_bytes(b"no photo")
    done = run("new", tmp_path / "piece", "--photo", good, "--photo", bad)
    assert done.exit_code == 2
    assert not (tmp_path / "piece").exists()
    mine = tmp_path / "mine"
    photo(mine / "photos", "my own.png", 9)

    def full(*_):
        raise PhotoError("The disk is full")

    monkeypatch.setattr(places, "take_in", full)
    assert run("new", mine, "--photo", good).exit_code == 2
    assert [p.name for p in mine.rglob("*")] == ["photos", "my own.png"], "and takes nothing of the user's away"


def test_the_demo_deletes_nothing(tmp_path):
    folder = tmp_path / "demo"
    told = json.loads((share("data") / "demo" / "piece.json").read_text(encoding="utf-8"))
    inventory = told["piece"]["inventory"]
    with readaid.new(folder, reader="Mori", inventory=inventory, title="former demo") as former:
        former.add_note(former.piece.id, "the reader's own work")
    before = {p: hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.rglob("*") if p.is_file()}
    assert demo.fresh(folder) == tmp_path / "demo-2"
    (tmp_path / "demo-2").mkdir()
    assert demo.fresh(folder) == tmp_path / "demo-2"
    assert {p: hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.rglob("*") if p.is_file()} == before
    readaid.new(tmp_path / "other", title="another").close()
    with pytest.raises(ReadaidError, match="Another piece"):
        demo.fresh(tmp_path / "other")
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes" / "mine.txt").write_text("mine")
    with pytest.raises(ReadaidError, match="not empty"):
        demo.fresh(tmp_path / "notes")


# -- no record blocks the rest --------------------------------------------------------------------------------------
def test_what_would_block_everything_is_refused_at_the_door(piece):
    front = piece.contents.photos[0].id
    for record in (Piece("a second one"), Zone("nowhere", rectangle(0, 0, 9, 9)), Zone(front, ()),
                   Zone(front, ((0.0, 0.0), (float("nan"), 1.0), (2.0, 2.0)))):
        with pytest.raises(OptionError, match="cannot be kept"):
            piece.save(record)
    assert len(piece.register.pieces_held()) == 1


def test_what_came_by_another_way_is_shown_as_damaged_and_every_format_comes_out(piece, verse):
    from readaid.report import FORMATS

    front = piece.contents.photos[0].id
    zone, _ = piece.layout.draw(verse, front, rectangle(10, 10, 30, 30))
    piece.register.save_all([Piece("a second one"), Zone("nowhere", rectangle(0, 0, 9, 9), id="z1")], reader="x",
                            piece=piece.piece.id)
    flat = Change(Zone(front, (), id="z2"), piece=piece.piece.id, id=new_id(), made=now(), reader="x")
    piece.register.write([flat], "x")  # what has an id of its own came from outside: an earlier version let it in
    piece.register.save(dataclasses.replace(piece.piece, title="bell\x07 and \x0b\ufffe"), reader="x")
    with readaid.open(piece.folder) as again:
        assert "holds 2 pieces" in " ".join(again.notices)
        assert "z1 lies on no photo" in " ".join(again.notices)
        assert "z2 (zone) has values that cannot be" in " ".join(again.notices)
        assert again.piece.title == "bell␇ and ␋�"
        assert [z.id for z in again.contents.zones] == [zone.id]
        for format in (*FORMATS, "xlsx", "parquet"):
            assert again.report(format).exists()
        again.add_note(again.piece.id, "work goes on")


def test_words_of_the_reader_are_kept_as_they_are(piece, verse):
    for text in ("Haru [no] tsuyu 12 - ?", "[かな]", "— (not read)", "春 3 ☆"):
        kept = piece.decipherment.write_down(verse, text)
        assert kept.written == text
    assert piece.decipherment.write_down(verse, "ふるいけやかはづとびこむみづのおと").morae == (5, 7, 5)


def test_undo_reaches_behind_a_merge(piece, verse, tmp_path):
    zone, sign = piece.layout.draw(verse, verse.photo, rectangle(10, 10, 30, 30))
    _, other = piece.layout.draw(verse, verse.photo, rectangle(10, 60, 30, 30))
    piece.decipherment.tag(other, "き", 0.6)
    copy = piece.custody.copy(tmp_path / "copy.zip")
    from readaid.copies import reader_copy

    with readaid.open(reader_copy.receive(copy, tmp_path / "theirs"), reader="Bun") as theirs:
        theirs.decipherment.tag(sign.id, "う", 0.7)
        back = theirs.custody.copy(tmp_path / "back.zip")
    piece.custody.merge(back)
    assert piece.undo(), "the tag of the other sign, which the merge did not touch"
    assert piece.find(type(other), other.id).candidates == ()
    assert piece.find(type(sign), sign.id).candidates[0].source == "colleague", "what was merged stays"
    assert piece.redo()
    assert zone.id in {z.id for z in piece.contents.zones}
    shutil.rmtree(tmp_path / "theirs")


def test_what_the_machine_proposed_is_nobody_s_judgement(piece, verse):
    from readaid.copies import agreement
    from readaid.core.reading import Reading
    from readaid.register.judgements import judgements

    signs = [piece.layout.draw(verse, verse.photo, rectangle(10, 10 + 40 * n, 30, 30))[1] for n in range(3)]
    for sign, candidate in zip(signs, "はる", strict=False):
        piece.decipherment.tag(sign, candidate, 0.8)
    read = Reading("はるさ", "はるさ", "はるさ", "はるさ", "harusa", ("はるさ",), (3,), 0.5, (),
                   chosen=("は", "る", "さ"))
    kept = piece.decipherment.keep(verse, read)
    assert [sign for _, sign in kept.chosen] == ["は", "る", ""]
    assert kept.written == "はる?"
    assert "judged by nobody" in kept.note
    assert {(j.character, j.sign) for j in judgements(piece.register)} == {(signs[0].id, "は"), (signs[1].id, "る")}
    assert agreement.readings(piece.register).table["Mori"].tolist() == ["は", "る", None]
    agreed = piece.decipherment.tag(signs[0], "は", 0.8)
    assert agreed.candidates[0].character == "は"
    with readaid.open(piece.folder, reader="Bun") as other:
        other.decipherment.tag(signs[0], "は", 0.8)
    said = [(j.reader, j.sign) for j in judgements(piece.register) if j.character == signs[0].id]
    assert sorted(said) == [("Bun", "は"), ("Mori", "は")], "who agrees to the letter has judged, too"


@pytest.mark.parametrize("harm", ["missing", "changed"])
def test_a_photo_that_is_not_the_one_taken_in_is_told_everywhere_and_blocks_nothing(piece, verse, tmp_path, harm):
    from readaid.copies import reader_copy
    from readaid.report import FORMATS

    record = piece.contents.photos[0]
    second = piece.add_photo(photo(tmp_path / "in", "second.png", 5))
    sign = piece.layout.draw(verse, record, rectangle(10, 10, 30, 30))[1]
    piece.decipherment.tag(sign, "は", 0.8)
    for format in FORMATS:
        assert piece.report(format).exists()
    assert record.sha256 in piece.report().read_text(encoding="utf-8")
    if harm == "missing":
        (piece.folder / record.file).unlink()
    else:
        Image.new("RGB", (record.width, record.height), "white").save(piece.folder / record.file, "PNG")
    words = {"missing": "This photograph is missing", "changed": "is not the photograph that was taken in"}[harm]
    for format in (*FORMATS, "xlsx", "parquet"):
        assert piece.report(format).exists(), format
    text = piece.report().read_text(encoding="utf-8")
    assert words in text
    assert record.sha256 not in text, "never the recorded checksum beside another picture"
    assert second.sha256 in text
    done = run("report", piece.folder)
    assert done.exit_code == 1
    assert record.file in done.output
    copy = piece.custody.copy(tmp_path / "copy.zip")
    manifest, _ = reader_copy.read(copy)
    assert manifest["left_out"] == [record.id]
    with readaid.open(reader_copy.receive(copy, tmp_path / "theirs")) as theirs:
        assert [p.id for p in theirs.contents.photos] == [record.id, second.id]
        assert len(theirs.check_photos()) == 1
    assert piece.custody.worksheet().exists()
    assert bag.check(piece.custody.archive(tmp_path / "bag.zip")).valid
