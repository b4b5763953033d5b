"""The reader's copy: out, on a colleague's machine, back; blind; private; hostile files refused."""

import dataclasses
import hashlib
import io
import json
import struct
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from readaid.copies import reader_copy, worksheet
from readaid.copies.merge import in_words
from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character, Inscription
from readaid.core.errors import ArchiveError, ConflictError, OptionError, RegisterError
from readaid.core.person import Person, Role
from readaid.core.photo import Photo, Zone, rectangle
from readaid.core.piece import Note, Piece
from readaid.core.specimen import Specimen
from readaid.core.veil import Veil
from readaid.photo import metadata
from readaid.register import safezip
from readaid.register.book import Register


def make_photo(path, format="JPEG", **options):
    exif = Image.Exif()
    exif[0x0112], exif[0x013B], exif[0xA431] = 6, "Owner Name", "SERIAL-12345"
    exif[0x8825] = {1: "N", 2: (35.0, 41.0, 22.0), 3: "E", 4: (139.0, 41.0, 30.0)}
    exif[0x8769] = {0xA430: "Owner Name", 0xA431: "SERIAL-12345", 0x9003: "2026:01:02 03:04:05"}
    exif._ifds |= {tag: exif[tag] for tag in (0x8825, 0x8769)}  # Pillow asks here when it writes a TIFF
    Image.effect_noise((64, 48), 40).convert("RGB").save(path, format, exif=exif, **options)
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.fixture
def ours(tmp_path):
    """A piece with a photo, two characters and what we think of them."""
    folder = tmp_path / "ours"
    (folder / "photos").mkdir(parents=True)
    digest = make_photo(folder / "photos" / "kiku.jpg")
    with Register.open(folder) as register:
        register.save(Piece("tray", id="p", reader="Aki", inventory="A 7", place_kept="Shelf 4",
                            provenance="bought of the widow", translation="chrysanthemum"), reader="Aki")
        register.save_all([
            Photo("photos/kiku.jpg", digest, 48, 64, id="ph", title="verse of the chrysanthemum"),
            Zone("ph", rectangle(0, 0, 10, 10), id="z1"), Zone("ph", rectangle(0, 10, 10, 10), id="z2"),
            Inscription(id="i", title="verse", columns=(("c1", "c2"),), form="hokku"),
            Character(("z1",), (Candidate("き", 0.8),), id="c1", note="like き in the colophon"),
            Character(("z2",), (Candidate("く", 0.6),), id="c2"),
            Person("山菊", id="m"), Role("m", "maker"), Person("青石", id="o"), Role("o", "owner")], reader="Aki")
        register.save(Attempt("i", "きく", id="a", reasons=("filler",)), reader="Aki", reason="known verse no. 7")
    return folder


def test_out_and_back_without_loss(ours, tmp_path):
    theirs = tmp_path / "theirs"
    with Register.open(ours) as register:
        before = register.contents()
        assert before.piece.reader == "Aki"
        sent = reader_copy.write(register, tmp_path / "copy.zip", photos=ours)
        reader_copy.receive(sent, theirs)
        with Register.open(theirs) as other:
            assert other.get("c1") == register.get("c1")
            assert len(other.history("a")) == 1
            assert other.get("p").reader == "", "Bun's work does not go under Aki's name"
            other.save(dataclasses.replace(other.get("c1"), damage="worn"), reader="Bun", reason="worn at the foot")
            other.save(dataclasses.replace(other.get("c2"), candidates=(Candidate("く", 0.6), Candidate("う", 0.7))),
                       reader="Bun")
            other.save(Attempt("i", "きう", id="b", reader="Bun"), reader="Bun", reason="the tail is too long for く")
            back = reader_copy.write(other, tmp_path / "back", photos=theirs)
        assert back.name == "back.zip"
        register.save(dataclasses.replace(register.get("c1"), note="our later note"), reader="Aki")
        merged = reader_copy.merge(register, back, "Aki")
        assert (merged.new_records, merged.readers) == (1, ("Bun",))
        assert register.get("c1").damage == "worn"
        assert register.get("c1").note == "our later note", "different fields: both stand"
        assert register.get("c2").candidates == (Candidate("く", 0.6), Candidate("う", 0.7, source="colleague"))
        assert [(c.field, c.ours.character, c.theirs.character) for c in merged.conflicts] == [("reading", "く", "う")]
        assert merged.conflicts[0].label == "verse, column 1, character 2"
        assert [(r.reader, r.reason) for r in register.history("b")] == [("Bun", "the tail is too long for く")]
        assert [r.reader for r in register.history("c1")] == ["Aki", "Aki", "Bun", "Aki"]
        assert register.contents().piece == before.piece, "what did not leave comes to no harm"
        assert register.contents().persons == before.persons
        assert register.get("ph") == before.photos[0]
        assert register.check().problems == ()
        with pytest.raises(ConflictError, match="changed after what you want to undo"):
            register.undo(reader="Aki")  # the merge changed what the last gesture made: told, and nothing undone
        version = register.version
        again = reader_copy.merge(register, back, "Aki")
        assert (again.added, again.conflicts, register.version) == (0, (), version)


