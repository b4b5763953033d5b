"""Places where it is not known how many signs are lost: how a search reads round them.

Conventions
-----------
* A place may hold from ``least`` to ``most`` lost signs; (0, 0) says that their number is not known at all.
* The search knows places of one sign and more. A place that may hold none is therefore tried with its signs and without
  them, and the way whose best reading costs least is taken: what fills a place costs what all its fillings together
  do, so that every number of signs is as likely as another before the text is looked at.
* Places (0-based) are those of the signs that were given, whatever was left out on the way.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from readaid.core.character import Character
from readaid.core.confidence import Damage
from readaid.core.errors import LatticeError
from readaid.core.reading import VerseMatch

if TYPE_CHECKING:
    from readaid.reading.solve import Solution

Columns = Sequence[Sequence[Character]]
#: Signs that a place of unknown length is searched with at most: a verse line.
UNKNOWN = 7
#: Places that are tried each by itself; of more, all stand or none does (each doubles the searches).
MOST_APART = 2


def open_places(signs: Sequence[Character]) -> list[int]:
    """Places that may hold no sign at all.

    >>> open_places([Character(), Character(damage=Damage.LOST, missing=(0, 3))])
    [1]
    """
    return [at for at, c in enumerate(signs) if c.damage is Damage.LOST and not c.candidates and c.missing[0] < 1]


def bounded(sign: Character) -> Character:
    """A sign as a search takes it: a place that may hold none holds one at least, an unknown number is a line at most.

    >>> bounded(Character(damage=Damage.LOST, missing=(0, 3))).missing
    (1, 3)
    """
    if not open_places([sign]):
        return sign
    return replace(sign, missing=(1, sign.missing[1] or UNKNOWN))


def ways(columns: Columns) -> Iterator[tuple[list[list[Character]], list[int]]]:
    """Each way to take the open places, all of them standing first: columns as a search takes them, places that stand.

    A way without any sign is none.
    """
    signs = [c for column in columns for c in column]
    found = open_places(signs)
    left_out: list[tuple[int, ...]] = [(), tuple(found)] if len(found) > MOST_APART else [
        gone for n in range(len(found) + 1) for gone in itertools.combinations(found, n)]
    for gone in left_out:
        at = itertools.count()
        kept = [[bounded(c) for c in column if next(at) not in gone] for column in columns]
        if any(kept):
            yield [c for c in kept if c], [n for n in range(len(signs)) if n not in gone]


def solved(columns: Columns, form: str | None, k: int, time_limit: float | None) -> tuple[Solution, list[int]]:
    """The readings of the likelier way, and the place of each of its signs among those given.

    ``time_limit`` in seconds, for all ways together. Shares hold among the readings of that way.

    Raises LatticeError where no way leads through, TextError where there is no sign.
    """
    from readaid.reading.solve import solve

    tried = list(ways(columns)) or [([list(c) for c in columns], [])]  # without a sign the search says so itself
    limit = time_limit / len(tried) if time_limit is not None else time_limit
    if len(tried) == 1:
        return solve(tried[0][0], form=form, k=k, time_limit=limit), tried[0][1]
    found: list[tuple[Solution, list[int]]] = []
    refused: LatticeError | None = None
    for signs, places in tried:
        try:
            one = solve(signs, form=form, k=k, time_limit=limit)
        except LatticeError as error:
            refused = error
            continue
        if one.readings:
            found.append((one, places))
    if not found:
        raise refused or LatticeError("No reading leads from the first sign to the last")
    return min(found, key=lambda pair: pair[0].readings[0].cost)


def nearest_verses(columns: Columns, find: Callable[[list[Character]], Sequence[VerseMatch]]) -> list[VerseMatch]:
    """Known verses near the signs, by the way that comes nearest to one."""
    found = [list(find([c for column in signs for c in column])) for signs, _ in ways(columns)]
    return min(found, key=lambda matches: matches[0].distance if matches else float("inf"), default=[])
