"""Reference forms: the closest of many at once, their pictures and words; tracings drawn as pictures."""

import base64
import io
from concurrent.futures import ThreadPoolExecutor

import cv2
import numpy as np
import pytest
from PIL import Image

from readaid.core.errors import ShapeError
from readaid.forms.tracing import strokes
from readaid.forms.tracing_picture import drawn
from readaid.glyphs.candidates import suggest
from readaid.glyphs.references import closest, closest_of, reference, references

SIGNS = ["花", "川", "春", "の", "す", "\N{HENTAIGANA LETTER HA-3}"]


def test_many_at_once_equal_one_by_one_and_keep_their_order():
    crop = reference("春", "running").picture
    many = closest_of(crop, [*SIGNS, "\N{SNOWMAN}", "花"])
    assert [r and (r.character, r.hand) for r in many] == [
        (r.character, r.hand) if r else None for r in (closest(crop, c) for c in [*SIGNS, "\N{SNOWMAN}", "花"])]
    assert many[6] is None
    assert many[0].likeness == pytest.approx(many[7].likeness)
    assert closest_of(crop, []) == []


@pytest.mark.parametrize("hand", ["grass", "running", "regular"])
def test_a_form_is_closest_to_itself(hand):
    for sign in ("花", "川", "春", "海", "時"):
        found = closest(reference(sign, hand).picture, sign)
        assert (found.hand, round(found.likeness, 3)) == (hand, 1.0)


def test_the_right_hand_comes_back_from_distorted_tracings():
    """A form sheared and stretched at random, thinned and drawn again, is closest to the form it came from."""
    rng = np.random.default_rng(8)
    right = []
    for sign in "花春海時山風雪月鳥松竹梅水石光":
        for held in references(sign)[:3]:
            big = cv2.resize(held.picture, (240, 240), interpolation=cv2.INTER_CUBIC)
            ends = np.float32([[0, 0], [240, 0], [0, 240]])
            bent = cv2.getAffineTransform(ends, ends + rng.uniform(-20, 20, (3, 2)).astype(np.float32))
            moved = cv2.warpAffine(big, bent, (240, 240), borderValue=255)
            right.append(closest(drawn(strokes(moved, "dark")), sign).hand == held.hand)
    assert len(right) == 45
    assert np.mean(right) >= 0.9, "measured: 98 % of 169"


def test_several_threads_ask_at_once():
    crop = reference("雪", "grass").picture
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda n: closest_of(crop, SIGNS[n % 3:])[0].hand, range(12)))
    assert found == [closest(crop, SIGNS[n % 3]).hand for n in range(12)]


def test_picture_and_words():
    held = reference("花", "running")
    kind, text = held.address.split(",")
    assert kind == "data:image/png;base64"
    assert len(text) < 800, "small enough to send a dozen with every state"
    picture = np.asarray(Image.open(io.BytesIO(base64.b64decode(text))).convert("L"))
    assert (picture == held.picture).all()
    assert held.words == "花, running script, as a brush font draws it"


def test_a_tracing_is_drawn_whatever_its_unit():
    cross = [[(0, 5), (10, 5)], [(5, 0), (5, 10)]]
    small = [[(x / 40, y / 40) for x, y in line] for line in cross]
    assert np.abs(drawn(cross).astype(int) - drawn(small)).max() == 0
    assert suggest(drawn(cross), k=1, among="kanji")[0].character == "十"
    dot = drawn([[(3.0, 3.0)]])
    assert (dot < 128).any()
    assert len(suggest(dot, k=3)) == 3
    with pytest.raises(ShapeError, match="no stroke"):
        drawn([[], []])
    with pytest.raises(ShapeError, match="no number"):
        drawn([[(0, 0), (float("nan"), 1)]])
