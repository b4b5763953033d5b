"""The order of signs where two readers changed it: what either drew has its place, what either took away is gone.

Conventions: an order is columns from the right, each a tuple of character ids. Signs that both have keep our order;
whether the two orders of these contradict each other is told beside the result.
"""

from __future__ import annotations

Columns = tuple[tuple[str, ...], ...]


def woven(was: Columns, ours: Columns, theirs: Columns) -> tuple[Columns, bool]:
    """Our order with their new signs in it and without those they took away; and whether both put old signs elsewhere.

    A new sign of theirs stands after the sign it follows in their column, else before the one it precedes, else in a
    column of its own.

    >>> woven((("a", "b"),), (("a", "x", "b"),), (("a", "b", "y"), ("z",)))
    ((('a', 'x', 'b', 'y'), ('z',)), False)
    """
    before, there = set(_flat(was)), set(_flat(theirs))
    gone = before - there
    # Taken away by either is gone: a sign that one of them found to be a scratch must not come back by the merge.
    columns = [[id for id in column if id not in gone] for column in ours]
    for at, column in enumerate(theirs):
        for place, id in enumerate(column):
            if id in before or any(id in c for c in columns):
                continue
            _put(columns, id, place, at, theirs)
    common = before & there & set(_flat(ours))
    mine, other, old = (_only(c, common) for c in (ours, theirs, was))
    clash = mine != old and other != old and mine != other
    if mine == old and not clash and other != old:  # they alone put the old signs in another order
        return _swapped(tuple(map(tuple, columns)), theirs), False
    return tuple(tuple(c) for c in columns if c), clash


def _put(columns: list[list[str]], id: str, place: int, at: int, source: Columns) -> None:
    """Put a sign that stands in column ``at`` of ``source``, at ``place`` there, beside the neighbours it has here."""
    home = {other: column for column in columns for other in column}
    # After what precedes it rather than before what follows: a sign found at a column's foot belongs to that column.
    for step, neighbours in ((1, source[at][:place][::-1]), (0, source[at][place + 1:])):
        for neighbour in neighbours:
            if neighbour in home:
                home[neighbour].insert(home[neighbour].index(neighbour) + step, id)
                return
    for step, others in ((1, _flat(source[:at])[::-1]), (0, _flat(source[at + 1:]))):
        for neighbour in others:
            if neighbour in home:
                columns.insert(columns.index(home[neighbour]) + step, [id])
                return
    columns.append([id])


def _swapped(merged: Columns, theirs: Columns) -> Columns:
    """Their order, with the signs that only we have put beside the neighbours they have here."""
    columns = [[id for id in column if any(id in c for c in merged)] for column in theirs]
    for at, column in enumerate(merged):
        for place, id in enumerate(column):
            if not any(id in c for c in columns):
                _put(columns, id, place, at, merged)
    return tuple(tuple(c) for c in columns if c)


def _flat(columns: Columns) -> list[str]:
    return [id for column in columns for id in column]


def _only(columns: Columns, kept: set[str]) -> list[list[str]]:
    """The columns with only some of their signs, empty ones left out."""
    return [c for c in ([id for id in column if id in kept] for column in columns) if c]
