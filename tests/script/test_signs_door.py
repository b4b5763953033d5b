"""What is no text and no list of signs is refused in words by every reader of signs: dates, signatures, lines."""

import itertools
import math

import pytest

import readaid
from readaid.core.errors import OptionError, TextError
from readaid.script import dates, signature
from readaid.script.signs import signs

CALLS = [signs, dates.read, signature.parse, readaid.line]


@pytest.mark.parametrize("call", CALLS, ids=lambda c: f"{c.__module__}.{c.__name__}")
@pytest.mark.parametrize("given", [None, 5, 2.5, b"\xe6\x96\x87", {"文": 1.0}, {"文", "化"}, object()],
                         ids=lambda v: type(v).__name__)
def test_wrong_types(call, given):
    with pytest.raises(TextError, match="no text and no list of signs"):
        call(given)


@pytest.mark.parametrize("call", CALLS, ids=lambda c: f"{c.__module__}.{c.__name__}")
@pytest.mark.parametrize("entry", [5, None, [5], [None], ["文化"], [("文",)], [("文", "x")], [(5, 0.5)],
                                   [("文", math.nan)], [("文", 2)], [("", 0.5)], [("文", None)]], ids=repr)
def test_wrong_entries(call, entry):
    with pytest.raises(TextError):
        call(["文", entry])


def test_signs_without_end():
    with pytest.raises(TextError, match="More than 5,000 signs"):
        signs(itertools.repeat([("文", 1.0)]))


@pytest.mark.parametrize("k", ["x", None, 0, -1, 2.5, True, 10**9])
def test_a_k_that_is_no_number_of_ways(k):
    for call in (signature.parse, readaid.line):
        with pytest.raises(OptionError):
            call("江戸住正光作", k=k)
