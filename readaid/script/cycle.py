"""The sexagenary cycle (kanshi, 甲子 to 癸亥) of years and days.

Conventions: an index is 0..59, 甲子 = 0. Year ``y`` (old-calendar year, Western number) has index
``(y - 4) % 60``; the day with Julian day number ``jd`` has index ``(jd + 49) % 60`` (standard formulas).
"""

from __future__ import annotations

from functools import cache

from readaid.core.errors import unknown_option
from readaid.script.rows import load


@cache
def signs(kind: str) -> tuple[str, ...]:
    """Signs of a kind in order: "stem" (10), "branch" (12), and their classical names "stem-name", "branch-name".

    >>> "".join(signs("branch"))
    '子丑寅卯辰巳午未申酉戌亥'
    """
    rows = load("cycle_signs.tsv", ("kind", "sign", "number", "sound", "meaning"), _row)
    kinds = {k for k, _, _ in rows}
    if kind not in kinds:
        raise unknown_option("kind of cycle sign", kind, kinds)
    return tuple(sign for k, sign, _ in sorted(rows, key=lambda r: r[2]) if k == kind)


def _row(row: dict[str, str]) -> tuple[str, str, int]:
    number = int(row["number"])
    if not 0 <= number < (10 if row["kind"].startswith("stem") else 12):
        raise ValueError(f"number {number}")
    return row["kind"], row["sign"], number


@cache
def names() -> tuple[str, ...]:
    """The sixty names in order.

    >>> names()[0], names()[59]
    ('甲子', '癸亥')
    """
    stems, branches = signs("stem"), signs("branch")
    return tuple(stems[i % 10] + branches[i % 12] for i in range(60))


def of_year(year: int) -> str:
    """Name of a year.

    >>> of_year(1812), of_year(1848)
    ('壬申', '戊申')
    """
    return names()[(year - 4) % 60]


def of_day(jd: int) -> str:
    """Name of a day given by its Julian day number.

    >>> of_day(2451545)  # 2000-01-01
    '戊午'
    """
    return names()[(jd + 49) % 60]


def index(name: str) -> int:
    """Place in the cycle, 0..59. Raises OptionError for anything else (甲丑 does not exist).

    >>> index("壬申")
    8
    """
    # Stem and branch go together only where both are odd or both even, so half of all pairs do not exist.
    if name not in names():
        raise unknown_option("sexagenary name", name, names())
    return names().index(name)


def years(name: str, first: int, last: int) -> list[int]:
    """Years of that name from ``first`` to ``last``, both inclusive.

    >>> years("甲子", 1700, 1900)
    [1744, 1804, 1864]
    """
    start = first + (index(name) - (first - 4)) % 60
    return list(range(start, last + 1, 60))