def test_conflicts_are_listed_and_ours_stands(ours, tmp_path):
    with Register.open(ours) as register:
        reader_copy.receive(reader_copy.write(register, tmp_path / "c.zip"), tmp_path / "theirs")
        with Register.open(tmp_path / "theirs") as other:
            other.save(Character(("z1",), (Candidate("さ", 0.9),), damage="traces", id="c1"), reader="Bun")
            other.withdraw("c2", reader="Bun", reason="a scratch")
            other.save(dataclasses.replace(other.get("a"), written="さく"), reader="Bun")
            back = reader_copy.write(other, tmp_path / "b.zip")
        register.save(dataclasses.replace(register.get("c1"), candidates=(Candidate("き", 0.95),), damage="worn"),
                      reader="Aki")
        register.save(dataclasses.replace(register.get("c2"), note="sure"), reader="Aki")
        merged = reader_copy.merge(register, back, "Aki")
        told = {(c.label, c.field): (c.ours, c.theirs) for c in merged.conflicts}
        assert told == {
            ("verse, column 1, character 1", "damage"): ("worn", "traces"),
            ("verse, column 1, character 1", "reading"): (Candidate("き", 0.95), Candidate("さ", 0.9)),
            ("verse, column 1, character 2", "withdrawn"): (False, True)}
        assert register.get("c1").candidates == (Candidate("き", 0.95), Candidate("さ", 0.9, source="colleague"))
        assert register.get("c1").damage == "worn"
        assert register.get("c2").note == "sure"
        assert [r.record.damage for r in register.history("c1")] == ["not stated", "worn", "traces", "worn"]
        assert register.get("a").written == "さく", "only they changed it"
        assert merged.frame()["theirs_by"].tolist() == ["Bun"] * 3
        assert in_words(Candidate("さ", 0.9)) in merged._repr_html_()


SIGNS = st.lists(st.tuples(st.sampled_from("きさちう"), st.sampled_from([0.2, 0.5, 0.8])), max_size=3,
                 unique_by=lambda c: c[0]).map(lambda cs: tuple(Candidate(*c) for c in cs))
STATES = st.builds(Character, candidates=SIGNS, damage=st.sampled_from(["intact", "worn"]), note=st.sampled_from("ab"),
                   fixed=st.sampled_from(["", "き"]), id=st.just("c1"))


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture,
                                                                HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.lists(st.tuples(STATES, STATES, STATES), min_size=8, max_size=8))
