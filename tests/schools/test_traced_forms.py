"""Tracings of a school: proposed, mended, kept, counted by hand only, compared stroke by stroke; and in a report."""

import numpy as np
import pandas as pd
import pytest
from PIL import Image, ImageDraw

import readaid
from readaid.core.errors import OptionError, ShapeError
from readaid.core.photo import Tracing, rectangle
from readaid.forms import tracing_mends as mends
from readaid.forms.tracing_counts import count_tracing
from tests.schools.test_album import MAKERS


def form(moved=0):
    """Two bars crossing and a dot, on a sheet of 200 x 200."""
    page = Image.new("L", (200, 200), 240)
    pen = ImageDraw.Draw(page)
    pen.line([(30, 100), (170, 100 + moved)], fill=30, width=9)
    pen.line([(100, 30), (100, 170)], fill=30, width=9)
    pen.ellipse((150, 150, 163, 163), fill=30)
    return np.asarray(page.convert("RGB"))


@pytest.fixture
def school(tmp_path):
    with readaid.school(tmp_path / "school", title="Two hands", reader="Mori") as opened:
        opened.add_makers(MAKERS)
        opened.add_picture(form(), "Rokusen", year=1790)
        opened.add_picture(form(12), "Tansei")
        yield opened


def test_only_what_a_hand_traced_is_counted(school):
    first, second = school.specimens.index
    assert school.tracings.counts["strokes"].isna().all()
    proposed = school.tracings.propose(first)
    assert school.tracings.counts["strokes"].isna().all()  # a proposal counts nothing
    found = count_tracing(proposed)
    assert (found.strokes, found.dots, found.crossings) == (2, 1, 1)
    school.tracings.keep(first, proposed)
    counts = school.tracings.counts
    assert counts.loc[first, ["strokes", "ends", "crossings", "closed_spaces", "dots"]].tolist() == [2, 4, 1, 0, 1]
    assert counts.loc[first, "counted"] == "as_traced"
    assert counts.loc[first, "label"] == "Rokusen 1790"
    assert counts.loc[second, "strokes"] is pd.NA
    version = school.register.version
    school.tracings.keep(first, proposed)
    assert school.register.version == version
    kept = school.tracings.keep(first, mends.without(proposed, 3))
    assert len(school.register.history(kept.id)) == 2  # mended: one record with its history


def test_strokes_of_two_specimens_answer_each_other(school):
    first, second = school.specimens.index
    school.tracings.keep(first, school.tracings.propose(first))
    with pytest.raises(ShapeError, match="Tansei"):
        school.tracings.correspond(first, second)
    school.tracings.keep(second, mends.without(school.tracings.propose(second), 3), unit="mm")
    found = school.tracings.correspond(first, second)
    assert len(found.pairs) == 2
    assert len(found.dropped) == 1
    assert "scale not known" in [i.text for i in school.tracings.plate(first, second).items if hasattr(i, "text")]
    with pytest.raises(OptionError, match="px or mm"):
        school.tracings.keep(first, [[(0, 0)]], unit="cm")
    with pytest.raises(OptionError, match="no such specimen"):
        school.tracings.propose("x")


def test_a_comparison_is_kept_whole(school):
    first, second = school.specimens.index
    kept = school.keep_comparison(first, second, turn="mirrored", note="left lamp")
    assert (kept.turn, kept.traced, kept.population, kept.note) == ("mirrored", (), 2, "left lamp")
    assert len(kept.transform) == 6
    assert set(dict(kept.parts)) == {"outline", "structure", "dots"}
    assert school.register.get(kept.id) == kept
    with pytest.raises(ShapeError, match="has not been traced"):
        school.keep_comparison(first, second, traced=("a",))
    school.tracings.keep(first, [[(0, 0), (10, 0)], [(0, 0), (0, 10)], [(0, 10), (5, 10)]])
    other = school.keep_comparison(first, second, traced=("a",))
    assert other.traced == ("a",)
    assert abs(other.likeness - kept.likeness) > 0.01


def test_mends_change_what_is_counted():
    cross = [[(0, 50), (48, 50)], [(52, 50), (100, 50)], [(50, 0), (50, 100)], [(80, 80), (86, 84)]]
    joined = mends.join(cross, 1, 2)
    assert count_tracing(joined).strokes == 2
    assert len(mends.cut(joined, 1, 50, 50)) == 4
    assert mends.dotted(cross, 4)[3] == ((83.0, 82.0),)
    with pytest.raises(OptionError, match="no stroke 9"):
        mends.without(cross, 9)
    with pytest.raises(OptionError, match="no point to be cut"):
        mends.cut(cross, 1, 0, 50)


def test_a_report_prints_no_count_of_the_machine(tmp_path):
    Image.fromarray(form()).save(tmp_path / "lid.png")
    with readaid.new(tmp_path / "piece", reader="Aki") as piece:
        photo = piece.add_photo(tmp_path / "lid.png")
        inscription = piece.layout.inscription("signature", photo)
        zone, _ = piece.layout.draw(inscription, photo, rectangle(5, 5, 190, 190))
        made = piece.signers.add_specimen(zone)
        assert made.counted is not None

        def row():
            text = piece.report(format="markdown").read_text(encoding="utf-8")
            line = next(x for x in text.splitlines() if x.startswith("|") and "unclassified" in x)
            return [c.strip() for c in line.strip("|").split("|")]

        assert not any(c.isdigit() for c in row())
        cross = (((0.0, 50.0), (100.0, 50.0)), ((50.0, 0.0), (50.0, 100.0)), ((80.0, 80.0),))
        piece.save(Tracing(zone.id, cross, "px"))
        assert {"2", "4", "1", "as traced"} <= set(row())
        piece.change(made, corrected=made.counted.__class__(1.0, 7, 4, 1, 0, 1))
        assert {"7", "by hand"} <= set(row())
