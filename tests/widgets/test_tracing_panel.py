"""The tracing panel without a browser: strokes in millimetres from the zone's corner, there and back."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

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


def test_an_empty_sheet_takes_what_was_kept_away(panel, piece):
    ask(panel, "propose")
    ask(panel, "keep", strokes=panel.state["strokes"], mine=False)
    ask(panel, "keep", strokes=[[[10, 10], [30, 30]]], mine=True)
    assert (panel.state["kept"], len(piece.contents.tracings)) == (2, 2)
    ask(panel, "keep", strokes=[], mine=True)
    assert piece.contents.tracings == ()
    assert panel.state["strokes"] == []
    assert panel.desk.undo() == "tracing taken away"
    assert len(piece.contents.tracings) == 2, "both come back"


def test_a_tracing_of_one_dot_is_kept(panel, piece):
    ask(panel, "keep", strokes=[[[12.0, 15.0]]], mine=True)
    assert len(piece.contents.tracings[0].strokes[0]) == 1
    assert [len(s) for s in panel.state["strokes"]] == [1]
    assert "no number" in errors(ask(panel, "keep", strokes=[[[float("nan"), 1.0]]]))[0]


def test_another_photograph_lies_under_the_strokes_where_they_belong(panel, piece):
    """The photograph under the top lamp, turned by a quarter and laid over, lies under the sheet as it was taken."""
    first, top = (next(p for p in piece.contents.photos if p.title == t) for t in ("verse_left", "verse_top"))
    pixels = np.asarray(Image.open(piece.path(top)))
    path = piece.folder.parent / "quarter.png"
    Image.fromarray(np.rot90(pixels, -1)).save(path)
    quarter = piece.add_photo(path, surface="front")
    back = np.linalg.inv(np.array([[0, -1, pixels.shape[0]], [1, 0, 0], [0, 0, 1.0]]))
    piece.change(quarter, to_reference=tuple(back.ravel()), reference=first.id)
    panel.desk.changed()
    plain, size = panel.crop, (panel.state["width"], panel.state["height"])
    ask(panel, "look", photo=quarter.id)
    under = np.asarray(Image.open(io.BytesIO(panel.crop)), float)
    zone = piece.find(Zone, panel.state["zone"])
    expected = piece.pyramid(top).crop(zone.box, 0.15).astype(float)
    assert under.shape == expected.shape
    assert (under.shape[1], under.shape[0]) == size
    assert np.abs(under - expected).mean() < 3
    assert panel.crop != plain
    ask(panel, "propose")
    assert panel.state["strokes"]
    ask(panel, "keep", strokes=panel.state["strokes"], mine=True)
    assert piece.contents.tracings[0].note == "over quarter"
    assert "mirrored" not in dict(panel.state["look"]["views"])
    assert "cannot lie" not in "".join(errors(ask(panel, "look", view="fine cut")))
    assert "Unknown view" in errors(ask(panel, "look", view="x"))[0]
