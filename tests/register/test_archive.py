"""The archive and the photo hashes. Bags are judged by the ``bagit`` package and by the words of RFC 8493."""

import hashlib
import os
import shutil
import zipfile

import pytest
from PIL import Image

from readaid.core.errors import ArchiveError
from readaid.core.identity import sha256_of
from readaid.core.photo import Photo
from readaid.core.piece import Note, Piece
from readaid.register import bag, hashes
from readaid.register.book import Register


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "piece"
    (folder / "photos").mkdir(parents=True)
    Image.effect_noise((64, 48), 40).save(folder / "photos" / "菊.jpg")
    (folder / "register.sqlite-journal").touch()
    with Register.open(folder) as register:
        register.save_all([Piece("tray", id="p"), Note("p", "worn")], reader="Aki")
    (folder / "empty.txt").touch()
    return folder


@pytest.mark.parametrize("name", ["bag", "bag.zip"])
def test_a_bag_is_valid_and_comes_back(folder, tmp_path, name):
    bagit = pytest.importorskip("bagit")
    made = bag.make(folder, tmp_path / name, {"External-Identifier": "A 7\nsecond line"})
    found = bag.check(made)
    assert found.problems == ()
    assert dict(found.info)["External-Identifier"] == "A 7 second line"
    plain = made
    if name.endswith(".zip"):
        shutil.unpack_archive(made, tmp_path / "unpacked")
        plain = tmp_path / "unpacked" / "bag"
    judge = bagit.Bag(str(plain))
    assert judge.validate()
    assert judge.version_info == (1, 0)
    assert judge.info["Payload-Oxum"] == f"{found.size}.{found.files}"
    assert (plain / "bagit.txt").read_bytes() == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    told = []
    back = bag.restore(made, tmp_path / "back", say=told.append)
    with Register.open(back) as register:
        assert register.all("note")[0].text == "worn"
        assert register.check().sound
    assert (back / "photos" / "菊.jpg").read_bytes() == (folder / "photos" / "菊.jpg").read_bytes()
    assert told == ["empty.txt is left in the bag: it is neither the register nor a picture."]
    assert not (back / "empty.txt").exists()
    assert not list(tmp_path.glob("*.part*"))


def test_a_percent_sign_in_a_name(folder, tmp_path):
    """RFC 8493, 2.1.3, wants it encoded; bags of version 0.97 wrote it as it is. Both are read."""
    (folder / "100%.txt").write_text("x")
    made = bag.make(folder, tmp_path / "bag")
    manifest = made / "manifest-sha256.txt"
    assert "  data/100%25.txt\n" in manifest.read_text(encoding="utf-8")
    assert bag.check(made).valid
    (made / "tagmanifest-sha256.txt").unlink()
    _change(manifest, manifest.read_text(encoding="utf-8").replace("100%25", "100%"))
    assert bag.check(made).valid


def test_a_bag_of_the_package_is_read(folder, tmp_path):
    bagit = pytest.importorskip("bagit")
    shutil.copytree(folder, tmp_path / "theirs")
    bagit.make_bag(str(tmp_path / "theirs"), {"Contact-Name": "Aki"}, checksums=["sha512", "md5"])
    found = bag.check(tmp_path / "theirs")
    assert found.problems == ()
    assert dict(found.info)["Contact-Name"] == "Aki"


def test_a_register_in_use_goes_in_as_one_moment(folder, tmp_path):
    with Register.open(folder) as register:
        register.save(Note("p", "still open"), reader="Aki")
        bag.make(folder, tmp_path / "bag")
        register.save(Note("p", "later"), reader="Aki")
    with Register.open(bag.restore(tmp_path / "bag", tmp_path / "back")) as back:
        assert [n.text for n in back.all("note")] == ["worn", "still open"]


def _change(path, text):
    path.write_text(text, encoding="utf-8")


