"""What panels tell is what the types of ``widgets.states`` say, and the browser's files of them are written from these.

Outside: the types are read by Python's own ``typing``, the browser's side by TypeScript's checker (tests/javascript).
"""

from __future__ import annotations

import typing

import pytest

from readaid.piece.open_piece import OpenPiece
from readaid.widgets import album, board_states, states
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel
from tests.javascript import message_types
from tests.widgets import held_to_types
from tests.widgets.held_to_types import told, unlike
from tests.widgets.made import ask
from tests.widgets.test_album_panel import bring


@pytest.mark.parametrize("stage", ["photographs", "marks", "reading", "school", "report"])
def test_what_the_bench_tells_is_of_its_types(folder, stage):
    with OpenPiece(folder) as piece:
        bench = Bench(Desk(piece), stage)
        assert {x for p in bench.panels for x in told(p)} == set()
        bench.desk.choose(inscription=piece.contents.inscriptions[0].id)
        bench.desk.choose(character=bench.desk.ordered()[0].id)
        bench.trace()
        assert [x for p in bench.panels for x in told(p)] == []


def test_what_nothing_tells_is_of_its_types(tmp_path):
    with OpenPiece.new(tmp_path / "piece", reader="r", title="t") as piece:
        bench = Bench(Desk(piece))
        for stage in ("school", "report"):
            bench.go(stage)
        assert [x for p in bench.panels for x in told(p)] == []


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


def test_a_state_told_in_any_test_is_looked_at(empty):
    board = Bench(Desk(empty)).held["board"]
    board.state = {**board.state, "zone": []}
    board.send({"type": "gone"})
    assert [x.partition(":")[0] for x in held_to_types.WRONG] == ["PhotoBoardState.zone has no type",
                                                                  "message {'type'"]
    held_to_types.WRONG.clear()


def test_every_panel_has_a_type_for_its_state():
    Bench, album  # noqa: B018 - their modules are in, and with them every panel
    ours = {k.__name__ for k in Panel.__subclasses__() if k.__module__.startswith("readaid.")}
    assert ours <= set(states.STATES)


@pytest.mark.parametrize("path", sorted(message_types.made_states()), ids=lambda p: p.name)
def test_the_browser_knows_the_same_states(path):
    assert path.read_text(encoding="utf-8") == message_types.made_states()[path], (
        "states changed: python -m tests.javascript.message_types, then mend the types")


def kinds() -> set[str]:
    """Every kind of row and state that a module of states holds."""
    return {k.__name__ for m in states.MODULES for k in vars(m).values() if typing.is_typeddict(k)}


#: Rows that one piece does not come to show; tests of their own tell them, and each is held against its type there.
ELSEWHERE = {"AlbumForm", "AlbumPanelState", "Box", "ChineseLine", "Correction", "MergedCopy", "Question", "RulerOffer",
             "TracedSide"}


def fill(bench: Bench) -> None:
    """Do on a bench what makes every other kind of row."""
    desk, held, contents = bench.desk, bench.held, bench.desk.contents
    desk.choose(inscription=contents.inscriptions[0].id)
    desk.choose(character=desk.ordered()[0].id)
    for panel, do, args in (
        ("sign", "by_sound", {"sound": "か"}), ("sign", "shape", {}), ("sign", "learn", {}),
        ("board", "pin", {"point": [5, 5], "text": "a scratch"}), ("line", "own", {"text": "ふるいけや"}),
        ("log", "turn", {"open": True}), ("register", "open", {"id": contents.attempts[0].id}),
        ("piece", "source", {"kind": "box inscription", "citation": "lid"}), ("piece", "note", {"text": "heavy"}),
        ("report", "layer", {"kind": "lacquer", "text": "brown"}), ("school", "compare_all", {}),
    ):
        ask(held[panel], do, **args)


def test_every_kind_of_row_is_met(folder):
    """A kind that nothing tells would be a promise that no test holds."""
    held_to_types.SEEN.clear()
    with OpenPiece(folder) as piece:
        bench = Bench(Desk(piece), "report")
        bench.go("school")
        bench.trace()
        fill(bench)
    assert kinds() - held_to_types.SEEN <= ELSEWHERE <= kinds()
