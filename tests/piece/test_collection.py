"""Search over many pieces and a school: by text, maker, date, place, reader, sign; on the command line too."""

import json
import shutil

import numpy as np
import pytest
from click.testing import CliRunner

import readaid
from readaid.cli import main
from readaid.core.errors import ReadaidError
from readaid.piece.collection import registers, search
from tests.schools.test_album import drawn


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """Two pieces and a school in one folder; all people invented."""
    shelf = tmp_path_factory.mktemp("shelf")
    rows = (("lid", "Mori", "蘆香", "江戸", "文政元年"), ("knife", "Aki", "鷺洲", "京都", "明和元年"))
    for name, reader, maker, place, year in rows:
        with readaid.new(shelf / name, reader=reader, title=f"A {name}") as piece:
            inscription = piece.layout.inscription("signature", None)
            piece.signers.add_person(maker, role="carver", inscription=inscription, places=(place,))
            piece.signers.keep_date(year, inscription)
            piece.decipherment.write_down(inscription, f"{maker}作", note="read under the left lamp")
    with readaid.school(shelf / "school", title="Hands", reader="Tanaka") as school:
        school.add_maker("蘆香", places=("江戸",), active_from=1800, active_to=1840)
        school.add_maker("鷺洲", places=("京都",), active_from=1750, active_to=1780)
        school.add_picture(np.asarray(drawn("Rokusen").convert("RGB")), "蘆香", year=1818, hand="chiselled")
        school.add_picture(np.asarray(drawn("Tansei").convert("RGB")), "鷺洲")
    return shelf


def told(found):
    return sorted((f.title, f.kind) for f in found.finds)


def test_all_registers_of_a_folder_are_asked(shelf):
    assert [p.rsplit("/", 1)[-1] for p in registers(shelf)] == ["knife", "lid", "school"]
    found = search(shelf, maker="蘆香")
    assert told(found) == [("A lid", "piece"), ("Hands", "person"), ("Hands", "specimen")]
    assert (found.total, found.places, found.troubles) == (3, 3, ())
    with pytest.raises(ReadaidError, match="Neither a piece nor a school"):
        search(shelf / "nothing")


@pytest.mark.parametrize(("asked", "wanted"), [
    ({"text": "left lamp"}, [("A knife", "attempt"), ("A lid", "attempt")]),
    ({"text": "left lamp", "reader": "Aki"}, [("A knife", "attempt")]),
    ({"maker": "蘆香", "reader": "Mori"}, [("A lid", "piece")]),
    ({"maker": "蘆香", "reader": "Tanaka"}, [("Hands", "person"), ("Hands", "specimen")]),
    ({"sign": "蘆"}, [("A lid", "attempt")]),
    ({"place": "京都"}, [("A knife", "piece"), ("Hands", "person"), ("Hands", "specimen")]),
    ({"dated": ("1810", "1820")}, [("A lid", "piece"), ("Hands", "specimen")]),
    ({"dated": ("1760", "1770")}, [("A knife", "piece"), ("Hands", "specimen")]),
    ({"text": "chiselled"}, [("Hands", "specimen")]),
    ({"maker": "nobody"}, []),
])
def test_each_question_finds_what_it_should(shelf, asked, wanted):
    assert told(search(shelf, **asked)) == wanted


def test_a_folder_of_pieces_may_itself_be_called_backups(shelf, tmp_path):
    place = tmp_path / "backups" / "of 2026"
    shutil.copytree(shelf / "lid", place / "lid")
    assert [p.rsplit("/", 1)[-1] for p in registers(place)] == ["lid"], "the lid's own backups are none"


@pytest.mark.parametrize("day", ["soon", "1-2-3", "1829-1", "１８２９"])
def test_what_is_no_day_is_told_whether_a_piece_or_a_school_is_asked(shelf, day):
    for place in ("lid", "school"):
        with pytest.raises(ReadaidError, match="is no day"):
            search(shelf / place, dated=(day, "1850"))


def test_what_cannot_be_opened_stops_nobody(shelf, tmp_path):
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "register.sqlite").write_bytes(b"no register")
    found = search([tmp_path, shelf], maker="蘆香")
    assert found.total == 3
    assert len(found.troubles) == 1
    assert "broken" in found.troubles[0]


def test_the_command_line_tells_the_same(shelf):
    run = CliRunner().invoke
    shown = run(main, ["search", str(shelf), "--place", "京都", "--json"])
    rows = [json.loads(line) for line in shown.stdout.splitlines()]
    assert sorted((r["title"], r["kind"]) for r in rows) == told(search(shelf, place="京都"))
    assert rows[0]["record"]
    plain = run(main, ["search", str(shelf), "--dated", "1810", "1820"])
    assert "2 found in 3 registers" in plain.output
    assert "1 found" in run(main, ["search", str(shelf / "lid"), "--place", "江戸"]).output
    refused = run(main, ["search", str(shelf), "--sound", "か"])
    assert refused.exit_code == 2
    assert "within one piece" in refused.output
    school = run(main, ["search", str(shelf / "school"), "蘆香", "--json"])
    assert {json.loads(line)["kind"] for line in school.stdout.splitlines()} == {"person", "specimen"}
