"""The working period, and other evidence that ranks the times at which a cycle name came round.

Conventions: years are Western. The working period is where the reader's pieces lie (1600 to 1912 unless set); datings
outside it are *folded*, never dropped: they stand after the others and say so. Evidence is a span of years with its
reason (a signer's working years, a place name in use from 1868); a dating outside the span stands after those inside.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import groupby

from readaid.core.dating import Dating
from readaid.core.errors import OptionError

#: Most signed small metalwork lies here: common practice, no source.
PERIOD = (1600, 1912)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Years that something else speaks for; None where one end is open."""

    first: int | None
    last: int | None
    why: str

    def fits(self, dating: Dating) -> bool:
        """Whether a dating touches the span."""
        first, last = int(dating.first[:4]), int(dating.last[:4])
        return (self.last is None or first <= self.last) and (self.first is None or last >= self.first)

    @property
    def words(self) -> str:
        """The span and its reason."""
        if self.first is None or self.last is None:
            span = f"until {self.last}" if self.first is None else f"from {self.first}"
        else:
            span = f"{self.first} to {self.last}"
        return f"{self.why} ({span})"


def written(text: str) -> tuple[int, int]:
    """A period as typed, ``1700-1868``. Raises OptionError for anything else.

    >>> written("1700-1868")
    (1700, 1868)
    """
    found = re.fullmatch(r"\s*(\d{3,4})\s*(?:-|–|to|\.\.)\s*(\d{3,4})\s*", text)
    if not found or int(found[1]) > int(found[2]):
        raise OptionError(f"'{text}' is no period", given=text,
                          cure="write it as two years, the earlier first: 1700-1868")
    return int(found[1]), int(found[2])


def ranked(priced: list[tuple[float, Dating]], period: tuple[int, int],
           evidence: tuple[Evidence, ...] = ()) -> list[Dating]:
    """Datings in the order they are told: unfolded before folded, cheap before dear, then by evidence, then by time.

    A dating outside the period is folded only where one inside is as cheap: an era that stands there is never folded.
    """
    inside = [cost for cost, d in priced if _touches(d, period)]
    best = min(inside, default=None)
    made = []
    for cost, dating in priced:
        folded = best is not None and cost >= best - 1e-6 and not _touches(dating, period)
        against = tuple(e.words for e in evidence if not e.fits(dating))
        notes = (*dating.notes, *(f"does not fit {w}" for w in against))
        made.append((folded, round(cost, 3), len(against), replace(dating, folded=folded, notes=notes)))
    made.sort(key=lambda m: (*m[:3], m[3].first, m[3].court, m[3].era))
    return [dating for *_, dating in made]


def _touches(dating: Dating, period: tuple[int, int]) -> bool:
    return int(dating.first[:4]) <= period[1] and int(dating.last[:4]) >= period[0]


def told(datings: list[Dating]) -> str:
    """How many lie in the period and how many are folded away, in one line; empty for a single dating.

    >>> told([])
    ''
    """
    folds = {folded: sum(1 for _ in group) for folded, group in groupby(datings, key=lambda d: d.folded)}
    if len(datings) < 2:
        return ""
    shown, hidden = folds.get(False, 0), folds.get(True, 0)
    return f"{shown} fit{f'; {hidden} more outside the working period' if hidden else ''}"
