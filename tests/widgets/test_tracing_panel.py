"""The tracing panel without a browser: strokes in millimetres from the zone's corner, there and back."""

from __future__ import annotations

import pytest

from readaid.core.photo import Zone
from readaid.widgets.desk import Desk
from readaid.widgets.tracing_panel import TracingPanel
from tests.widgets.made import ask, errors


@pytest.fixture
def panel(piece):
    desk = Desk(piece)
    desk.step(1)
    return TracingPanel(desk)


def test_kept_in_millimetres_from_the_zone_s_corner(panel, piece):
    """26 pixels are one millimetre on the demo photographs (their own rule)."""
    zone = piece.find(Zone, panel.state["zone"])
    x, y, w, h = zone.box
    left, top = int(x - 0.15 * w), int(y - 0.15 * h)
    corner = [x - left, y - top]
    ask(panel, "keep", strokes=[[corner, [corner[0] + 26, corner[1] + 52]]], mine=True)
    (kept,) = piece.contents.tracings
    assert (kept.unit, kept.by) == ("mm", "reader")
    (a, b) = kept.strokes[0]
    assert (b[0] - a[0], b[1] - a[1]) == pytest.approx((1.0, 2.0), abs=0.01)
    assert a == pytest.approx((0, 0), abs=0.05)
    shown = panel.state["strokes"][0]
    assert shown[0] == pytest.approx(tuple(corner), abs=1)
    assert shown[1] == pytest.approx((corner[0] + 26, corner[1] + 52), abs=1)


def test_proposed_strokes_are_kept_only_when_the_reader_says_so(panel, piece):
    ask(panel, "propose")
    assert panel.state["strokes"]
    assert piece.contents.tracings == ()
    ask(panel, "keep", strokes=panel.state["strokes"], mine=False)
    assert [x.by for x in piece.contents.tracings] == ["skeleton"]
    ask(panel, "keep", strokes=panel.state["strokes"][:1], mine=True)
    assert {x.by for x in piece.contents.tracings} == {"skeleton", "reader"}
    ask(panel, "keep", strokes=panel.state["strokes"], mine=True)
    assert len(piece.contents.tracings) == 2, "a new tracing by the same hand is a new revision of it"


def test_nothing_to_keep_and_nothing_chosen(panel, empty):
    assert "nothing to keep" in errors(ask(panel, "keep", strokes=[]))[0]
    bare = TracingPanel(Desk(empty))
    assert "No sign is chosen" in errors(ask(bare, "propose"))[0]
