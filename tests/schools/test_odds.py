"""Odds and borders, against what can be worked out: two normal curves whose true likelihood ratio is known."""

import numpy as np
import pytest

from readaid.core.errors import ShapeError
from readaid.schools.borders import GENERAL, border_of
from readaid.schools.nearest import Population, Reference
from readaid.schools.odds import MAKERS, cost, curve, fit, measured


def scores_of(makers, forms, apart, seed=0):
    """Scores (n, m): own maker N(apart/2, 1), others N(-apart/2, 1); and each form's owner."""
    rng = np.random.default_rng(seed)
    owner = np.repeat(np.arange(makers), forms)
    scores = rng.normal(-apart / 2, 1, (len(owner), makers))
    scores[np.arange(len(owner)), owner] += apart
    return scores, owner


def test_the_line_is_that_of_two_normal_curves():
    """Two normal curves of one spread, means 1 and -1: the true log ratio is 2 x (Bayes; no library needed)."""
    rng = np.random.default_rng(1)
    slope, intercept = fit(rng.normal(1, 1, 4000), rng.normal(-1, 1, 40000))
    assert slope == pytest.approx(2, abs=0.1)
    assert intercept == pytest.approx(0, abs=0.1)


def test_true_odds_lie_on_the_curve_and_boasting_ones_do_not():
    rng = np.random.default_rng(2)
    same, other = (2 * rng.normal(m, 1, 3000) / np.log(10) for m in (1, -1))
    points, error = curve(same, other)
    assert len(points) >= 6
    assert error < 0.06
    _, boast = curve(3 * same, 3 * other)
    assert boast > 0.3
    assert cost(same, other) < cost(3 * same, 3 * other)


def test_odds_are_measured_from_eight_makers_on_and_bounded():
    scores, owner = scores_of(12, 4, 3.0)
    odds = measured(scores, owner.tolist(), list(range(12)))
    assert (odds.makers, odds.forms, odds.same, odds.other) == (12, 48, 48, 48 * 11)
    assert odds.slope == pytest.approx(3, abs=0.9)
    assert odds.log10(50) == pytest.approx(np.log10(48))  # 48 forms cannot tell a million to one
    assert odds.log10(-50) == pytest.approx(-np.log10(48))
    assert odds.error is None, "so far apart that no two bins hold both kinds"
    assert 0 < odds.cost < 0.5
    assert "48 forms of 12 makers" in odds.text
    assert "overlap too little" in odds.text
    scores, owner = scores_of(24, 6, 1.5)
    nearer = measured(scores, owner.tolist(), list(range(24)))
    assert nearer.slope == pytest.approx(1.5, abs=0.3)
    assert nearer.error < 0.15
    assert f"differ by {nearer.error:.2f}" in nearer.text
    with pytest.raises(ShapeError, match=f"from {MAKERS} such makers"):
        measured(scores, owner.tolist(), list(range(MAKERS - 1)))


def population(makers, forms, within, seed=3):
    """A population of nothing but log odds: ``within`` more between forms of one maker."""
    rng = np.random.default_rng(seed)
    owner = np.repeat(np.arange(makers), forms)
    odds = rng.normal(-2, 0.8, (len(owner), len(owner)))
    odds = (odds + odds.T) / 2 + within * (owner[:, None] == owner)
    made = Population.__new__(Population)
    made._set([Reference(None, f"maker {k}") for k in owner])
    made._calibrate(odds)
    return made, odds, owner


def test_below_the_least_population_there_are_no_odds():
    small, _, _ = population(MAKERS - 1, 3, 4)
    assert small.odds is None
    assert small._ratio(3.0, 3) is None
    large, _, _ = population(MAKERS, 3, 4)
    assert large._ratio(3.0, 3) > 3
    assert large._ratio(3.0, 2) is None  # a maker with two forms among others with three


def test_borders_by_number_of_forms_tell_their_rates():
    _, odds, owner = population(12, 4, 3.5)
    one, two = border_of(odds, owner, 1), border_of(odds, owner, 2)
    assert one.measured
    assert two.measured
    for border in (one, two):
        assert border.accepted.share == pytest.approx(0.07, abs=0.06)  # judged without the stranger's own forms
        assert 0 <= border.refused.share < 0.5
    assert two.refused.share <= one.refused.share  # two forms tell more than one
    single = border_of(odds[::4, ::4], owner[::4], 1)
    assert single is GENERAL[1]
    assert not single.measured


def test_one_form_a_maker_does_not_turn_the_true_ones_away():
    assert not GENERAL[1].divides_kin
    assert GENERAL[1].refused_outside.share < 2 / 12
    assert GENERAL[1].accepted_outside.share < 0.1
