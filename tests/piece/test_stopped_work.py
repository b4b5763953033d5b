"""Work that lasts: stopped between its steps it leaves nothing, and gone on with it comes to the same end."""

import hashlib
import zipfile

import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.copies.reader_copy import receive
from readaid.core.photo import rectangle
from readaid.core.progress import counted, stretch


class Stop(Exception):
    """The reader stops."""


def stop_from(share):
    def told(done, of):
        if done / of >= share:
            raise Stop
    return told


def laid(folder):
    """Every file below a folder by its bytes, half-written ones too, but for the note of when photographs were read."""
    return {p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
            for p in folder.rglob("*") if p.is_file() and p.name != "photo-times.json"}


@pytest.fixture
def written(piece, verse, tmp_path):
    """A piece with two photographs and four signs that have guesses."""
    Image.new("RGB", (300, 200), (90, 80, 70)).save(tmp_path / "back.jpg")
    piece.add_photo(tmp_path / "back.jpg")
    for n, sign in enumerate("はるさめ"):
        _, held = piece.layout.draw(verse, piece.contents.photos[0], rectangle(300, 10 + 90 * n, 60, 80))
        piece.decipherment.tag(held, sign, 0.7)
    return piece


def theirs(piece, tmp_path):
    """A colleague's copy that comes back with a sign read, a photograph and a note."""
    place = tmp_path.parent / f"{tmp_path.name}-theirs"
    receive(piece.custody.copy(), place)
    Image.new("RGB", (120, 90), (10, 200, 70)).save(place / "more.png")
    with readaid.open(place, reader="Tani") as other:
        other.decipherment.tag(other.contents.characters[0], "ほ", 0.9)
        other.add_photo(place / "more.png")
        other.add_note(other.piece.id, "seen again")
        return other.custody.copy(place.with_name(place.name + ".zip"))


def photographs(tmp_path):
    place = tmp_path.parent / f"{tmp_path.name}-card"
    place.mkdir()
    for n in range(4):
        Image.fromarray(np.full((40, 50, 3), 40 * n, np.uint8)).save(place / f"{n}.png")
    return [place / f"{n}.png" for n in range(4)]


def merging(piece, path):
    return lambda progress: piece.custody.merge(path, progress)


def taking(piece, paths):
    return lambda progress: piece.add_photos(paths, progress)


#: What lasts, by name: made ready with a piece and a place, it is a call of ``progress``.
WORKS = {
    **{f"report {f}": lambda piece, place, f=f: lambda progress: piece.report(f, progress=progress)
       for f in ("html", "pdf", "docx")},
    "copy": lambda piece, place: lambda progress: piece.custody.copy(progress=progress),
    "worksheet": lambda piece, place: lambda progress: piece.custody.worksheet(progress=progress),
    "bag": lambda piece, place: lambda progress: piece.custody.archive(place / "bag", progress=progress),
    "bag as zip": lambda piece, place: lambda progress: piece.custody.archive(place / "bag.zip", progress=progress),
    "veiled bag": lambda piece, place: lambda progress: piece.custody.archive(place / "bag.zip", True, progress),
    "merge": lambda piece, place: merging(piece, theirs(piece, place)),
    "photographs": lambda piece, place: taking(piece, photographs(place)),
}


@pytest.mark.parametrize("name", WORKS)
def test_work_that_is_stopped_leaves_nothing(written, tmp_path, name):
    work = WORKS[name](written, tmp_path)
    before, version = laid(tmp_path), written.version
    for share in (0.4, 0.95):
        with pytest.raises(Stop):
            work(stop_from(share))
        assert laid(tmp_path) == before, "no file came or changed"
        assert written.version == version, "nothing is in the register"
    told = []
    work(lambda done, of: told.append(done / of))
    assert len(told) > 2
    assert told == sorted(told)
    assert 0 <= told[0] < 0.4
    assert told[-1] <= 1


