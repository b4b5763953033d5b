"""The log on the bench, notes pinned to the photograph, and two readings beside each other."""

import math

import pytest

from readaid.core.character import Candidate, Character
from readaid.core.errors import OptionError
from readaid.core.reading import Reading
from readaid.widgets.desk import Desk
from readaid.widgets.log_panel import LogPanel
from readaid.widgets.photo_board import PhotoBoard
from readaid.widgets.readings_beside import beside, next_photograph


def test_the_log_reads_nothing_while_closed_and_leads_back_when_open(piece):
    desk = Desk(piece)
    log = LogPanel(desk)
    assert log.state["lines"] == []
    sign = desk.ordered()[0]
    desk.gesture("candidate", lambda: piece.decipherment.tag(sign, "お", 0.8))
    log._dispatch("turn", {"open": True})
    before = next(line for line in log.state["lines"][1:] if line["stands"])
    assert log.state["lines"][0]["words"] == "sign 1: お, probable"
    assert before["back"]
    log._dispatch("back", {"gesture": before["id"]})
    assert log.state["lines"][0]["words"].startswith("Taken back: sign 1: お")
    assert desk.undo_words == "back to an earlier state"
    assert all(c.character != "お" for c in desk.ordered()[0].candidates)


def test_a_pinned_note_is_kept_in_the_files_own_pixels_and_shown_where_it_was_put(piece):
    desk = Desk(piece)
    board = PhotoBoard(desk)
    board._dispatch("pin", {"point": [120.0, 80.0], "text": "a burr", "private": True})
    shown = board.state["notes"]
    assert [(n["text"], n["private"], n["x"], n["y"]) for n in shown] == [("a burr", True, 120.0, 80.0)]
    board._dispatch("about", {"name": "mirrored", "value": True})
    width = board.state["width"]
    assert board.state["notes"][0]["x"] == pytest.approx(width - 120.0)
    board._dispatch("pin", {"point": [30.0, 60.0], "text": "a scratch"})  # while the picture is turned over
    assert piece.contents.notes[-1].place == (width - 30.0, 60.0), "in the file's own pixels"
    assert (board.state["notes"][1]["x"], board.state["notes"][1]["y"]) == (30.0, 60.0)
    board._dispatch("unpin", {"note": board.state["notes"][1]["id"]})
    board._dispatch("unpin", {"note": shown[0]["id"]})
    assert board.state["notes"] == []
    with pytest.raises(OptionError, match="says nothing"):
        board._dispatch("pin", {"point": [1.0, 1.0], "text": "  "})


def reading(chosen, **costs):
    text = "".join(chosen)
    return Reading(written=text, kana="", normal="", modern="", romaji="", lines=(text,), morae=(), probability=0.5,
                   reasons=(), chosen=tuple(chosen), cost=sum(costs.values()), costs=tuple(costs.items()))


def test_causes_are_told_in_one_unit_and_their_product_is_the_whole():
    signs = [Character(candidates=(Candidate("お", 0.8), Candidate("を", 0.5))),
             Character(candidates=(Candidate("と", 0.97),))]
    a = reading("おと", signs=0.0, verse=700.0 * math.log(2))
    b = reading("をと", signs=700.0 * math.log(6), verse=0.0)
    found = beside(a, b, signs)
    assert ["your sureness of the signs", "6.0 times", "a"] in found["rows"]
    assert ["the ear of old verse", "2.0 times", "b"] in found["rows"]
    assert found["rows"][-1] == ["all together", "3.0 times", "a"]
    assert found["signs"] == [["1", "お probable", "を unsure"]]


def test_what_to_photograph_next_names_the_signs_and_the_light_that_lacks():
    advice = ["front: no scale. Lay one.", "front: no light from right. A cut that runs along the light does not show."]
    assert next_photograph(["7"], advice) == (
        "Look again at sign 7: there the two part. front: no light from right. A cut that runs along the light does not"
        " show.")
    assert "only the language" in next_photograph([], advice)
