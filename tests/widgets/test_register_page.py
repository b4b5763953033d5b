"""Register, piece, report and sharing panels without a browser."""

from __future__ import annotations

import dataclasses
import zipfile

import pytest

from readaid.core.attempt import Attempt
from readaid.core.piece import Piece
from readaid.piece.open_piece import OpenPiece
from readaid.widgets import register_pages
from readaid.widgets.desk import Desk
from readaid.widgets.piece_panel import FIELDS, PiecePanel
from readaid.widgets.register_panel import RegisterPanel
from readaid.widgets.report_panel import ReportPanel
from readaid.widgets.sharing_panel import SharingPanel
from tests.widgets.made import ask, errors


def many(piece: OpenPiece, n: int) -> None:
    target = piece.contents.inscriptions[0].id
    piece.save(
        *(
            Attempt(
                target,
                f"ひ{i}",
                kana=f"ひ{i}",
                confidence=(i % 10) / 10,
                evidence=f"look {i:03}",
                made=f"2026-01-01T00:{i // 60:02}:{i % 60:02}+00:00",
            )
            for i in range(n)
        )
    )


def test_pages_of_twenty_newest_first(piece):
    many(piece, 45)
    p = RegisterPanel(Desk(piece))
    assert p.state["total"] == 47
    assert len(p.state["rows"]) == 20
    ask(p, "page", by=1)
    ask(p, "page", by=1)
    assert (p.state["start"], len(p.state["rows"])) == (40, 7)
    ask(p, "page", by=1)
    assert p.state["start"] == 40, "no page behind the last"


def test_find_and_filter(piece):
    many(piece, 45)
    p = RegisterPanel(Desk(piece))
    ask(p, "query", text="look 044")
    assert p.state["total"] == 1
    ask(p, "query", text="")
    ask(p, "status_filter", status="preferred")
    assert p.state["total"] == 1


def test_sorting_by_confidence_both_ways(piece):
    many(piece, 12)
    p = RegisterPanel(Desk(piece))
    column = [c["name"] for c in p.state["columns"]].index("confidence")
    ask(p, "sort", column="confidence")
    shown = [float(r["cells"][column].split()[-1]) for r in p.state["rows"]]
    assert shown == sorted(shown)
    ask(p, "sort", column="confidence")
    shown = [float(r["cells"][column].split()[-1]) for r in p.state["rows"]]
    assert shown == sorted(shown, reverse=True)


def test_history_and_change_of_status(piece):
    p = RegisterPanel(Desk(piece))
    attempt = next(a for a in piece.contents.attempts if a.status == "preferred")
    ask(p, "open", id=attempt.id)
    ask(p, "change", id=attempt.id, status="settled", confidence=0.97, reason="読み会で決定")
    top = p.state["detail"]["history"][0]
    assert top["reason"] == "読み会で決定"
    assert "status: preferred → settled" in top["what"]
    assert "how sure: 0.8 → 0.97" in top["what"]
    assert p.state["detail"]["history"][-1]["what"] == "entered"


def test_as_it_stood_before_anything_was_done(piece):
    p = RegisterPanel(Desk(piece))
    ask(p, "as_of", day="2001-01-01")
    assert p.state["total"] == 0
    ask(p, "as_of", day="")
    assert p.state["total"] == 2


@pytest.mark.parametrize("kind", sorted(register_pages.TABLES))
def test_every_table_shows(piece, kind):
    p = RegisterPanel(Desk(piece))
    assert errors(ask(p, "kind", kind=kind)) == []
    assert p.state["rows"]
    assert errors(ask(p, "open", id=p.state["rows"][0]["id"])) == []
    assert p.state["detail"]["history"]


def test_every_field_of_a_piece_can_be_entered():
    covered = {name for name, _, _ in FIELDS} | {"id", "sensitive"} | {"period"}  # the period stands beside the dates
    assert covered == {f.name for f in dataclasses.fields(Piece)}


