"""Scale and advice. Limits are common practice, no source; 31 px a sign was measured on a photograph."""

import math

import pytest

from readaid.core.errors import ZoneError
from readaid.core.photo import Evidence, Photo, Scale, Zone, rectangle
from readaid.core.piece import Piece
from readaid.photo import scale


def photo(**changes):
    return Photo("a.jpg", "", 2000, 1000, **{"title": "Front", "scale": Scale((0, 0), (1000, 0), 50.0), **changes})


def test_measures():
    s = Scale((0, 0), (300, 400), 50.0)
    assert scale.millimetres(s, (0, 0), (0, 100)) == pytest.approx(10)
    assert scale.pixels_per_millimetre(s) == pytest.approx(10)
    assert scale.to_millimetres([(20, 40)], s, origin=(10, 10)) == (pytest.approx((1.0, 3.0)),)


def test_carried_through_a_homography():
    s = Scale((0, 0), (100, 0), 10.0, check_a=(0, 0), check_b=(0, 50), check_millimetres=5.0)
    turned = (0, -2, 7, 2, 0, 3, 0, 0, 1)  # a quarter turn, twice the size
    other = scale.carried(s, turned)
    assert other.mm_per_pixel == pytest.approx(0.05)
    assert other.disagreement == pytest.approx(0.0)
    assert scale.carried(other, turned, back=True).b == pytest.approx((100, 0))
    with pytest.raises(ZoneError, match="not aligned"):
        scale.carried(s, (0,) * 9, back=True)


def test_nothing_amiss():
    assert scale.warnings(photo()) == []


def test_second_length_disagrees():
    s = Scale((0, 0), (1000, 0), 50.0, check_a=(0, 0), check_b=(0, 440), check_millimetres=20.0)
    (said,) = scale.warnings(photo(scale=s))
    assert "should be 20 mm and measures 22.0 mm (+10%)" in said


def test_short_length():
    (said,) = scale.warnings(photo(scale=Scale((0, 0), (50, 0), 5.0)))
    assert "spans only 50 px" in said
    assert "2.0 %" in said


@pytest.mark.parametrize(("mm", "doubted"), [(80, True), (95, False), (110, True)])
def test_usual_length_of_a_knife_handle(mm, doubted):
    """95 mm is common practice, no source; 80 and 110 deserve a warning where the user says it is one."""
    long = photo(scale=Scale((0, 0), (1000, 0), 60.0))
    said = scale.warnings(long, Piece("x", kind="knife handle", width=mm))
    assert bool(said) is doubted
    assert not scale.warnings(long, Piece("x", kind="box", width=mm))


def test_few_pixels_a_sign():
    p = photo()
    zones = [Zone(p.id, rectangle(0, 40 * i, 30, 31)) for i in range(5)]
    assert any("the signs are about 31 px high" in s and "strokes run together" in s for s in scale.advice([p], zones))
    big = [Zone(p.id, rectangle(0, 0, 100, 120))]
    assert not any("px high" in s for s in scale.advice([p], big))


def test_missing_shots():
    assert "No photo yet" in scale.advice([], [])[0]
    assert any("one light only" in s for s in scale.advice([photo()]))
    lit = [photo(light_direction=(math.cos(a), math.sin(a), 0.5)) for a in (0, math.pi)]
    said = scale.advice(lit)
    assert any("no light from bottom and top" in s for s in said)
    assert any("2 raking lights" in s for s in said)
    assert any("not aligned" in s for s in said)
    around = [photo(light_direction=(math.cos(a), math.sin(a), 0.5), to_reference=(1, 0, 0, 0, 1, 0, 0, 0, 1))
              for a in (0.1, 1.6, 3.2, 4.7)]
    assert scale.advice(around) == []
    high = [photo(light_direction=(0.1 * math.cos(a), 0.1 * math.sin(a), 1), to_reference=(1, 0, 0, 0, 1, 0, 0, 0, 1))
            for a in (0, 1.6, 3.2, 4.7)]
    assert any("stand high" in s for s in scale.advice(high))


def test_rubbings_need_no_scale_or_light():
    assert scale.advice([photo(evidence=Evidence.RUBBING, scale=None)]) == []
