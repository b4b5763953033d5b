"""Comparison: alignment found again, parts, pictures, and clear sentences for bad input."""

import numpy as np
import pytest
from PIL import Image, ImageDraw

from readaid.core.errors import OptionError, ShapeError
from readaid.core.specimen import FormCounts
from readaid.forms import likeness as measures
from readaid.forms.comparison import compare
from readaid.forms.form import form_of_tracing
from readaid.forms.stroke_points import edge_points


def sign(turn=0.0, size=200, ink=0, ground=255, width=7):
    """A made-up monogram: a hook, a crossing bar, a closed space and a dot."""
    r = np.deg2rad(turn)
    strokes = [
        [(-60, -50), (40, -60), (50, 20), (-10, 60)],
        [(-70, 0), (70, -10)],
        [(-40, 30), (-10, 25), (-20, 55), (-40, 30)],
        [(66, 55), (70, 59)],
    ]
    page = Image.new("L", (size, size), ground)
    draw = ImageDraw.Draw(page)
    turn_by = np.array([[np.cos(r), -np.sin(r)], [np.sin(r), np.cos(r)]])
    for stroke in strokes:
        points = np.array(stroke) @ turn_by.T * size / 200 + size / 2
        draw.line([tuple(p) for p in points], fill=ink, width=width, joint="curve")
    return page


def test_turn_and_size_are_found_again():
    found = compare(sign(), sign(turn=10, size=300, width=10))
    assert found.change.turn == pytest.approx(-10, abs=2.5)
    assert found.likeness > 0.85
    m = np.array(found.transform).reshape(2, 3)
    # the end of the bar of b lies on the end of the bar of a
    r = np.deg2rad(10)
    b = np.array([[np.cos(r), -np.sin(r)], [np.sin(r), np.cos(r)]]) @ (70, -10) * 1.5 + 150
    assert m[:, :2] @ b + m[:, 2] == pytest.approx((170, 90), abs=6)


def test_polarity_does_not_matter():
    assert compare(sign(), sign(ink=220, ground=30)).likeness > 0.9


def test_parts_are_named_and_within_range():
    found = compare(sign(), sign(turn=5))
    assert set(found.parts) == {"outline", "structure", "dots"}
    assert all(0 <= v <= 1 for v in found.parts.values())
    assert 0 <= found.likeness <= 1


def test_the_same_two_crops_give_the_same_comparison():
    """What is kept beside it for the picture (forms, the matrix) is arrays and no part of what is compared."""
    assert compare(sign(), sign(turn=5)) == compare(sign(), sign(turn=5))
    assert compare(sign(), sign(turn=5)) != compare(sign(), sign(turn=9))


def test_of_too_many_edge_points_the_outermost_stay():
    soft = np.zeros((120, 120), np.float32)
    soft[20:100, 20:100] = 1.0
    every, few = edge_points(soft, 10**6), edge_points(soft, 100)
    assert len(every.at) > 300
    assert len(few.at) == 100
    np.testing.assert_array_equal(few.at[[0, -1]], every.at[[0, -1]])
    assert few.weight.sum() == pytest.approx(1.0)


def test_a_missing_stroke_is_told_where():
    whole = [[(0, 0), (100, 0)], [(50, -40), (50, 60)], [(0, 60), (100, 60)]]
    found = compare(form_of_tracing(whole), form_of_tracing([*whole, [(20, 25), (35, 25)]]))
    assert any(d.only == "second" and 15 < d.box[0] < 30 and 15 < d.box[1] < 35 for d in found.differences)


def test_picture_and_html():
    found = compare(sign(), sign(turn=12))
    picture = found.picture(240)
    assert picture.size[0] == 240
    colours = {c for _, c in picture.getcolors(100000)}
    assert (0, 114, 178) in colours
    assert (230, 159, 0) in colours
    assert "not of who made it" in found._repr_html_()


def test_same_picture_warns_of_a_copy():
    assert any("copy" in note for note in compare(sign(), sign()).notes)


FLIPS = [("mirrored", Image.Transpose.FLIP_LEFT_RIGHT), ("upside down", Image.Transpose.ROTATE_180)]


@pytest.mark.parametrize(("how", "flip"), FLIPS)
def test_turned_crop_is_offered(how, flip):
    other = sign().transpose(flip)
    found = compare(sign(), other)
    assert any(how in note for note in found.notes)
    assert compare(sign(), other, turn=how).likeness > found.likeness + 0.2


def test_bad_input():
    with pytest.raises(ShapeError, match="empty"):
        compare(np.full((50, 50), 200, np.uint8), sign())
    dot = np.full((90, 90), 255, np.uint8)
    dot[40:44, 40:44] = 0
    with pytest.raises(ShapeError, match="one dot"):
        compare(sign(), dot)
    with pytest.raises(OptionError, match="mirrored"):
        compare(sign(), sign(), turn="mirored")
    with pytest.raises(ShapeError, match="not found"):
        compare("no such file.png", sign())


def test_structure_and_dots_weigh_in_the_likeness():
    """The same outline with other counts is less alike; the dot counts less than what the strokes do."""
    alike, other, undotted = (measures.whole(1.0, *parts) for parts in ((1.0, 1.0), (0.2, 1.0), (1.0, 0.0)))
    assert other < undotted < alike
    assert alike - other > 0.05
    assert alike - undotted > 0.02
    assert measures.dots(FormCounts(1.0, 3, 4, 1, 0, 2), FormCounts(1.0, 3, 4, 1, 0, 0)) == 0.0
    assert measures.structure(FormCounts(1.0, 3, 4, 1, 0, 0), FormCounts(1.0, 3, 4, 3, 2, 0)) < 0.8


def test_a_disagreeing_part_stands_beside_a_close_whole(tmp_path):
    """The hook, bar and loop are the same hand's; three dots stand where one stood."""
    from click.testing import CliRunner

    from readaid.cli import main
    from readaid.forms.wording import about_pair

    more = sign()
    for x, y in ((150, 165), (170, 120)):
        ImageDraw.Draw(more).ellipse([x, y, x + 8, y + 8], fill=0)
    found = compare(sign(), more)
    assert found.likeness > 0.45
    assert found.parts["dots"] < 0.55
    sentence = next(note for note in found.notes if "dots" in note)
    assert "though the whole looks close" in sentence
    assert sentence in about_pair(found)
    sign().save(tmp_path / "a.png")
    more.save(tmp_path / "b.png")
    assert sentence in CliRunner().invoke(main, ["compare", str(tmp_path / "a.png"), str(tmp_path / "b.png")]).output
    assert not [note for note in compare(sign(), sign(turn=5)).notes if "disagree" in note]


def test_a_near_perfect_overlay_is_told_in_text_too(tmp_path):
    from click.testing import CliRunner

    from readaid.cli import main

    sign().save(tmp_path / "a.png")
    told = CliRunner().invoke(main, ["compare", str(tmp_path / "a.png"), str(tmp_path / "a.png")]).output
    assert "may be a copy of the other" in told