@pytest.mark.parametrize(("spoil", "told"), [
    (lambda b: (b / "data" / "empty.txt").write_text("x"), r"empty\.txt: not as it was"),
    (lambda b: (b / "data" / "empty.txt").unlink(), r"empty\.txt: missing"),
    (lambda b: (b / "data" / "more.txt").write_text("x"), r"more\.txt: in data/ but not in manifest-sha256"),
    (lambda b: (b / "bag-info.txt").write_text("Payload-Oxum: 1.1\n"), r"bag-info\.txt says 1\.1"),
    (lambda b: (b / "manifest-sha256.txt").unlink(), "no manifest"),
    (lambda b: (b / "bagit.txt").write_text("\ufeffBagIt-Version: 1.0\n"), r"bagit\.txt is not well formed"),
    (lambda b: (b / "data" / "link").symlink_to("/etc/passwd"), "link: a link or a device"),
    (lambda b: shutil.rmtree(b / "data"), "data/ is missing"),
    (lambda b: _change(b / "manifest-sha256.txt", "00  data/../../x\n"), "leads outside"),
    (lambda b: _change(b / "manifest-sha256.txt", "00  /etc/passwd\n"), "leads outside"),
    (lambda b: _change(b / "manifest-sha256.txt", "00  ~/x\n"), "leads outside"),
    (lambda b: _change(b / "manifest-sha256.txt", "00  bagit.txt\n"), "leads outside the bag's data"),
    (lambda b: _change(b / "manifest-sha256.txt", "no line\n"), "not a checksum and a path"),
    (lambda b: _change(b / "manifest-crc32.txt", "00  data/empty.txt\n"), "crc32 is not known"),
])
def test_what_is_wrong_with_a_bag_is_told_and_it_is_not_restored(folder, tmp_path, spoil, told):
    made = bag.make(folder, tmp_path / "bag")
    spoil(made)
    with pytest.raises(ArchiveError, match=told):
        bag.restore(made, tmp_path / "back")
    assert not (tmp_path / "back").exists()
    assert not bag.check(made).valid


def test_hostile_zips_are_refused(tmp_path):
    for name in ("../bagit.txt", "/bag/bagit.txt", "bag/../../x"):
        with zipfile.ZipFile(tmp_path / "bad.zip", "w") as archive:
            archive.writestr(name, "x")
        with pytest.raises(ArchiveError, match="leads outside"):
            bag.check(tmp_path / "bad.zip")
    with zipfile.ZipFile(tmp_path / "flat.zip", "w") as archive:
        archive.writestr("bagit.txt", "x")
    with pytest.raises(ArchiveError, match="does not hold one bag"):
        bag.check(tmp_path / "flat.zip")
    assert {p.name for p in tmp_path.iterdir()} == {"bad.zip", "flat.zip"}


def test_places_that_do_not_do(folder, tmp_path):
    made = bag.make(folder, tmp_path / "bag")
    for work, told in ((lambda: bag.make(folder, made), "exists already"),
                       (lambda: bag.make(folder, folder / "bag"), "in the folder it archives"),
                       (lambda: bag.make(tmp_path / "none", tmp_path / "b2"), "no such folder"),
                       (lambda: bag.restore(made, folder), "not empty"),
                       (lambda: bag.check(folder), "no bag")):
        with pytest.raises(ArchiveError, match=told):
            work()
    (folder / "out").symlink_to(tmp_path)
    with pytest.raises(ArchiveError, match="link leads outside"):
        bag.make(folder, tmp_path / "b3")
    (folder / "out").unlink()
    (folder / "Empty.txt").touch()
    with pytest.raises(ArchiveError, match="every system"):
        bag.make(folder, tmp_path / "b3")
    assert not list(tmp_path.glob("b3*"))


# -- photos -------------------------------------------------------------------------------------------------------
def test_photo_hashes(tmp_path):
    names = ["same.jpg", "changed.jpg", "missing.jpg", "folder.jpg"]
    for name in names[:2]:
        (tmp_path / name).write_bytes(b"x" * 3_000_000)
    (tmp_path / "folder.jpg").mkdir()
    digest = hashlib.sha256(b"x" * 3_000_000).hexdigest()
    photos = [Photo(n, digest, 1, 1) for n in [*names, "../outside.jpg"]]
    (tmp_path / "changed.jpg").write_bytes(b"y" * 3_000_000)
    steps = []
    found = hashes.check(tmp_path, photos, progress=lambda done, of: steps.append((done, of)))
    assert [str(p.state) for p in found.photos] == ["as recorded", "changed", "missing", "cannot be read",
                                                    "outside the piece folder"]
    assert len(found.troubles) == 4
    assert steps[-1] == (5, 5)
    assert "changed.jpg: changed." in found._repr_html_()


def test_the_quick_check_says_what_it_did_not_read(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(b"x" * 1000)
    photo = Photo("a.jpg", sha256_of(path), 1, 1)
    assert hashes.check(tmp_path, [photo], quick=True).photos[0].state == "as recorded", "nothing noted yet"
    assert hashes.check(tmp_path, [photo], quick=True).photos[0].state == "unchanged by size and time"
    times = path.stat()
    path.write_bytes(b"y" * 1000)
    assert hashes.check(tmp_path, [photo], quick=True).photos[0].state == "changed"
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert hashes.check(tmp_path, [photo]).photos[0].state == "changed", "the full check reads it"
    path.unlink()
    assert hashes.check(tmp_path, [photo], quick=True).photos[0].state == "missing"
