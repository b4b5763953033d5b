"""The report's place: the entry of each inscription, the condition, and what is proposed but never saved unasked."""

import pytest

from readaid.core import texts
from readaid.core.entry import Entry
from readaid.piece import allotment
from readaid.widgets.desk import Desk
from readaid.widgets.photo_board import PhotoBoard
from readaid.widgets.report_panel import ReportPanel
from tests.widgets.made import ask, errors


@pytest.fixture
def panel(piece):
    return ReportPanel(Desk(piece))


def field(panel, name, at=0):
    return next(f for f in panel.state["entries"][at]["fields"] if f["name"] == name)


def test_a_field_of_an_entry_is_written_from_a_line_of_text(panel):
    id = panel.state["entries"][0]["id"]
    ask(panel, "entry", id=id, name="translations", text="Soot swept | en | Tani\nRuß | de")
    entry = panel.desk.contents.entry(id)
    assert [(t.text, t.language, t.translator) for t in entry.translations] == [
        ("Soot swept", "en", "Tani"), ("Ruß", "de", "")]
    assert field(panel, "translations")["value"] == "Soot swept | en | Tani\nRuß | de"
    assert "That is no length (wide)" in errors(ask(panel, "entry", id=id, name="tool_width", text="wide"))[0]
    assert panel.desk.piece.undo()
    assert [t.translator for t in panel.desk.contents.entry(id).translations] == ["Demo reader"], "the demo's own"


def test_a_proposal_is_offered_and_saved_only_when_taken(panel, monkeypatch):
    id = panel.state["entries"][0]["id"]
    monkeypatch.setattr("readaid.piece.write_up.WriteUp.propose",
                        lambda self, inscription: Entry(inscription, romanised="susu", season=("煤払い (winter)",)))
    before = panel.desk.piece.version
    ask(panel, "propose", id=id)
    assert field(panel, "romanised")["offer"] == "susu"
    assert panel.desk.piece.version == before
    ask(panel, "entry", id=id, name="romanised", text=field(panel, "romanised")["offer"])
    assert panel.desk.contents.entry(id).romanised == "susu"
    assert field(panel, "romanised")["offer"] == "", "what is written is no longer offered"


def test_the_report_is_in_the_language_of_the_screen_until_another_is_chosen(panel):
    try:
        texts.speak("ja")
        panel.speak()
        assert panel.state["language"] == "ja"
        ask(panel, "set", name="language", value="en")
        panel.speak()
        assert panel.state["language"] == "en"
    finally:
        texts.speak("en")


def test_writing_can_be_stopped_and_then_done(panel, monkeypatch):
    before = panel.desk.piece.report
    target = panel.desk.piece.folder / "exports" / "report.md"
    with monkeypatch.context() as patched:
        patched.setattr(type(panel.desk.piece), "report",
                        lambda self, **kept: (panel.work.do_stop(), before(**kept))[1])
        ask(panel, "set", name="format", value="markdown")
        sent = ask(panel, "write")
    assert [m["say"] for m, _ in sent if "say" in m] == ["Stopped; nothing was changed."]
    assert not target.exists()
    assert panel.state["busy"] is None
    (written,) = [m for m, _ in ask(panel, "write") if m.get("type") == "report"]
    assert written["path"] == str(target)
    assert target.is_file()


def test_a_zone_said_to_be_damage_becomes_a_region_to_describe(panel):
    desk = panel.desk
    desk.piece.survey.remove(desk.contents.regions[0])  # the demo's own
    for layer in desk.contents.layers:
        desk.piece.save(withdraw=[layer.id])
    zone = desk.contents.zones[0]
    allotment.allot(desk.piece, [zone.id], "damage")
    panel.refresh()
    (row,) = panel.state["regions"]
    assert (row["cause"], row["advice"]) == ("not known", "leave alone")
    assert zone.id not in {z.id for z in desk.contents.zones}
    assert desk.contents.regions[0].outline == zone.outline
    ask(panel, "region", id=row["id"], name="cause", text="corrosion")
    ask(panel, "layer", kind="patina", text="brown")
    assert desk.contents.regions[0].cause == "corrosion"
    assert panel.state["layers"] == ["patina: brown"]
    assert "did you mean" in errors(ask(panel, "region", id=row["id"], name="cause", text="corosion"))[0]
    desk.choose(photo=zone.photo)
    board = PhotoBoard(desk)
    assert board.state["regions"][0]["words"] == "corrosion: leave alone"
    assert len(board.state["regions"][0]["outline"]) == len(zone.outline)
    ask(panel, "unmark", id=row["id"])
    assert panel.state["regions"] == []


def test_the_entry_alone_is_written(panel):
    ask(panel, "set", name="part", value="entry")
    ask(panel, "write")
    text = panel.written.read_text(encoding="utf-8")
    assert 'class="part entry"' in text
    assert 'class="part evidence"' not in text