def test_a_merge_loses_nothing_whatever_both_did(tmp_path_factory, several):
    """Three-way: what one changed stands, what both changed alike stands, what both changed differently is told.

    Eight signs a copy, each with a history of its own: a copy a sign took two minutes.
    """
    tmp_path = tmp_path_factory.mktemp("merge")
    several = {f"c{n}": [dataclasses.replace(x, id=f"c{n}") for x in of] for n, of in enumerate(several)}
    starts, mines, yours = ([of[n] for of in several.values()] for n in range(3))
    with Register.open(tmp_path / "a.sqlite") as register:
        register.save_all([Piece("tray", id="p"), *starts], reader="Aki")
        reader_copy.receive(reader_copy.write(register, tmp_path / "c.zip"), tmp_path / "theirs")
        with Register.open(tmp_path / "theirs") as other:
            saved = other.save_all(yours, reader="Bun")
            back = reader_copy.write(other, tmp_path / "b.zip")
        register.save_all(mines, reader="Aki")
        merged = reader_copy.merge(register, back, "Aki")
        for (id, (start, mine, your)), kept in zip(several.items(), saved, strict=True):
            assert kept.id in {r.id for r in register.history(id)}
            check_merged(start, mine, your, register.get(id), {c.field for c in merged.conflicts if c.record == id})


def check_merged(start, mine, yours, result, told):
    for field in ("damage", "note", "fixed"):
        was, a, b, now = (getattr(x, field) for x in (start, mine, yours, result))
        assert now == (b if a == was else a)
        assert (field in told) == (a != was and b != was and a != b)
    was, a, b, now = ({c.character: c.confidence for c in x.candidates} for x in (start, mine, yours, result))
    for sign in {*was, *a, *b}:
        w, x, y, n = was.get(sign), a.get(sign), b.get(sign), now.get(sign)
        assert n == (y if x is None and w is None else x), "ours as we are sure of them, theirs beside them"
    assert not any(field.startswith("candidate") for field in told)


def test_a_veiled_character_says_nothing_that_was_thought_of_it():
    sign = Character(("z",), (Candidate("か", 0.8),), id="c", damage="worn", note="like か", fixed="か", word_ends=True,
                     name_of="place")
    assert Veil(blind=True).record(sign) == Character(("z",), id="c"), "damage is a judgement, too"
    assert Veil().record(sign) == sign


def test_a_blind_copy_hides_what_would_bias(ours, tmp_path):
    with Register.open(ours) as register:
        sent = reader_copy.write(register, tmp_path / "blind.zip", blind=True, photos=ours)
        with zipfile.ZipFile(sent) as archive:
            text = archive.read("revisions.jsonl").decode() + archive.read("manifest.json").decode()
        for hidden in ("き", "く", "山菊", "filler", "known verse", "hokku", "chrysanthemum", "colophon"):
            assert hidden not in text
        assert '"blind": true' in text
        reader_copy.receive(sent, tmp_path / "theirs")
        with Register.open(tmp_path / "theirs") as other:
            assert other.contents().attempts == ()
            assert [c.candidates for c in other.contents().characters] == [(), ()]
            other.save(dataclasses.replace(other.get("c1"), candidates=(Candidate("さ", 0.7),), note="open loop"),
                       reader="Bun")
            other.save(dataclasses.replace(other.get("c2"), candidates=(Candidate("く", 0.9),)), reader="Bun")
            back = reader_copy.write(other, tmp_path / "back.zip")
        merged = reader_copy.merge(register, back, "Aki")
        assert register.get("c1").candidates == (Candidate("き", 0.8), Candidate("さ", 0.7, source="colleague"))
        assert register.get("c1").note == "like き in the colophon", "what was hidden is not lost"
        assert register.get("i").form == "hokku"
        assert register.get("p").translation == "chrysanthemum"
        assert {(c.record, c.field) for c in merged.conflicts} == {
            ("c1", "reading"), ("c1", "note")}


