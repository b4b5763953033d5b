"""Where a signature was made or its maker lived: provinces, towns, wards, streets, one after the other.

Conventions: an ``Address`` covers signs ``start`` to ``end`` of a text in today's forms. Costs are -700 ln p, 0 for
places of ``tables/signature_places.tsv``; names of ``tables/place_names.tsv`` (UniDic) cost a little, a street that no
table knows (雉子町) more. An address may run over a column's end, a place name inside it may not.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from readaid.script.rows import load
from readaid.script.signs import fold

#: Words behind a place name, and behind one to three signs that no table knows: 石川県, 雉子町.
UNITS = ("国", "郡", "県", "府", "市", "町", "村", "区", "郷", "里", "荘", "庄", "街", "宿", "駅", "丁", "州")
_AFTER_PLACE = ("城下", "城", "山下", "表", "在", "東", "西", "南", "北", "之", "ノ", "府下", "市中", "近郊")
_COUNTED = ("丁目", "番地", "番町", "条", "番", "丁", "号地", "号")
_NUMBERS = frozenset("一二三四五六七八九十廿百壱弐参〇0123456789")
#: Our own choice: a name of UniDic's list; an unknown name with a unit at the start, and later; a word behind a place.
_LISTED, _UNKNOWN_FIRST, _UNKNOWN_LATER, _BEHIND = 20.0, 200.0, 60.0, 20.0
_LONGEST = 5
_KINDS = ("province", "short", "new province", "place")


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the tables: kind, reading, what or where it is."""

    kind: str
    reading: str
    meaning: str


@cache
def places() -> dict[str, Place]:
    """Places of our own table by name in today's forms."""
    def make(row: dict[str, str]) -> tuple[str, Place]:
        if row["kind"] not in _KINDS or not row["reading"]:
            raise ValueError(f"{row['name']}: kind {row['kind']!r}")
        return row["name"], Place(row["kind"], row["reading"], row["meaning"])

    rows = load("signature_places.tsv", ("kind", "name", "reading", "meaning"), make)
    return {fold(name): place for name, place in rows}


@cache
def listed() -> dict[str, str]:
    """Place names of UniDic's list with their reading."""
    return dict(load("place_names.tsv", ("name", "reading", "cost"), lambda r: (fold(r["name"]), r["reading"])))


def _known(word: str) -> float | None:
    if word in places():
        return 0.0
    return _LISTED if word in listed() else None


def found(text: str, start: int, parted: frozenset[int] = frozenset()) -> dict[int, float]:
    """Ends and costs of the addresses that may begin at a sign; ``parted`` are places where a column or word ends.

    >>> found("東京市下谷区住", 0)
    {2: 0.0, 3: 20.0, 5: 20.0, 6: 40.0}
    """
    reached: dict[int, float] = {start: 0.0}
    made: dict[int, float] = {}
    for place in range(start, len(text)):
        if place not in reached:
            continue
        for end, cost in _segments(text, place, place == start):
            if any(p in parted for p in range(place + 1, end)):
                continue
            whole = reached[place] + cost
            if whole < made.get(end, 1e9):
                made[end] = reached[end] = whole
    return dict(sorted(made.items()))


def _segments(text: str, start: int, first: bool) -> list[tuple[int, float]]:
    made: list[tuple[int, float]] = []
    for end in range(start + 1, min(start + _LONGEST, len(text)) + 1):
        cost = _known(text[start:end])
        if cost is not None:
            made.append((end, cost))
    if not first:
        for word in (*_AFTER_PLACE, *UNITS):
            if text.startswith(word, start):
                made.append((start + len(word), _BEHIND))
    number = start
    while number < len(text) and text[number] in _NUMBERS:
        number += 1
    if number > start and not first:
        made += [(number + len(w), 0.0) for w in _COUNTED if text.startswith(w, number)]
    for length in (1, 2, 3):  # 雉子町, 本石町: one to three signs and a unit
        end = start + length
        if end < len(text) and text[end] in UNITS and not set(text[start:end]) & set("住於作造彫刻年月日歳門之"):
            made.append((end + 1, _UNKNOWN_FIRST if first else _UNKNOWN_LATER))
    return made


def reading(text: str) -> str:
    """The reading of a place in today's forms, empty if no table has it.

    >>> reading("崎陽"), reading("浅草")
    ('きよう', 'あさくさ')
    """
    return places()[text].reading if text in places() else listed().get(text, "")
