"""Old-style ages: one at birth, one more each new year (general knowledge); the examples are reckoned by that rule."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readaid.core.errors import OptionError
from readaid.script import age, dates


@given(st.integers(1, 120), st.integers(700, 1900))
def test_birth_and_age_agree_both_ways(years, made):
    assert age.check(years, age.born(years, made), made).agrees


def test_published_life_dates():
    # Katsushika Hokusai, born in 1760 (Horeki 10), signed "at the age of eighty-eight" in Koka 4 (1847): well known.
    assert age.born(88, 1847) == 1760


def test_difference_is_told():
    fit = age.check(80, 1776, 1848)
    assert not fit.agrees
    assert "7 years over" in fit.words
    assert "before the birth" in age.check(5, 1900, 1848).words


def test_full_years_are_allowed_for_from_1902():
    assert age.born_from(73, dates.read("明治四十三年")[0]) == (1836, 1838)
    assert age.born_from(73, dates.read("嘉永元年十二月")[0]) == (1776, 1776)


def test_an_age_beyond_reckoning():
    with pytest.raises(OptionError, match="1 to 120"):
        age.born(0, 1848)