def test_private_things_stay_unless_asked_for(ours, tmp_path):
    original = (ours / "photos" / "kiku.jpg").read_bytes()
    with Register.open(ours) as register:
        for private in (False, True):
            sent = reader_copy.write(register, tmp_path / f"{private}.zip", photos=ours, private=private)
            with zipfile.ZipFile(sent) as archive:
                data = {n: archive.read(n) for n in archive.namelist()}
            photo, text = data["photos/ph/kiku.jpg"], data["revisions.jsonl"].decode()
            for secret in ("Shelf 4", "bought of the widow"):
                assert (secret in text) is private
            assert (b"SERIAL-12345" in photo) is private
            assert ('"role":"owner"' in text.replace("\\", "")) is private
            with Image.open(io.BytesIO(photo)) as shown, Image.open(io.BytesIO(original)) as was:
                assert shown.getexif()[0x0112] == 6, "orientation stays (read by Pillow)"
                assert shown.tobytes() == was.tobytes()
                assert bool(shown.getexif().get_ifd(0x8825)) is private
            reader_copy.receive(sent, tmp_path / f"r{private}")
            with Register.open(tmp_path / f"r{private}") as other:
                held = (tmp_path / f"r{private}" / "photos" / "kiku.jpg").read_bytes()
                assert other.get("ph").sha256 == hashlib.sha256(held).hexdigest()


@pytest.mark.parametrize(("format", "ending"), [("JPEG", "jpg"), ("PNG", "png"), ("WEBP", "webp"), ("TIFF", "tif")])
def test_metadata_is_stripped_and_pixels_are_not(tmp_path, format, ending):
    """Checked with Pillow, which reads each format by code of its own."""
    path = tmp_path / f"x.{ending}"
    make_photo(path, format, **({"lossless": True} if format == "WEBP" else {}))
    data = path.read_bytes()
    assert b"SERIAL-12345" in data
    bare = metadata.stripped(data, path.name)
    for secret in (b"SERIAL-12345", b"Owner Name"):
        assert secret not in bare
    with Image.open(io.BytesIO(bare)) as shown, Image.open(path) as was:
        assert shown.size == was.size
        assert shown.getexif().get(0x0112) == 6
        assert not shown.getexif().get_ifd(0x8825), "no position"
        assert was.getexif().get_ifd(0x8825)
        assert shown.getexif().get_ifd(0x8769).get(0x9003) == "2026:01:02 03:04:05", "when is not who or where"
        assert shown.tobytes() == was.tobytes()


def test_xmp_and_comments_go(tmp_path):
    path = tmp_path / "x.jpg"
    Image.new("RGB", (8, 8)).save(path, xmp=b"<x:xmpmeta>Owner Name</x:xmpmeta>", comment="Owner Name")
    assert b"Owner Name" in path.read_bytes()
    assert b"Owner Name" not in metadata.stripped(path.read_bytes() + b"Owner Name", "x.jpg")


def test_what_cannot_be_stripped_is_not_let_out():
    with pytest.raises(ArchiveError, match="cannot be stripped"):
        metadata.stripped(b"BM bitmap", "x.bmp")
    with pytest.raises(ArchiveError, match="cannot be read"):
        metadata.stripped(b"\xff\xd8\xff\xe1\xff", "x.jpg")
    with pytest.raises(ArchiveError, match="cannot be read"):
        metadata.stripped(b"II*\0" + struct.pack("<IHHHII", 8, 1, 315, 2, 900, 8000), "x.tif")


def test_photos_a_colleague_added_are_written(ours, tmp_path):
    with Register.open(ours) as register:
        reader_copy.receive(reader_copy.write(register, tmp_path / "c.zip"), tmp_path / "theirs")
        digest = make_photo(tmp_path / "theirs" / "extra.jpg")
        other_digest = make_photo(tmp_path / "theirs" / "second.jpg")
        (tmp_path / "theirs" / "photos").mkdir()
        make_photo(tmp_path / "theirs" / "photos" / "kiku.jpg")
        with Register.open(tmp_path / "theirs") as other:
            other.save_all([Photo("extra.jpg", digest, 48, 64, id="x"),
                            Photo("second.jpg", other_digest, 48, 64, id="y")], reader="Bun")
            back = reader_copy.write(other, tmp_path / "b.zip", photos=tmp_path / "theirs")
        (ours / "second.jpg").write_bytes(b"ours")
        merged = reader_copy.merge(register, back, "Aki", photos=ours)
        assert merged.new_records == 2
        assert (ours / "second.jpg").read_bytes() == b"ours"
        for id in "xy":  # they lay beside the folder of photos: here they lie in it, under names of our own
            photo = register.get(id)
            assert photo.file.startswith("photos/photo-")
            assert hashlib.sha256((ours / photo.file).read_bytes()).hexdigest() == photo.sha256
        assert not (ours / "extra.jpg").exists()


