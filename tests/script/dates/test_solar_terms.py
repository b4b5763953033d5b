"""Solar terms against lunar-python 1.4 (true terms, Chinese standard time) and published examples."""

from datetime import date

import pytest

from readaid.script import calendar, dates, solar_terms

lunar = pytest.importorskip("lunar_python", reason="oracle not installed: pip install lunar_python")


@pytest.mark.parametrize("year", range(1600, 2101, 7))
def test_the_sun_reaches_each_term_on_the_oracles_day(year):
    names = lunar.Lunar.fromYmd(year, 1, 1).getJieQiTable()
    for degrees in range(0, 360, 15):
        chinese = {"啓蟄": "惊蛰", "穀雨": "谷雨", "小満": "小满", "芒種": "芒种", "処暑": "处暑"}.get(
            solar_terms.name(degrees), solar_terms.name(degrees))
        day = names[chinese].toYmd()
        own = date.fromisoformat(calendar.iso(int(solar_terms.moment(degrees, int(day[:4])) + 0.5)))
        assert abs((own - date.fromisoformat(day)).days) <= 1  # an hour of clock time, and midnight near it


def test_a_term_gives_its_day_and_says_whose():
    d = dates.read("安政六年己未冬至日")[0]
    assert (d.first, d.last, d.month) == ("1859-12-22", "1859-12-22", 11)
    d = dates.read("文化九年夏至")[0]
    assert any("even division" in n for n in d.notes)  # 平気 until 1843: common knowledge of the calendars, from memory
    assert any("two days late" in n for n in dates.read("寛文九年夏至")[0].notes)


def test_a_term_that_an_old_year_lacks_or_has_twice():
    # 1832 of the old calendar has a leap month and so the beginning of spring at both ends: by the days of its table
    assert len(dates.read("天保三年立春")) == 2
    lacking = dates.read("文化九年立春")[0]
    assert any("does not fall in that year" in n for n in lacking.notes)
