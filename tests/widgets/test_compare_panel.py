"""The comparison panel without a browser: parts that disagree, forms as traced, and what is kept."""

from __future__ import annotations

import pytest

from readaid.core.photo import Tracing
from readaid.forms.comparison import compare
from readaid.widgets.compare_panel import ComparePanel, disagreement
from readaid.widgets.desk import Desk
from tests.widgets.made import ask, errors


@pytest.fixture
def panel(piece):
    return ComparePanel(Desk(piece))


def test_a_headline_never_hides_parts_that_disagree():
    told = disagreement(0.98, {"outline": 0.98, "structure": 0.55, "dots": 0.11})
    assert told.startswith("Parts disagree: dots 0.11, structure 0.55.")
    assert "0.98" in told
    assert disagreement(0.98, {"outline": 0.98, "structure": 0.8, "dots": 1.0}) == ""
    assert disagreement(0.2, {"outline": 0.1, "structure": 0.9, "dots": 1.0}) == "", "nothing is hidden by 0.2"
    assert disagreement(0.1, {"outline": 0.05, "structure": 0.3, "dots": 0.2}) == ""


def test_the_line_stands_with_the_result(panel):
    panel.result.parts["dots"] = 0.11
    object.__setattr__(panel.result, "likeness", 0.98)
    panel.refresh()
    assert panel.state["result"]["disagree"].startswith("Parts disagree: dots 0.11")


def cross(zone: str) -> Tracing:
    return Tracing(zone, (((0.0, 5.0), (10.0, 5.0)), ((5.0, 0.0), (5.0, 10.0))))


def test_a_form_is_compared_as_traced_and_kept_as_shown(panel, piece):
    """The traced cross has the counts of the character 十: two strokes, four ends, one crossing."""
    mine = next(s for s in piece.contents.specimens if s.zone)
    other = next(s for s in piece.contents.specimens if not s.zone)
    ask(panel, "pick", which="a", id=mine.id)
    ask(panel, "pick", which="b", id=other.id)
    assert panel.state["traced"] == [], "nothing is traced yet"
    plain = panel.result.likeness
    piece.save(cross(mine.zone), reason="tracing kept")
    panel.desk.changed()
    assert [t["side"] for t in panel.state["traced"]] == ["a"]
    ask(panel, "traced", which="a", on=True)
    assert panel.result.forms[0].counts.crossings == 1
    assert panel.result.forms[0].counts.strokes == 2
    assert panel.result.likeness != plain
    assert panel.state["result"]["heads"] == ["Counted", "First, traced", "Second"]
    assert next(r for r in panel.state["result"]["counts"] if r[0] == "crossings")[:2] == ("crossings", "1")
    ask(panel, "turn", turn="mirrored")
    ask(panel, "keep", note="Strichenden")
    kept = piece.contents.comparisons[-1]
    assert kept.likeness == pytest.approx(panel.result.likeness), "what is kept is what was shown"
    assert (kept.note, kept.traced, kept.turn) == ("Strichenden", ("a",), "mirrored")
    ask(panel, "pick", which="a", id=mine.id)
    assert not panel.traced["a"], "another form is shown as photographed"
    assert "Unknown side" in errors(ask(panel, "traced", which="c", on=True))[0]


def test_what_is_kept_equals_a_comparison_by_hand(panel, piece):
    first, second = (next(s for s in piece.contents.specimens if s.id == i) for i in (panel.a, panel.b))
    by_hand = compare(piece.signers.pixels(first), piece.signers.pixels(second))
    ask(panel, "keep", note="")
    kept = piece.contents.comparisons[-1]
    assert kept.likeness == pytest.approx(by_hand.likeness)
    assert dict(kept.parts) == pytest.approx(by_hand.parts)
    assert kept.transform == pytest.approx(by_hand.transform)
