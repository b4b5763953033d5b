"""Written numbers against Unihan's numeric values (unicodedata) and their own round trip."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readaid.core.errors import OptionError, TextError
from readaid.script import numerals


def test_signs_against_unihan():
    """Python's unicodedata carries Unihan's kPrimaryNumeric, kAccountingNumeric and kOtherNumeric.

    Not in it: three variant signs of one to three, known from dictionaries (common practice, no source)."""
    missing = []
    for sign, plain in numerals.plain_of().items():
        value = unicodedata.numeric(sign, None)
        if value is None:
            missing.append(sign)
        else:
            assert value == numerals.read(plain), sign
    assert set(missing) <= set("弌弍弎貮卄丗卌肆柒漆亖阡")


@given(st.integers(0, 9999))
def test_every_form_reads_back(number):
    for form in (*numerals.forms(number), numerals.by_place(number), numerals.write(number)):
        assert numerals.read(form) == number


@pytest.mark.parametrize(("text", "value"), [
    ("元", 1), ("廿", 20), ("廿三", 23), ("丗", 30), ("卅一", 31), ("卌二", 42), ("壱", 1), ("弐拾参", 23),
    ("拾陸", 16),
    ("漆拾玖", 79), ("参拾伍", 35), ("捌", 8), ("千八百四拾八", 1848), ("一八四八", 1848), ("百廿", 120), ("１８", 18)])
def test_old_and_new_signs(text, value):
    assert numerals.read(text) == value


@pytest.mark.parametrize("text", ["", "月", "十廿", "二百百"])
def test_no_number_is_told(text):
    with pytest.raises(TextError, match="not a number"):
        numerals.read(text)


def test_too_large():
    with pytest.raises(OptionError, match="0 to 9999"):
        numerals.write(10000)
