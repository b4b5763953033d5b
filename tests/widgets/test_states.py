"""What panels tell is what the types of ``widgets.states`` say, and the browser's file of them is written from these.

Outside: the types are read by Python's own ``typing``, the browser's side by TypeScript's checker (tests/javascript).
"""

from __future__ import annotations

import typing

import pytest

from readaid.piece.open_piece import OpenPiece
from readaid.widgets import album, board_states, states
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk
from tests.javascript import message_types
from tests.widgets.held_to_types import SEEN, told, unlike
from tests.widgets.made import ask
from tests.widgets.test_album_panel import bring


@pytest.mark.parametrize("stage", ["marks", "report"])
def test_what_the_bench_tells_is_of_its_types(folder, stage):
    with OpenPiece(folder) as piece:
        bench = Bench(Desk(piece), stage)
        panels = [p for n, p in bench.held.items() if n in ("board", "sheet", "sign", "line", "piece")]
        assert len(panels) == (5 if stage == "report" else 4)
        assert [x for p in panels for x in told(p)] == []
        bench.desk.choose(inscription=piece.contents.inscriptions[0].id)
        bench.desk.choose(character=bench.desk.ordered()[0].id)
        ask(bench.held["sign"], "by_sound", sound="か")
        assert bench.held["sign"].state["found"]["rows"]
        assert [x for p in panels for x in told(p)] == []


def test_what_nothing_tells_is_of_its_types(tmp_path):
    with OpenPiece.new(tmp_path / "piece", reader="r", title="t") as piece:
        assert [x for n in ("board", "sheet", "sign", "line") for x in told(Bench(Desk(piece)).held[n])] == []


def test_what_a_school_tells_is_of_its_types(tmp_path):
    panel = album(tmp_path / "school", title="t", reader="r")
    assert told(panel) == []
    bring(panel)
    ask(panel, "compare")
    assert panel.state["figure"]
    assert told(panel) == []
    panel.school.close()


def test_the_check_sees_what_is_wrong():
    right = {"label": "x", "share": None, "stoppable": True}
    assert unlike(right, board_states.Busy) == []
    assert unlike({**right, "share": "half"}, board_states.Busy)
    assert unlike({"label": "x", "share": 1}, board_states.Busy) == [".stoppable is not there"]
    assert unlike({**right, "more": 1}, board_states.Busy) == [".more has no type"]


@pytest.mark.parametrize("path", sorted(message_types.made_states()), ids=lambda p: p.name)
def test_the_browser_knows_the_same_states(path):
    assert path.read_text(encoding="utf-8") == message_types.made_states()[path], (
        "states changed: python -m tests.javascript.message_types, then mend the types")
