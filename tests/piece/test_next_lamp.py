"""The side that is named follows from geometry: a cut shows least under light along it (Lambert's cosine law)."""

import math

import numpy as np
import pytest

from readaid.core.candidate import Suggestion
from readaid.core.character import Text
from readaid.core.photo import rectangle
from readaid.core.places import share
from readaid.glyphs.candidates import Weighed
from readaid.piece import next_lamp
from readaid.piece.lamps import SIDES
from readaid.piece.open_piece import OpenPiece


def doubtful(sign, sure=0.4):
    return Weighed((Suggestion(sign, (), sure),), 0.1, ())


def test_a_level_stroke_runs_level_and_an_upright_one_upright():
    level, upright = (np.array(next_lamp.directions(s)) for s in ("一", "川"))
    steps = (np.arange(next_lamp.BINS) + 0.5) * 180 / next_lamp.BINS
    assert min(steps[level.argmax()], 180 - steps[level.argmax()]) < 25
    assert abs(steps[upright.argmax()] - 90) < 25


def test_a_stroke_and_its_mirror_image_look_alike_to_a_lamp_at_their_axis():
    """Lambert's cosine law again: bins of directions lie evenly about 0 and 90 degrees."""
    for azimuth in (0.0, 90.0):
        assert next_lamp.shown(azimuth) == pytest.approx(next_lamp.shown(azimuth)[::-1])
    assert next_lamp.shown(0.0) ** 2 + next_lamp.shown(90.0) ** 2 == pytest.approx(np.ones(next_lamp.BINS))


@pytest.mark.parametrize("azimuth", [0.0, 180.0])
def test_a_level_stroke_under_a_lamp_at_its_end_asks_for_one_across_it(azimuth):
    found = next_lamp.named({3: doubtful("一")}, [azimuth])
    assert found.signs == (3,)
    assert abs(math.sin(math.radians(SIDES[found.side]))) > 0.7
    across = next_lamp.gains({3: doubtful("一")}, [azimuth])
    assert across["top"][3] > across["top left"][3]
    assert max(across.get("left", {3: 0})[3], across.get("right", {3: 0})[3]) < 0.05, "the lamp opposite shows no more"


def test_no_lamp_is_named_for_sure_signs_unknown_lamps_or_several():
    assert next_lamp.named({0: doubtful("一", 0.95)}, [0.0]) is None
    assert next_lamp.named({0: doubtful("一")}, []) is None
    assert next_lamp.named({0: doubtful("一")}, [0.0, 90.0]) is None


def test_a_proposal_names_the_lamp_and_keeps_places(tmp_path, monkeypatch):
    """One photo with its lamp recorded; what shape says is written by hand."""
    monkeypatch.setattr(next_lamp, "directions", lambda sign: (1.0, *[0.0] * (next_lamp.BINS - 1)))
    monkeypatch.setattr(next_lamp, "SURE", 2.0)
    with OpenPiece.new(tmp_path / "p", reader="Test reader", title="Test piece") as piece:
        photo = piece.add_photo(share("data") / "demo" / "photos" / "verse_left.jpg",
                                light_direction=(-0.94, 0.0, 0.34))
        verse = piece.layout.inscription(Text.VERSE, photo)
        zones = [z for z in piece.layout.propose(photo)[0] if z.confidence > 0.8][:3]
        piece.layout.draw_columns(verse, photo, [[rectangle(*z.box) for z in zones]])
        found = piece.propose_reading(verse.id, k=1)
        assert found.lamp is not None
        assert found.lamp.side in ("top", "bottom"), "every stroke is level here and the lamp stands at the left"
        assert found.notes[-1] == found.lamp.words
        assert set(found.lamp.signs) <= {0, 1, 2}
