"""Make ``readaid/script/tables/calendar_years.tsv`` from a table of old-calendar years.

Input (first argument): a TSV of year, Julian day number of its first day, leap month (0: none) and the
month lengths in order, as the open project sugi/ya-wareki-js (BSD-2-Clause) gives them. Only the facts
are carried over: one letter a month, and the day count is rebuilt from the first day alone, so a wrong
length anywhere shows in the last row.
"""

import sys
from pathlib import Path

OUT = Path(__file__).resolve().parents[2] / "readaid" / "script" / "tables" / "calendar_years.tsv"
HEADER = """\
# The months of the old Japanese calendar, 445-1872. Long (L) is 30 days, short (S) 29; the twelfth month of 1872 was
# cut to 2 days (a digit) when the Gregorian calendar began on 1873-01-01.
# leap: the month the leap month follows, 0 for none; its letter stands right after that month's letter.
# Day 1 of the first row is Julian day 1883618; the rows join without a gap, and the day after the last is 2405160.
# Source of the facts: sugi/ya-wareki-js (BSD-2-Clause, Copyright (c) 2026 Tatsuki Sugiura), after manakai data-locale,
# which names as its source Uchida Masao, Nihon rekijitsu genten. Made by data/make_tables/calendar.py.
year\tleap\tmonths
"""


def main(source: str) -> None:
    rows, expected = [], None
    for line in Path(source).read_text(encoding="utf-8").splitlines():
        if line.startswith("#") or not line.strip():
            continue
        year, first, leap, lengths = line.split("\t")
        days = [int(n) for n in lengths.split()]
        if expected is not None and int(first) != expected:
            raise SystemExit(f"year {year}: begins on {first}, the year before ends before {expected}")
        expected = int(first) + sum(days)
        rows.append(f"{year}\t{leap}\t" + "".join({30: "L", 29: "S"}.get(d, str(d)) for d in days))
    OUT.write_text(HEADER + "\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