def test_the_piece_is_described(piece):
    p = PiecePanel(Desk(piece))
    ask(p, "describe", name="width", text="62,5 mm")
    ask(p, "describe", name="material", text="赤銅")
    ask(p, "sensitive", name="lacquer")
    assert (piece.piece.width, piece.piece.material) == (62.5, "赤銅")
    assert "lacquer" in piece.piece.sensitive
    ask(p, "sensitive", name="lacquer")
    assert "lacquer" not in piece.piece.sensitive
    assert "no length" in errors(ask(p, "describe", name="height", text="tall"))[0]
    assert "no weight" in errors(ask(p, "describe", name="weight", text="3 mm"))[0]
    assert "needs a name" in errors(ask(p, "describe", name="title", text=" "))[0]
    ask(p, "source", kind="certificate", citation="invented certificate")
    ask(p, "note", text="箱蓋裏に貼紙")
    ask(p, "photo", id=piece.contents.photos[0].id, name="rights", text="© R")
    ask(p, "place", id=piece.contents.inscriptions[0].id, name="place", text="左下")
    c = piece.contents
    assert c.sources[-1].citation == "invented certificate"
    assert c.notes[-1].text == "箱蓋裏に貼紙"
    assert (c.photos[0].rights, c.inscriptions[0].place) == ("© R", "左下")


def test_what_an_inscription_is_can_be_put_right(piece):
    """Zones proposed before anything was said make a verse; a colophon is none."""
    p = PiecePanel(Desk(piece))
    target = piece.contents.inscriptions[0]
    ask(p, "place", id=target.id, name="kind", text="prose")
    changed = next(i for i in piece.contents.inscriptions if i.id == target.id)
    assert (changed.kind.value, changed.columns) == ("prose", target.columns)
    assert p.state["inscriptions"][0]["kind"] == "prose"


def test_measures_as_they_are_written(piece):
    """One sun is 10/33 of a tenth of a metre, one momme 3.75 g (law of 1891); what is rubbed out is not stated."""
    p = PiecePanel(Desk(piece))
    for name, text, value in (("width", "1,5", 1.5), ("width", "12mm", 12.0), ("width", "3 寸", 3000 / 33),
                              ("weight", "38.5 g", 38.5), ("weight", "2 匁", 7.5), ("width", " ", None)):
        ask(p, "describe", name=name, text=text)
        assert getattr(piece.piece, name) == (pytest.approx(value) if value else value), text


@pytest.mark.parametrize("format", ["html", "csv"])
def test_a_report_is_written_and_handed_over(piece, format):
    p = ReportPanel(Desk(piece))
    ask(p, "set", name="format", value=format)
    sent = ask(p, "write")
    message, buffers = next((m, b) for m, b in sent if m.get("type") == "report")
    assert p.written is not None
    assert buffers[0] == p.written.read_bytes()
    assert message["path"].startswith(str(piece.folder))
    assert "study collection" not in buffers[0].decode("utf-8"), "where it is kept is left out"


def test_blind_copy_worksheet_check_and_archive(piece):
    p = SharingPanel(Desk(piece))
    sent = ask(p, "copy", blind=True)
    name = next(m["path"] for m, _ in sent if m.get("type") == "file")
    with zipfile.ZipFile(name) as copy:
        held = b"".join(copy.read(n) for n in copy.namelist() if not n.startswith("photos/"))
    assert "すすはらひ".encode() not in held
    assert any(m.get("type") == "file" for m, _ in ask(p, "worksheet"))
    assert any(m.get("type") == "file" for m, _ in ask(p, "archive"))
    ask(p, "check")
    assert p.state["checked"] == []


def test_a_copy_comes_back_with_its_changes(piece, tmp_path):
    desk = Desk(piece)
    p = SharingPanel(desk)
    path = piece.custody.copy(tmp_path / "copy.zip")
    data = path.read_bytes()
    ask(p, "receive", [data], id="c", name="copy.zip", at=0, of=1)
    assert "0 changes" in p.state["merged"]["words"]
    assert p.state["merged"]["conflicts"] == []
    assert errors(ask(p, "receive", [b"no zip"], id="d", name="bad.zip", at=0, of=1))


def test_agreement_and_calibration_say_when_there_is_nothing(piece):
    p = SharingPanel(Desk(piece))
    ask(p, "agreement")
    assert "no two readers" in p.state["agreement"][0]
    ask(p, "calibration")


def test_an_entry_is_told_in_words_not_in_field_names(piece):
    p = RegisterPanel(Desk(piece))
    attempt = next(a for a in piece.contents.attempts if a.status == "preferred")
    ask(p, "open", id=attempt.id)
    facts = dict(p.state["detail"]["facts"])
    assert facts["probability among the readings"].endswith("%")
    assert facts["departures"].splitlines() == list(dict.fromkeys(attempt.reasons))
    assert not {"written", "kana", "made", "probability", "inscription", "chosen"} & set(facts)
