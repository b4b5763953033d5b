"""The examination sheets of signatures, dates and kinds, and how an answer is marked against them.

Conventions: a sheet is a TSV beside this file; ``/`` in a text is a column break. A signature's answer is *wrong in its
persons* if its best parse names as a person what is none there, or leaves out a person who stands there; roles, dates
and parts are marked apart. A person counts as named if the last of the names written in the sheet is among the names
given, and every name given to a person is made of names that the sheet writes together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

from readaid.core.dating import Dating

#: 露石翁 names 露石: an old man's or a master's word behind a name makes no other person of him.
HONOURS = ("翁", "老人", "先生", "叟", "君", "氏", "公")
HERE = Path(__file__).parent


@dataclass(frozen=True)
class Expected:
    """A person of the sheet: the names in the order they stand, and the role."""

    names: tuple[str, ...]
    role: str

    def allows(self, name: str) -> bool:
        """Whether a name is made of neighbouring names of this person, and nothing else but an honorific behind."""
        runs = {"".join(self.names[i:j]) for i in range(len(self.names)) for j in range(i + 1, len(self.names) + 1)}
        runs.add("".join(self.names[:1] + self.names[-1:]))
        return any(name in (run, *(run + word for word in HONOURS)) for run in runs)


def rows(sheet: str) -> list[dict[str, str]]:
    """Rows of a sheet, column breaks as line breaks."""
    lines = [s for s in (HERE / sheet).read_text("utf-8").splitlines() if s and not s.startswith("#")]
    head = lines[0].split("\t")
    made = [dict(zip(head, [*s.split("\t"), *[""] * len(head)], strict=False)) for s in lines[1:]]
    for row in made:
        row["text"] = row["text"].replace("/", "\n")
    return made


def expected(cell: str) -> list[Expected]:
    """The persons of a cell such as ``一峯斎+正光:maker;梅渓:designer``."""
    if cell == "-":
        return []
    pairs = [entry.rsplit(":", 1) for entry in cell.split(";")]
    return [Expected(tuple(names.split("+")), role) for names, role in pairs]


def persons_wrong(cell: str, given: Iterable[tuple[str, ...]]) -> str:
    """Why the persons given (all names of each) are wrong; empty if they are right."""
    wanted, named = expected(cell), [[n for n in names if n] for names in given]
    named = [names for names in named if names]
    why = []
    for names in named:
        if not any(all(w.allows(n) for n in names) for w in wanted):
            why.append(f"{'・'.join(names)} is no person there")
    for w in wanted:
        if not any(w.names[-1] in n for names in named for n in names):
            why.append(f"{w.names[-1]} is not named")
    return "; ".join(why)


def roles_wrong(cell: str, given: Iterable[tuple[tuple[str, ...], str]]) -> str:
    """Expected persons whose role was not given."""
    held = list(given)
    missing = [w for w in expected(cell)
               if not any(role == w.role and any(w.names[-1] in n for n in names) for names, role in held)]
    return "; ".join(f"{w.names[-1]} is not {w.role}" for w in missing)


def date_wrong(row: dict[str, str], found: list[Dating]) -> str:
    """Why the first answer (or, for a cycle name alone, the set within 1600-1912) is wrong; empty if it is right."""
    wanted, note = row["expected"], row["note"]
    if wanted == "-":
        return f"{found[0].era} {found[0].first} for no Japanese date" if found else ""
    if not found:
        return "nothing found"
    best = found[0]
    if wanted.startswith("years="):
        inside = [int(d.first[:4]) for d in found if 1600 <= int(d.first[:4]) <= 1912]
        years, front = set(inside), {int(d.first[:4]) for d in found[:len(inside)]}
        due = {int(y) for y in wanted[6:].split()}
        return "" if years == due == front else f"first {sorted(front)}, within the period {sorted(years)}"
    where = re.fullmatch(r"(\D+)(\d+)(?:\.(L?)(\d+))?(?:\.(\d+))?", wanted)
    assert where, wanted
    era, year, leap, month, day = where[1], int(where[2]), bool(where[3]), where[4], where[5]
    if (best.era, best.year) != (era, year):
        return f"{best.era}{best.year}"
    if month and (best.month != int(month) or (not note and best.leap != leap)):
        return f"month {best.month}{' leap' if best.leap else ''}"
    if day and best.day != int(day):
        return f"day {best.day}"
    if note == "term":
        term = date.fromisoformat(row["first"])
        first, last = date.fromisoformat(best.first), date.fromisoformat(best.last)
        near = first - timedelta(2) <= term <= last + timedelta(2)
        return "" if near and (last - first).days <= 4 else f"{best.first} to {best.last}"
    if note and not any(note in n for n in best.notes):
        return f"no note holds {note}: {best.notes}"
    if (best.first, best.last) != (row["first"], row["last"]):
        return f"{best.first} to {best.last}"
    return ""


def parts_missing(cell: str, parts: Iterable[tuple[str, str]]) -> str:
    """Parts of the sheet that the parse does not hold (a part of that kind that contains the text)."""
    held = list(parts)
    wanted = [part.split("=") for part in cell.split(";") if part]
    return "; ".join(f"{kind} {text}" for kind, text in wanted if not any(k == kind and text in t for k, t in held))


def wilson(right: int, of: int) -> tuple[float, float]:
    """95 % interval of a share (Wilson 1927)."""
    if not of:
        return 0.0, 1.0
    z, p = 1.96, right / of
    middle, half = p + z * z / (2 * of), z * (p * (1 - p) / of + z * z / (4 * of * of)) ** 0.5
    return tuple((middle + s * half) / (1 + z * z / of) for s in (-1, 1))  # type: ignore[return-value]


def same_text(parts: Iterable[tuple[int, int]], length: int) -> bool:
    """Whether stretches cover a text from end to end without a gap."""
    spans = sorted(parts)
    return bool(spans) and spans[0][0] == 0 and spans[-1][1] == length and all(a[1] == b[0] for a, b in pairwise(spans))
