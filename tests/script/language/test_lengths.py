"""Lengths and weights as they are typed; conversions by the weights and measures law of 1891 (1 shaku = 10/33 m)."""

import pytest

from readaid.core.errors import OptionError
from readaid.script.lengths import length, weight


@pytest.mark.parametrize(("typed", "mm"), [("３ｃｍ", 30.0), (" .5 ", 0.5), ("1 尺", 303.0303), ("2 bu", 6.0606),
                                           ("1 IN", 25.4)])
def test_lengths_in_every_unit(typed, mm):
    assert length(typed) == pytest.approx(mm, abs=1e-4)


@pytest.mark.parametrize("typed", ["", "0", "-3", "12.5.1", "3 g", "about 3", "1e3", "nan", "9" * 400])
@pytest.mark.parametrize("read", [length, weight])
def test_what_is_no_measure_is_told(read, typed):
    if read is weight and typed == "3 g":
        typed = "3 cm"
    with pytest.raises(OptionError, match="That is no"):
        read(typed)