def test_one_large_photograph_is_stopped_within_it_and_nothing_half_stays(written, tmp_path):
    large = tmp_path.parent / f"{tmp_path.name}-large.tif"
    Image.fromarray(np.arange(4_500_000, dtype=np.uint32).astype(np.uint8).reshape(1000, 1500, 3)).save(large)
    before, version = laid(tmp_path), written.version
    told = []

    def stop_at(count):
        def heard(done, of):
            told.append(done / of)
            if len(told) == count:
                raise Stop
        return heard

    shares = set()
    for count in range(2, 14):  # while its bytes are read, copied and read again
        told.clear()
        with pytest.raises(Stop):
            written.add_photos([large], stop_at(count))
        shares.add(round(told[-1], 3))
        assert laid(tmp_path) == before, "nothing half-copied stays"
        assert written.version == version
    assert len(shares) >= 11, "there is a stop at every piece of it"
    told.clear()
    assert written.add_photos([large], lambda done, of: told.append(done / of))[0].width == 1500
    assert told == sorted(told)
    assert told[-1] == 1


def test_gone_on_with_it_comes_to_the_same_end(written, tmp_path):
    merge = WORKS["merge"](written, tmp_path)
    with pytest.raises(Stop):
        merge(stop_from(0.5))
    merged = merge(lambda done, of: None)
    assert (merged.readers, merged.added > 2) == (("Tani",), True)
    assert [c.character for c in written.contents.characters[0].candidates] == ["は", "ほ"]
    assert [n.text for n in written.contents.notes] == ["seen again"]
    take = WORKS["photographs"](written, tmp_path)
    with pytest.raises(Stop):
        take(stop_from(0.5))
    assert [p.file for p in take(lambda done, of: None)] == [f"photos/{n}.png" for n in range(4)]
    gestures = {written.register.last(p.id).gesture for p in written.contents.photos[-4:]}
    assert len(gestures) == 1, "one gesture, so that one undo takes them back"
    bag = WORKS["bag as zip"](written, tmp_path)(lambda done, of: None)
    with zipfile.ZipFile(bag) as archive:
        assert sum("/data/photos/" in n for n in archive.namelist()) == 7


def test_one_photograph_that_cannot_be_read_keeps_all_out(written, tmp_path):
    paths = photographs(tmp_path)
    paths[2].write_bytes(b"no photo")
    before, version = laid(tmp_path), written.version
    with pytest.raises(readaid.core.errors.PhotoError, match=r"2\.png"):
        written.add_photos([*paths, written.path(written.contents.photos[0])])
    assert (laid(tmp_path), written.version) == (before, version)
    # A photograph that is there already stays, though it was named beside those that came to nothing.
    assert written.path(written.contents.photos[0]).is_file()


def test_a_check_that_is_stopped_notes_no_photograph_as_read(written, tmp_path):
    noted = written.folder / "backups" / "photo-times.json"
    with pytest.raises(Stop):
        written.custody.check(progress=stop_from(0.7))
    assert not noted.exists()
    assert written.custody.check().troubles == ()
    assert noted.exists()


def test_a_stretch_of_the_work_keeps_within_its_share():
    told = []
    for part in ((0, 0.25), (0.25, 1)):
        for _ in counted(range(4), stretch(lambda done, of: told.append(done / of), *part)):
            pass
    assert told == pytest.approx([0, 0.0625, 0.125, 0.1875, 0.25, 0.25, 0.4375, 0.625, 0.8125, 1], abs=0.001)


def test_a_photograph_that_the_reader_laid_into_the_folder_stays_when_taking_it_in_breaks_off(piece, tmp_path):
    """It may be the only one there is."""
    own = piece.folder / "photos" / "mine.png"
    Image.new("L", (40, 30), 90).save(own)
    (tmp_path / "cut.png").write_bytes(own.read_bytes()[:40])
    before = laid(piece.folder)
    with pytest.raises(readaid.ReadaidError):
        piece.add_photos([own, tmp_path / "cut.png"])
    with pytest.raises(Stop):
        piece.add_photos([own, own], stop_from(0.5))
    assert laid(piece.folder) == before
    assert [p.file for p in piece.add_photos([own])] == ["photos/mine.png"]