def test_a_copy_of_another_piece_is_not_merged(ours, tmp_path):
    with Register.open(ours) as register, Register.open(tmp_path) as other:
        other.save(Piece("another", id="q"), reader="Bun")
        with pytest.raises(RegisterError, match="another piece"):
            reader_copy.merge(register, reader_copy.write(other, tmp_path / "o.zip"), "Aki")
        with pytest.raises(ArchiveError, match="not empty"):
            reader_copy.receive(tmp_path / "o.zip", ours)
        manifest, _ = reader_copy.read(reader_copy.write(register, tmp_path / "x.zip", photos=tmp_path))
        assert manifest["left_out"] == ["ph"], "a photo that has gone does not keep the rest from going"


# -- hostile ------------------------------------------------------------------------------------------------------
def _rewritten(source, target, change):
    """A copy changed by ``change(parts)``, its hashes made to fit again where the part is still there."""
    with zipfile.ZipFile(source) as archive:
        parts = {n: archive.read(n) for n in archive.namelist()}
    change(parts)
    manifest = json.loads(parts["manifest.json"])
    manifest["files"] = {n: {"sha256": hashlib.sha256(d).hexdigest(), "bytes": len(d)}
                         for n, d in parts.items() if n != "manifest.json"}
    parts["manifest.json"] = json.dumps(manifest).encode()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return target


@pytest.fixture
def sent(ours, tmp_path):
    with Register.open(ours) as register:
        return reader_copy.write(register, tmp_path / "sent.zip", photos=ours)


@pytest.mark.parametrize("name", ["../evil", "photos/../../evil", "/etc/evil", "C:/evil", "\\\\host\\evil",
                                  "a\\..\\evil", "photos/./x", "a//b", "con", "x.", "tab\tx"])
def test_paths_that_lead_outside(sent, tmp_path, name):
    bad = tmp_path / "bad.zip"
    with zipfile.ZipFile(bad, "w") as archive:
        archive.writestr("manifest.json", "{}")
        archive.writestr(name, "x")
    for work in (reader_copy.read, lambda p: reader_copy.receive(p, tmp_path / "into")):
        with pytest.raises(ArchiveError, match="leads outside"):
            work(bad)
    assert not (tmp_path / "into").exists()
    assert not list(tmp_path.rglob("evil"))


def _entry(mode):
    entry = zipfile.ZipInfo("photos/ph/kiku.jpg")
    entry.create_system, entry.external_attr = 3, mode << 16
    return entry


@pytest.mark.parametrize("mode", [0o120777, 0o020644, 0o010644, 0o140644], ids=["link", "device", "pipe", "socket"])
def test_links_and_devices(tmp_path, mode):
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as archive:
        archive.writestr(_entry(mode), "/etc/passwd")
    with pytest.raises(ArchiveError, match="link or a device"):
        reader_copy.read(tmp_path / "bad.zip")


def test_a_zip_bomb(tmp_path):
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("manifest.json", "{}")
        with archive.open("revisions.jsonl", "w") as stream:
            for _ in range(30):
                stream.write(b"\0" * 1_000_000)
    with pytest.raises(ArchiveError, match="far more than it is"):
        reader_copy.read(tmp_path / "bomb.zip")


def test_a_zip_that_lies_about_its_size(tmp_path):
    path = tmp_path / "liar.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("manifest.json", b"\0" * 5_000_000)
    data = bytearray(path.read_bytes())
    for sign, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):  # declared size (PKWARE APPNOTE 4.3.7, 4.3.12)
        at = data.find(sign)
        data[at + offset:at + offset + 4] = struct.pack("<I", 100)
    path.write_bytes(data)
    with pytest.raises(ArchiveError, match=r"more than it says|damaged|no reader's copy"):
        reader_copy.read(path)
    with safezip.open_checked(path) as archive, pytest.raises(ArchiveError):
        safezip.read(archive, "manifest.json", 1_000_000)


