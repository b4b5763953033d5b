"""The signature panel: ranked dates with a way to all, checks beside the parts; formulas common practice, no source."""

import pytest

import readaid
from readaid.core import texts
from readaid.core.character import Inscription, Text
from readaid.core.errors import OptionError
from readaid.core.person import Person
from readaid.widgets.desk import Desk
from readaid.widgets.reading_rows import kind_words
from readaid.widgets.signature_panel import SignaturePanel


@pytest.fixture
def panel(tmp_path):
    with readaid.new(tmp_path / "piece", reader="reader") as piece:
        piece.save(Inscription(kind=Text.SIGNATURE))
        yield SignaturePanel(Desk(piece))


def test_a_cycle_name_shows_the_period_first_and_keeps_the_rest(panel):
    panel.do_date("庚辰")
    rows = panel.state["datings"]
    near = [r for r in rows if not r["folded"]]
    assert rows[:len(near)] == near
    assert [r["range"][:4] for r in near] == ["1640", "1700", "1760", "1820", "1880"]
    assert len(rows) > 20
    assert panel.date_words == "5 dates fit from 1600 to 1912."


def test_what_was_told_of_typed_words_is_told_again_in_the_language_chosen(panel, monkeypatch):
    monkeypatch.setattr(texts, "_now", ["en"])
    panel.do_date("庚辰")
    assert panel.state["signature_words"].startswith("No signature yet")
    texts.speak("ja")
    panel.speak()
    assert panel.state["signature_words"].startswith("署名はまだありません")
    assert panel.state["date_words"].startswith("合う年は5件です")
    assert (panel.state["date_text"], len(panel.state["datings"]) > 20) == ("庚辰", True), "what was typed stays"


def test_the_pieces_period_and_the_signers_years_rank(panel):
    piece = panel.desk.piece
    panel.do_date("庚辰")
    panel.do_period("1750-1850")
    assert (piece.contents.piece.period, panel.state["period"]) == ((1750, 1850), "1750-1850")
    with pytest.raises(OptionError, match="is no period"):
        panel.do_period("about 1800")
    assert [r["range"][:4] for r in panel.state["datings"] if not r["folded"]] == ["1760", "1820"]
    piece.save(Person("蘆香", active_from=1810, active_to=1840))
    panel.do_date("庚辰")
    assert panel.state["datings"][0]["range"][:4] == "1820"


def test_what_fits_and_what_does_not_stands_beside_the_parts(panel):
    panel.do_text("江戸住 蘆香作 明治十年")
    row = panel.state["parses"][0]
    assert [p["kind"] for p in row["parts"]] == ["residence", "name", "verb", "date"]
    assert any(c.startswith("江戸 does not fit") for c in row["checks"])


def test_a_period_is_kept_with_the_piece(tmp_path):
    with readaid.new(tmp_path / "piece", reader="reader") as piece:
        assert piece.contents.piece.period == (1600, 1912)
        piece.change(piece.contents.piece, reason="period", period=(1700, 1868))
    with readaid.open(tmp_path / "piece") as piece:
        assert piece.contents.piece.period == (1700, 1868)
        assert [d.first[:4] for d in piece.signers.dates("壬申") if not d.folded] == ["1752", "1812"]


def test_the_kind_of_a_line_in_words():
    from readaid.core.line import LineKind

    assert kind_words([]) == ""
    assert kind_words([LineKind("verse", 0.97)]) == "By its signs verse (97 %)."
    assert "takes it apart" in kind_words([LineKind("date", 0.8), LineKind("signature", 0.15)])


def test_a_seal_is_never_read_but_there_are_things_to_look_for(panel):
    before = len(panel.desk.contents.attempts)
    panel.do_seal("2 1", "2.1 印")
    rows = panel.state["seal"]
    assert [r[0] for r in rows] == ["column 1, place 1", "column 1, place 2", "column 2, place 1"]
    assert all(r[2].startswith("unread") for r in rows)
    assert "印 (closes the text of seals)" in rows[2][2]
    assert len(panel.desk.contents.attempts) == before
    with pytest.raises(OptionError, match="numbers"):
        panel.do_seal("two", "")
