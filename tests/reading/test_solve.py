"""Readings of typed text and candidate lists: the whole way from signs to layers."""

import pytest

from readaid.core.errors import OptionError, TextError
from readaid.reading.solve import read, solve


def test_typed_text_comes_back_as_it_stands():
    found = solve("古池や蛙飛びこむ水の音", k=3)
    assert found.form == "hokku"
    assert [r.written for r in found.readings] == ["古池や蛙飛びこむ水の音"] * 3
    assert all(r.morae == (5, 7, 5) for r in found.readings)


def test_candidates_are_weighed_by_language():
    places = [[("か", 0.5), ("う", 0.5)], [("ら", 0.4), ("ち", 0.6)], [("す", 0.9)]]
    assert read(places)[0].kana == "からす"


def test_unknown_form_and_bad_text_are_refused():
    with pytest.raises(OptionError, match="did you mean 'tanka'"):
        read("かな", form="tonka")
    with pytest.raises(TextError, match="cannot stand in an inscription"):
        read("kana")
    with pytest.raises(TextError, match="nothing to read"):
        read("")
    with pytest.raises(OptionError, match="no reading"):
        read("かな", k=0)


def test_what_was_passed_over_is_told():
    """Typed text is followed whole; nine open signs are more than are kept, and the answer says so."""
    found = solve("はるのうみ", form="prose", k=1)
    assert (found.lost, found.lost_at_most) == (0.0, 0.0)
    found = solve("はる????????やま", form="prose", k=1)
    assert 0.0 < found.lost <= 1.0
    assert 0.0 < found.lost_at_most <= 1.0
