"""A piece whose register lies on a real PostgreSQL server, with a folder of pictures beside it."""

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

import readaid
from readaid.cli import main
from readaid.core.errors import ReadaidError
from readaid.core.photo import rectangle
from tests.stores import empty_server, postgres, postgres_control

__all__ = ["empty_server", "postgres", "postgres_control"]


def test_two_readers_work_on_a_piece_on_a_server(empty_server, tmp_path):
    page = np.full((200, 200, 3), 235, np.uint8)
    page[95:105, 30:170] = 30
    Image.fromarray(page).save(tmp_path / "lid.png")
    pictures = tmp_path / "pictures"
    with readaid.new(empty_server, reader="Mori", photos=pictures, title="Lid") as mine:
        photo = mine.add_photo(tmp_path / "lid.png")
        inscription = mine.layout.inscription("signature", photo)
        zone, _ = mine.layout.draw(inscription, photo, rectangle(20, 60, 160, 80))
        with readaid.open(empty_server, reader="Aki", photos=pictures) as theirs:
            assert theirs.piece.title == "Lid"
            assert theirs.crop(zone.id).shape[:2] == mine.crop(zone.id).shape[:2]
            person = theirs.signers.add_person("霜野鷺洲")
        assert person.name in [p.name for p in mine.contents.persons]
        mine.signers.add_specimen(zone, person=person.id)
        report = mine.report()
        assert report.is_relative_to(pictures)
        assert "霜野鷺洲" in report.read_text(encoding="utf-8")
    assert (pictures / "photos").is_dir()
    assert not (pictures / "register.sqlite").exists()
    with readaid.open(empty_server, read_only=True, photos=pictures) as looked:
        assert len(looked.contents.specimens) == 1
    with pytest.raises(ReadaidError, match="already"):
        readaid.new(empty_server, photos=tmp_path / "other")
    with readaid.school(tmp_path / "school", title="Hands") as school, \
            readaid.open(empty_server, read_only=True, photos=pictures) as piece:
        assert len(school.add_piece(piece)) == 1


def test_the_command_line_takes_an_address(empty_server, tmp_path):
    run, pictures = CliRunner().invoke, str(tmp_path / "pictures")
    made = run(main, ["new", empty_server, "--title", "Lid", "--pictures", pictures])
    assert made.exit_code == 0, made.output
    told = run(main, ["report", empty_server, "--pictures", pictures, "--format", "markdown"])
    assert told.exit_code == 0, told.output
    assert "Lid" in next((tmp_path / "pictures" / "exports").glob("*.md")).read_text(encoding="utf-8")
    assert "1 found in 1 registers" in run(main, ["search", empty_server, "Lid"]).output
    lacking = run(main, ["report", empty_server])
    assert lacking.exit_code == 2
    assert "folder of pictures" in lacking.output


def test_what_is_missing_is_told(empty_server, tmp_path):
    with pytest.raises(ReadaidError, match=r"photos=FOLDER"):
        readaid.open(empty_server)
    with pytest.raises(ReadaidError, match="No piece is kept in this register"):
        readaid.open(empty_server, photos=tmp_path)
    with pytest.raises(ReadaidError, match="holds its own photos"):
        readaid.open(tmp_path, photos=tmp_path)
