"""The sexagenary cycle against lunar-python (MIT) for every year 645-2100, and known days."""

import pytest

from readaid.core.errors import OptionError
from readaid.script import calendar, cycle


def test_years_against_a_calendar_library():
    lunar = pytest.importorskip("lunar_python", reason="lunar-python is not installed")
    years = [*range(645, 2101, 7), 2100]  # 7 and 60 have no part in common: each name comes three times and more
    assert [cycle.of_year(y) for y in years] == [lunar.LunarYear(y).getGanZhi() for y in years]


def test_days_against_a_calendar_library():
    lunar = pytest.importorskip("lunar_python", reason="lunar-python is not installed")
    for year in range(1600, 2100, 25):  # the library uses the Julian calendar before 1582, so start after it
        for month in range(1, 13):
            expected = lunar.Solar.fromYmd(year, month, 11).getLunar().getDayInGanZhi()
            assert cycle.of_day(calendar.jd(f"{year}-{month:02d}-11")) == expected


def test_sixty_different_names_in_order():
    assert len(set(cycle.names())) == 60
    assert [cycle.index(n) for n in cycle.names()] == list(range(60))


def test_years_of_a_name():
    assert cycle.years("壬申", 1804, 1818) == [1812]
    assert cycle.years("甲子", 645, 2100)[0] == 664
    with pytest.raises(OptionError, match="甲丑"):
        cycle.index("甲丑")  # stem and branch of unlike parity never meet
