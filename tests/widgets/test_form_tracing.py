"""A school's form on the tracing sheet without a browser: proposed, mended, counted, gestures of a mend told.

The invented forms are drawn by ``tests.schools.test_album``, so the strokes they should count are known.
"""

import numpy as np
import pytest

from readaid.core.texts import table
from readaid.forms.tracing_counts import count_tracing
from readaid.widgets import album
from tests.schools.test_album import STROKES, drawn
from tests.widgets.made import ask, errors


@pytest.fixture
def panel(tmp_path):
    made = album(tmp_path / "school", title="Two hands", reader="Mori")
    for n, maker in enumerate(list(STROKES)[:2]):
        made.school.add_picture(np.asarray(drawn(maker, n).convert("RGB")))
    made.refresh()
    yield made
    made.school.close()


@pytest.fixture
def form(panel):
    return panel.state["forms"][0]["id"]


def test_the_proposal_lies_there_and_counts_nothing_until_it_is_kept(panel, form):
    ask(panel, "trace", id=form)
    sheet = panel.tracing
    assert panel.state["tracing"] == sheet.model_id
    assert sheet.crop[:2] == b"\xff\xd8"  # the mark a JPEG begins with (ITU-T T.81, SOI)
    assert (sheet.state["width"], sheet.state["height"]) == drawn(next(iter(STROKES)), 0).size
    assert sheet.state["strokes"]
    assert "Not counted yet" in sheet.state["words"]
    assert panel.school.tracings.of(form) is None
    assert not panel.state["forms"][0]["traced"]


def test_a_mend_makes_the_counts_ones_from_a_tracing_by_hand(panel, form):
    ask(panel, "trace", id=form)
    sheet = panel.tracing
    mended = [*[list(s) for s in sheet.state["strokes"]], [(5.0, 5.0)]]  # a dot that was missing
    sent = ask(sheet, "keep", strokes=mended, mine=True)
    wanted = count_tracing(mended)
    assert f"by hand: strokes {wanted.strokes}, dots {wanted.dots}," in sent[-2][0]["say"]
    counts = panel.school.tracings.counts.loc[form]
    assert (counts["counted"], counts["dots"], counts["strokes"]) == ("as_traced", wanted.dots, wanted.strokes)
    assert panel.state["forms"][0]["traced"]
    assert panel.school.register.last(panel.school.tracings.of(form).id).reader == "Mori"
    ask(sheet, "keep", strokes=sheet.state["strokes"], mine=False)  # again, unchanged: still one by hand
    assert "by hand: strokes" in sheet.state["words"]
    ask(panel, "undo")
    assert panel.school.tracings.of(form) is None
    assert "Not counted yet" in sheet.state["words"]


def test_a_proposal_looked_over_is_not_called_one_by_hand(panel, form):
    ask(panel, "trace", id=form)
    sheet = panel.tracing
    ask(sheet, "keep", strokes=sheet.state["strokes"], mine=False)
    assert "looked over by hand" in sheet.state["words"]
    assert "nothing mended" in panel.school.tracings.of(form).note


def test_the_sheet_goes_from_form_to_form_and_away(panel, form):
    ask(panel, "trace", id=form)
    sheet = panel.tracing
    other = panel.state["forms"][1]["id"]
    ask(sheet, "step", by=1)
    assert sheet.state["zone"] == other
    ask(panel, "trace", id=form)
    assert panel.tracing is sheet
    assert "no stroke" in errors(ask(sheet, "keep", strokes=[], mine=True))[0]
    assert "no number" in errors(ask(sheet, "keep", strokes=[[[float("nan"), 1.0]]], mine=True))[0]
    assert panel.school.tracings.of(form) is None
    ask(panel, "trace", id="")
    assert (panel.tracing, panel.state["tracing"]) == (None, "")


def test_the_sheet_speaks_japanese():
    for english in ("Trace this form", "Join two strokes", "Not counted yet: a count is told of a tracing that you "
                    "kept."):
        assert table("ja")[english] != english
