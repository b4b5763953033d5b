"""The opened piece: folder, photos, scale, description."""

import shutil
import subprocess
import sys

import pytest
from PIL import Image

import readaid
from readaid.core.errors import ConflictError, OptionError, PhotoError, ReadaidError, ZoneError
from readaid.core.photo import Scale
from readaid.piece import folder as places


def test_photo_is_taken_in_untouched(piece, picture):
    photo = piece.contents.photos[0]
    assert piece.path(photo).read_bytes() == picture.read_bytes()
    # coreutils' sha256sum is the outside check of the stored hash
    if shutil.which("sha256sum"):
        out = subprocess.run(["sha256sum", str(piece.path(photo))], capture_output=True, text=True, check=True)
        assert out.stdout.split()[0] == photo.sha256
    assert piece.add_photo(picture) == photo, "the same photo is not taken in twice"
    assert len(piece.contents.photos) == 1


def test_another_photo_of_the_same_name_keeps_its_own_file(piece, picture):
    other = picture.parent / "again" / picture.name
    other.parent.mkdir()
    from PIL import Image
    Image.new("RGB", (50, 40), "grey").save(other)
    assert piece.add_photo(other).file == "photos/front-2.png"


def test_changed_and_missing_photos_are_told(piece):
    assert piece.check_photos() == []
    path = piece.path(piece.contents.photos[0])
    data = path.read_bytes()
    path.write_bytes(data[:-1] + b"x")
    assert "changed" in piece.check_photos()[0]
    path.unlink()
    assert "missing" in piece.check_photos()[0]


def test_folder_moves_whole(piece, tmp_path):
    piece.describe(material="copper alloy")
    piece.close()
    moved = tmp_path / "elsewhere"
    shutil.move(piece.folder, moved)
    with readaid.open(moved) as opened:
        assert opened.piece.material == "copper alloy"
        assert opened.check_photos() == []


def test_unknown_fields_name_the_nearest(piece, tmp_path):
    with pytest.raises(OptionError, match="did you mean 'material'"):
        piece.describe(materail="iron")
    with pytest.raises(OptionError, match="did you mean 'title'"):
        readaid.new(tmp_path / "q", titel="x")
    assert not (tmp_path / "q" / "register.sqlite").exists()


def test_no_piece_there(tmp_path):
    with pytest.raises(ReadaidError, match="no such folder"):
        readaid.open(tmp_path / "nothing")
    with pytest.raises(ReadaidError, match="No piece is kept"):
        readaid.open(tmp_path)
    readaid.new(tmp_path / "twice").close()
    with pytest.raises(ReadaidError, match="already kept"):
        readaid.new(tmp_path / "twice")


def test_scale_and_its_second_length(piece):
    photo = piece.contents.photos[0]
    scaled = piece.set_scale(photo, Scale((0, 0), (300, 0), 30.0, "rule", (0, 0), (0, 220), 20.0, "width"))
    assert scaled.scale.mm_per_pixel == pytest.approx(0.1)
    assert scaled.scale.disagreement == pytest.approx(0.10)
    with pytest.raises(ZoneError, match="no length"):
        piece.set_scale(photo, Scale((5, 5), (5, 5), 30.0))


def test_photo_path_cannot_leave_the_folder(piece):
    import dataclasses
    evil = dataclasses.replace(piece.contents.photos[0], file="../../etc/passwd")
    with pytest.raises(PhotoError, match="outside the piece folder"):
        piece.path(evil)


def test_two_processes_on_one_folder(piece, verse):
    code = ("import sys, readaid\n"
            "p = readaid.open(sys.argv[1], reader='Aki')\n"
            "i = p.contents.inscriptions[0]\n"
            "for n in range(20): p.decipherment.write_down(i, f'ふるいけや{n % 10}'.replace(str(n % 10), 'あ'))\n")
    before = piece.version
    workers = [subprocess.Popen([sys.executable, "-c", code, str(piece.folder)]) for _ in range(2)]
    assert [w.wait() for w in workers] == [0, 0]
    assert len(piece.contents.attempts) == 40
    assert piece.version >= before + 40


def test_two_kernels_change_one_record(piece):
    """Different fields go together; the same field is a conflict, and the first writer's value stands."""
    with readaid.open(piece.folder, reader="Aki") as other:
        mine, theirs = piece.piece, other.piece
        other.change(theirs, material="iron")
        piece.change(mine, condition="worn")
        assert (piece.piece.material, piece.piece.condition) == ("iron", "worn")
        with pytest.raises(ConflictError, match="Somebody else"):
            piece.change(mine, material="copper")
        assert other.piece.material == "iron"
        before = piece.contents.piece
        other.describe(title="Theirs")
        import dataclasses
        with pytest.raises(ConflictError):
            piece.save(dataclasses.replace(before, title="Mine"))
        assert piece.piece.title == "Theirs"


def test_take_in_tells_a_copy_that_differs(tmp_path, picture):
    places.prepare(tmp_path / "p")
    with pytest.raises(PhotoError, match="differs from the original"):
        places.take_in(picture, tmp_path / "p", "0" * 64)
    assert list((tmp_path / "p" / "photos").iterdir()) == []


def test_a_photo_that_goes_while_the_piece_is_open(piece):
    photo = piece.contents.photos[0]
    assert piece.pyramid(photo) is piece.pyramid(photo)
    path = piece.path(photo)
    kept = path.read_bytes()
    path.unlink()
    with pytest.raises(PhotoError, match="has gone from the piece folder"):
        piece.pyramid(photo)
    Image.new("RGB", (50, 40)).save(path, "PNG")
    with pytest.raises(PhotoError, match="is not the photo that was taken in: 50 x 40"):
        piece.pyramid(photo)
    path.write_bytes(kept)
    assert piece.pyramid(photo).width == photo.width
