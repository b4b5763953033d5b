"""Counts on forms whose numbers are known because they were drawn: whole lines, dashes, cuts under grazing light."""

import cv2
import numpy as np
import pytest

from readaid.core.places import share
from readaid.forms.counts import count, grazed
from readaid.photo.ink import find_ink


def page(*lines, dots=(), width=6, side=140):
    """Black lines on white paper; dots are (x, y, radius)."""
    out = np.full((side, side), 255, np.uint8)
    for line in lines:
        cv2.polylines(out, [np.array(line, np.int32)], False, 0, width, cv2.LINE_AA)
    for x, y, r in dots:
        cv2.circle(out, (x, y), r, 0, -1, cv2.LINE_AA)
    return out


BOX = [(30, 40), (110, 40), (110, 110), (30, 110), (30, 40)]


def test_a_ring_and_a_dot():
    found = count(page(BOX, dots=[(125, 20, 5)]))
    assert (found.closed_spaces, found.dots) == (1, 1)


def test_a_line_of_dashes_is_one_line_and_no_dots():
    whole = count(page([(20, 30), (120, 30)], [(70, 50), (70, 120)]))
    dashes = [[(x, 30), (x + 6, 30)] for x in range(20, 120, 11)]
    broken = count(page(*dashes, [(70, 50), (70, 120)], width=4))
    assert (whole.strokes, whole.ends, whole.dots) == (2, 4, 0)
    assert (broken.strokes, broken.ends, broken.dots) == (2, 4, 0)


def test_the_four_dots_of_fire_stay_four():
    """The bottom of 点: four dots in a row (common knowledge of the script)."""
    found = count(page([(20, 30), (120, 30)], dots=[(25, 110, 6), (55, 110, 6), (85, 110, 6), (115, 110, 6)]))
    assert found.dots == 4


def lit(height):
    """A surface of this height (pixels, cuts negative) under one lamp at the left: Lambert's law."""
    gy, gx = np.gradient(cv2.GaussianBlur(height.astype(np.float32), (0, 0), 1.5))
    normal = np.stack([-gx, -gy, np.ones_like(gx)], -1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    shade = np.clip(normal @ (np.array([-0.86, -0.18, 0.48]) / np.linalg.norm([0.86, 0.18, 0.48])), 0, 1)
    return (255 * shade / max(float(shade.max()), 1e-6)).astype(np.uint8)


def test_a_ring_cut_into_metal_is_closed_under_grazing_light():
    ring = 255 - page(BOX, width=8)
    picture = lit(-4.0 * (ring > 128))
    assert grazed(find_ink(picture).sheets[1]) is not None
    assert count(picture).closed_spaces == 1
    open_ring = 255 - page(BOX[:4], width=8)
    assert count(lit(-4.0 * (open_ring > 128))).closed_spaces == 0


@pytest.mark.parametrize("picture", [page(BOX), 255 - page(BOX), page(BOX, width=2)])
def test_ink_on_paper_is_not_taken_for_grazing_light(picture):
    assert grazed(find_ink(picture).sheets[1]) is None


def test_the_demo_s_monograms_have_one_closed_space_each():
    """The script that drew them draws one closed loop (``data/demo/make.py``, MONOGRAM) and varies it in place."""
    photos = sorted((share("data") / "demo" / "photos").glob("specimen_*.jpg"))
    assert len(photos) == 6
    found = [count(p) for p in photos]
    assert [c.closed_spaces for c in found] == [1] * 6
    assert max(c.dots for c in found) <= 2, "dashes of the long strokes are no dots"
