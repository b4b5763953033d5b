"""Counts from tracings and stroke-to-stroke answers, on forms whose counts anyone can count."""

import dataclasses

import numpy as np
import pytest

from readaid.core.errors import ShapeError
from readaid.core.photo import Tracing
from readaid.core.specimen import Specimen
from readaid.forms.correspondence import correspond
from readaid.forms.tracing_counts import count_tracing, hand_counts

CROSS = (((0.0, 50.0), (100.0, 50.0)), ((50.0, 0.0), (50.0, 100.0)))
RING = [(50 + 40 * np.cos(t), 50 + 40 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 40)]


@pytest.mark.parametrize(("strokes", "counts"), [
    # strokes, ends, crossings, closed spaces, dots: counted by eye
    ([[(0, 50), (100, 50)], [(50, 0), (50, 100)]], (2, 4, 1, 0, 0)),  # a cross
    ([[(0, 0), (100, 0)], [(50, 2), (50, 100)]], (2, 3, 1, 0, 0)),  # a T whose stem stops short of the bar
    ([RING], (1, 0, 0, 1, 0)),
    ([RING, [(0, 50), (100, 50)]], (2, 2, 2, 2, 0)),  # a ring struck through
    ([[(0, 0), (0, 100)], [(1, 100), (100, 100)]], (2, 2, 0, 0, 0)),  # a corner of two strokes
    ([[(0, 0), (100, 0)], [(20, 40)], [(50, 41), (54, 45)], [(80, 40)]], (1, 2, 0, 0, 3)),  # dots under a bar
    ([[(0, 0), (100, 0), (100, 100), (0, 100), (0, 0)], [(50, 0), (50, 100)]], (2, 0, 2, 2, 0)),  # 日 turned
    ([[(50, 50)]], (0, 0, 0, 0, 1)),
])
def test_counts_are_those_of_the_eye(strokes, counts):
    found = count_tracing(strokes)
    assert (found.strokes, found.ends, found.crossings, found.closed_spaces, found.dots) == counts
    turned = count_tracing([[(-3 * y + 7, 3 * x - 2) for x, y in s] for s in strokes])
    assert (turned.strokes, turned.ends, turned.crossings) == counts[:3]


def test_a_hook_is_a_flourish_and_a_corner_is_none():
    hooked = [[(0, 0), (80, 0), (72, 14)], [(40, 30), (40, 100)]]
    assert count_tracing(hooked).flourishes == 1
    cornered = [[(0, 0), (80, 0), (80, 90)], [(40, 30), (40, 100)]]
    assert count_tracing(cornered).flourishes == 0


def test_an_empty_tracing_is_told():
    with pytest.raises(ShapeError, match="no stroke"):
        count_tracing([[]])
    with pytest.raises(ShapeError, match="no number"):
        count_tracing([[(0, float("nan"))]])


FORM = [[(0, 0), (100, 0)], [(50, -40), (50, 80)], [(0, 80), (40, 60), (100, 90)], [(80, 30)]]


def test_the_same_strokes_answer_each_other_in_any_order_size_and_turn():
    turn = np.deg2rad(9)
    matrix = 0.4 * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    other = [[tuple(matrix @ p + (300, 20)) for p in FORM[i]] for i in (2, 0, 3, 1)]
    other[0] = other[0][::-1]
    found = correspond(FORM, other)
    assert sorted((p.a, p.b) for p in found.pairs) == [(1, 2), (2, 4), (3, 1), (4, 3)]
    assert (found.dropped, found.added) == ((), ())
    assert [p.a for p in found.pairs if p.backwards] == [3]
    assert not any(p.bends for p in found.pairs)


def test_added_dropped_and_bent_strokes_are_told():
    bent = [FORM[0], FORM[1], [(0, 80), (40, 60), (70, 70), (82, 112), (100, 125)], [(15, -25), (35, -20), (42, -38)]]
    found = correspond(FORM, bent)
    assert found.dropped == (4,)
    assert found.added == (4,)
    third = next(p for p in found.pairs if p.a == 3)
    assert third.b == 3
    assert third.bends
    assert third.at[0] > 70  # it bends at its right end
    assert "Only the first has stroke 4" in found.text
    assert "Stroke 3 bends" in found.text
    with pytest.raises(ShapeError, match="no stroke"):
        correspond(FORM, [])


def test_only_what_a_hand_wrote_or_kept_is_counted():
    form, by_machine, kept = Specimen(zone="z"), Tracing("z", CROSS, by="skeleton"), Tracing("z", CROSS)
    assert hand_counts(form, [by_machine, Tracing("another", CROSS)]) == (None, "")
    counts, whose = hand_counts(form, [by_machine, kept])
    assert (counts.strokes, whose) == (2, "as_traced")
    own = dataclasses.replace(counts, strokes=3)
    assert hand_counts(dataclasses.replace(form, corrected=own), [kept]) == (own, "by_hand")