def test_doubled_and_encrypted_entries(tmp_path):
    with zipfile.ZipFile(tmp_path / "twice.zip", "w") as archive:
        archive.writestr("a.txt", "1")
        archive.writestr("A.TXT", "2")
    with pytest.raises(ArchiveError, match="same name twice"):
        reader_copy.read(tmp_path / "twice.zip")
    data = bytearray((tmp_path / "twice.zip").read_bytes().replace(b"A.TXT", b"B.TXT"))
    data[data.find(b"PK\x01\x02") + 8] |= 1
    (tmp_path / "locked.zip").write_bytes(data)
    with pytest.raises(ArchiveError, match="encrypted"):
        reader_copy.read(tmp_path / "locked.zip")


def test_parts_that_do_not_fit(sent, tmp_path):
    def spoil(name, old, new):
        with zipfile.ZipFile(sent) as archive:
            parts = {n: archive.read(n) for n in archive.namelist()}
        parts[name] = parts[name].replace(old, new)
        with zipfile.ZipFile(tmp_path / "bad.zip", "w") as archive:
            for part, data in parts.items():
                archive.writestr(part, data)
        return tmp_path / "bad.zip"

    with pytest.raises(ArchiveError, match="not as its sender wrote it"):
        reader_copy.read(spoil("revisions.jsonl", b"Aki", b"Bun"))
    with pytest.raises(ArchiveError, match="not as its sender wrote it"):
        reader_copy.receive(spoil("photos/ph/kiku.jpg", b"JFIF", b"JUNK"), tmp_path / "x")
    with pytest.raises(ArchiveError, match="newer readaid"):
        reader_copy.read(spoil("manifest.json", b'"version": 2', b'"version": 3'))
    with pytest.raises(ArchiveError, match="list of contents does not fit"):
        reader_copy.read(spoil("manifest.json", b"photos/ph/", b"photos/pz/"))
    for format in ("no zip", "PK"):
        (tmp_path / "n.zip").write_text(format)
        with pytest.raises(ArchiveError, match="cannot be opened as a zip"):
            reader_copy.read(tmp_path / "n.zip")
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as archive:
        archive.writestr("letter.txt", "hello")
    with pytest.raises(ArchiveError, match="no reader's copy"):
        reader_copy.read(tmp_path / "other.zip")


def _record_changed(parts, kind, **values):
    from readaid.register.revision import fingerprint

    rows = [json.loads(line) for line in parts["revisions.jsonl"].splitlines()]
    for row in rows:
        if row["kind"] == kind:
            row["body"] = json.dumps(json.loads(row["body"]) | values, ensure_ascii=False)
            row["id"] += "x"
            row["digest"] = fingerprint(row)
    parts["revisions.jsonl"] = "\n".join(json.dumps(r) for r in rows).encode()


def test_records_that_lie(sent, tmp_path, ours):
    def bad(kind, **values):
        return _rewritten(sent, tmp_path / "bad.zip", lambda p: _record_changed(p, kind, **values))

    with Register.open(ours) as register:
        before = register.version
        for path in ("../../etc/passwd", "/etc/passwd", "photos\\..\\x"):
            with pytest.raises(ArchiveError, match="outside the piece folder"):
                reader_copy.merge(register, bad("photo", file=path), "Aki")
        for values in ({"confidence": 3.0}, {"extra": 1}, {"lines": "x", "morae": {"a": 1}}):
            with pytest.raises(ArchiveError, match="not well formed"):
                reader_copy.merge(register, bad("attempt", **values), "Aki")
        with pytest.raises(ArchiveError, match="not well formed"):
            reader_copy.merge(register, bad("attempt", id="someone else's"), "Aki")
        deep = _rewritten(sent, tmp_path / "deep.zip", lambda p: p.update(
            {"revisions.jsonl": b'{"a":' + b"[" * 100_000 + b"]" * 100_000 + b"}"}))
        with pytest.raises(ArchiveError, match="not well formed"):
            reader_copy.merge(register, deep, "Aki")
        assert register.version == before


