"""What panels tell is what the types of ``widgets.states`` say, and the browser's file of them is written from these.

Outside: the types are read by Python's own ``typing``, the browser's side by TypeScript's checker (tests/javascript).
"""

from __future__ import annotations

import types
import typing

import pytest

from readaid.piece.open_piece import OpenPiece
from readaid.widgets import album, states
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk
from tests.javascript import message_types
from tests.widgets.made import ask
from tests.widgets.test_album_panel import bring


def unlike(value, kind, where="") -> list[str]:
    """Where a value is not of a type, down into lists, pairs and records."""
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if kind is typing.Any:
        return []
    if origin is typing.NotRequired:
        return unlike(value, inside[0], where)
    if origin in (types.UnionType, typing.Union):
        found = [unlike(value, one, where) for one in inside]
        return [] if not all(found) else min(found, key=len)
    if typing.is_typeddict(kind):
        fields = typing.get_type_hints(kind, include_extras=True)
        if not isinstance(value, dict):
            return [f"{where}: {value!r} is no {kind.__name__}"]
        gone = [f"{where}.{k} is not there" for k, its in fields.items()
                if k not in value and typing.get_origin(its) is not typing.NotRequired]
        new = [f"{where}.{k} has no type" for k in set(value) - set(fields)]
        return gone + new + [x for k in set(value) & set(fields) for x in unlike(value[k], fields[k], f"{where}.{k}")]
    if origin is list and isinstance(value, list | tuple):
        return [x for one in value for x in unlike(one, inside[0], f"{where}[]")]
    if origin is tuple and isinstance(value, list | tuple) and len(value) == len(inside):
        return [x for one, its in zip(value, inside, strict=True) for x in unlike(one, its, f"{where}()")]
    if origin is dict and isinstance(value, dict):
        return [x for one in value.values() for x in unlike(one, inside[1], f"{where}{{}}")]
    plain = {float: (int, float)}.get(kind, kind)
    right = origin is None and isinstance(value, plain) and (kind is bool or not isinstance(value, bool))
    return [] if right else [f"{where}: {value!r} is no {kind}"]


def told(panel) -> list[str]:
    kind = next(k for k in states.STATES if k.__name__ == f"{type(panel).__name__}State")
    return unlike(panel.state, kind, kind.__name__)


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
    assert unlike(right, states.Busy) == []
    assert unlike({**right, "share": "half"}, states.Busy)
    assert unlike({"label": "x", "share": 1}, states.Busy) == [".stoppable is not there"]
    assert unlike({**right, "more": 1}, states.Busy) == [".more has no type"]


def test_the_browser_knows_the_same_states():
    assert message_types.OF_STATES.read_text(encoding="utf-8") == message_types.made_states(), (
        "states changed: python -m tests.javascript.message_types, then mend the types")
