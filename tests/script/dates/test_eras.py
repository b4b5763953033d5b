"""The era table by a three-way check: ours, Unicode CLDR 48, and the package japanera; every exception is named.

CLDR's days before Meiji are days of the old calendar, so they pass through our calendar first; japanera gives
proleptic Gregorian days. Where two of three agree against the third, the reason is written beside it.
"""

from pathlib import Path

import pytest

from readaid.core.errors import OptionError
from readaid.script import calendar, eras
from readaid.script.calendar import OldDay
from readaid.script.signs import fold

FACTS = Path(__file__).parent / "cldr_starts.tsv"
CLDR = dict(line.split("\t") for line in FACTS.read_text(encoding="utf-8").splitlines()[4:])

#: Northern eras that CLDR does not carry.
NOT_IN_CLDR = {"正慶", "暦応", "康永", "貞和", "観応", "文和", "延文", "康安", "貞治", "応安", "永和", "永徳"}
CLDR_EXCEPTIONS = {
    "白鳳": "not an era of the record: counted from 672 in later tradition; we do not carry it",
    "延長": "CLDR has no leap months: the day is 4i-11 (leap fourth month), written there as 4-11",
    "建徳": "southern court, sources differ: 2-5 here, 7-24 in CLDR and japanera",
    "文中": "southern court, the day is not recorded for sure: 4-28 here, 4-1 in CLDR, 4-? in japanera",
    "至徳": "CLDR has 1387-8-22, the day before the era after it; 1384-2-27 here and in japanera",
    "応仁": "CLDR 3-3; 3-5 here and in japanera",
    "長享": "CLDR 7-29; 7-20 here and in japanera",
}
JAPANERA_EXCEPTIONS = {
    "建徳": "as above",
    "文中": "as above",
    "明治": "japanera starts it on 1868-01-23, the retroactive first day taken by another count; proclaimed 1868-10-23",
}
JAPANERA_END_EXCEPTIONS = {
    "白雉": "no era followed: japanera ends it with the emperor's death, our source with the year",
    "朱鳥": "no era followed: the same",
    "正平": "the start of 建徳, see there",
    "建徳": "the start of 文中, see there",
    "令和": "still running",
}


def cldr_jd(start: str) -> int:
    year, month, day = map(int, start.split("-"))
    if (year, month, day) >= (1868, 10, 23):
        return calendar.jd(f"{year:04d}-{month:02d}-{day:02d}")
    return calendar.to_jd(OldDay(year, month, False, day))


def test_cldr_starts():
    assert len(CLDR) == 237
    ours = {e.name: e.first for e in eras.eras()}
    assert set(ours) - set(CLDR) == NOT_IN_CLDR
    different = {n for n, start in CLDR.items() if n not in ours or cldr_jd(start) != ours[n]}
    assert different == set(CLDR_EXCEPTIONS)


def _japanera():
    data = pytest.importorskip("japanera.era_data", reason="japanera is not installed")
    rows = (*data._ERA_DATA_GENERAL, *data._ERA_DATA_DAIKAKUJI, *data._ERA_DATA_JIMYOUIN)
    return [(name, since.isoformat(), until and until.isoformat()) for name, _, since, until, _ in rows if name]


def test_japanera_starts_and_ends():
    starts: dict[str, set] = {}
    ends: dict[str, set] = {}
    for name, since, until in _japanera():
        starts.setdefault(name, set()).add(since)
        ends.setdefault(name, set()).add(until)
    assert set(starts) == {e.name for e in eras.eras()}
    assert {e.name for e in eras.eras() if calendar.iso(e.first) not in starts[e.name]} == set(JAPANERA_EXCEPTIONS)
    assert {e.name for e in eras.eras() if calendar.iso(e.last + 1) not in ends[e.name]} == set(JAPANERA_END_EXCEPTIONS)


def test_three_ways_agree_on_all_but_the_named():
    japanera = {(n, s) for n, s, _ in _japanera()}
    agreeing = [e.name for e in eras.eras() if e.name in CLDR and cldr_jd(CLDR[e.name]) == e.first
                and (e.name, calendar.iso(e.first)) in japanera]
    assert len(agreeing) == 248 - len(NOT_IN_CLDR) - len((set(CLDR_EXCEPTIONS) | set(JAPANERA_EXCEPTIONS)) - {"白鳳"})


def test_one_era_at_a_time_outside_the_two_courts():
    """From 701 every day has an era; two only from 1331 to 1392 and never three."""
    for day in range(calendar.jd("0701-06-01"), calendar.jd("1900-01-01"), 20):
        running = eras.on_day(day)
        two_courts = calendar.jd("1331-09-19") <= day <= calendar.jd("1392-11-26")
        assert len(running) in ((1, 2) if two_courts else (1,)), calendar.iso(day)


@pytest.mark.parametrize(("day", "names"), [
    ("1350-06-01", {"正平", "観応"}), ("1392-06-01", {"元中", "明徳"}), ("1337-06-01", {"建武", "延元"}),
    ("1332-01-05", {"元弘", "元徳"}), ("1912-07-29", {"明治"}), ("1912-07-30", {"大正"}), ("2019-05-01", {"令和"})])
def test_days_with_their_eras(day, names):
    assert {e.name for e in eras.on_day(calendar.jd(day))} == names


def test_names_stand_in_todays_forms():
    assert [e.name for e in eras.eras() if fold(e.name) != e.name] == []


def test_unknown_era_is_refused_with_the_nearest():
    with pytest.raises(OptionError, match="did you mean"):
        eras.era("文花")