def test_a_specimen_image_may_not_lead_outside(ours, tmp_path):
    with Register.open(ours) as register:
        register.save(Specimen(image="form.png", id="s"), reader="Aki")
        sent = reader_copy.write(register, tmp_path / "s.zip")
        bad = _rewritten(sent, tmp_path / "bad.zip", lambda p: _record_changed(p, "specimen", image="../x"))
        with pytest.raises(ArchiveError, match="outside the piece folder"):
            reader_copy.merge(register, bad, "Aki")


def test_a_linked_folder_is_not_written_through(ours, tmp_path):
    with Register.open(ours) as register:
        reader_copy.receive(reader_copy.write(register, tmp_path / "c.zip"), tmp_path / "theirs")
        (tmp_path / "theirs" / "new").mkdir()
        (tmp_path / "theirs" / "photos").mkdir()
        make_photo(tmp_path / "theirs" / "photos" / "kiku.jpg")
        digest = make_photo(tmp_path / "theirs" / "new" / "x.jpg")
        with Register.open(tmp_path / "theirs") as other:
            other.save(Photo("new/x.jpg", digest, 48, 64, id="x"), reader="Bun")
            back = reader_copy.write(other, tmp_path / "b.zip", photos=tmp_path / "theirs")
        (tmp_path / "elsewhere").mkdir()
        (ours / "photos").rename(tmp_path / "photos")
        (ours / "photos").symlink_to(tmp_path / "elsewhere")
        with pytest.raises(ArchiveError, match="leads outside"):
            reader_copy.merge(register, back, "Aki", photos=ours)
        assert list((tmp_path / "elsewhere").iterdir()) == []


# -- worksheet ----------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("language", ["en", "ja"])
def test_the_worksheet_shows_crops_and_no_guess(ours, tmp_path, language):
    def crop(zone):
        stream = io.BytesIO()
        Image.new("L", (10, 10)).save(stream, "JPEG")
        return stream.getvalue() if zone.id == "z1" else None

    with Register.open(ours) as register:
        register.save(dataclasses.replace(register.get("p"), title="<script>tray"), reader="Aki")
        path = worksheet.write(register.contents(), tmp_path / "sheet.html", crop, language=language)
    text = path.read_text(encoding="utf-8")
    assert text.count("data:image/jpeg;base64,") == 1
    assert text.count("class='sign'") == 2
    assert "size: A4" in text
    assert "<script" not in text
    assert "き" not in text.split("<section>")[1]
    assert "http:" not in text


def test_worksheet_faults(ours, tmp_path):
    with Register.open(ours) as register:
        contents = register.contents()
        with pytest.raises(OptionError, match="Known: en, ja"):
            worksheet.write(contents, tmp_path / "x.html", language="jp")
        with pytest.raises(RegisterError, match="no inscription"):
            worksheet.write(contents, tmp_path / "x.html", inscriptions=("other",))
        with pytest.raises(RegisterError, match="character 1 is no image"):
            worksheet.write(contents, tmp_path / "x.html", lambda zone: b"<svg onload=...>")


def test_notes_of_a_colleague_are_shown_as_text(ours, tmp_path):
    with Register.open(ours) as register:
        reader_copy.receive(reader_copy.write(register, tmp_path / "c.zip"), tmp_path / "theirs")
        with Register.open(tmp_path / "theirs") as other:
            other.save(dataclasses.replace(other.get("c1"), note="<img onerror=x>"), reader="<b>")
            other.save(Note("c1", "x"), reader="Bun")
            back = reader_copy.write(other, tmp_path / "b.zip")
        register.save(dataclasses.replace(register.get("c1"), note="mine"), reader="Aki")
        assert "<img" not in reader_copy.merge(register, back, "Aki")._repr_html_()
