"""Reading order by hand: moving a sign or a column, ordering by where the signs stand, one sign for one zone again.

Conventions: an order is a list of columns from the right, each a list of character ids; the same characters before and
after. Nothing is saved here but by :func:`unjoin`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

from readaid.core.character import Character, Inscription
from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Photo

if TYPE_CHECKING:
    from readaid.piece.open_piece import OpenPiece

Order = list[list[str]]
STEPS = ("earlier", "later", "break", "join", "right", "left")
#: Signs whose middles lie nearer than this share of a usual width stand in one column.
NEAR = 0.75


def _where(columns: Order, character: str) -> tuple[int, int]:
    for i, column in enumerate(columns):
        if character in column:
            return i, column.index(character)
    raise OptionError("That sign is in no column", character, "choose a sign of this inscription")


def moved(order: Sequence[Sequence[str]], character: str, step: str) -> Order:
    """The order after one step of a sign (or of its column).

    >>> moved([["a", "b"], ["c"]], "b", "later"), moved([["a", "b"], ["c"]], "b", "break")
    ([['a'], ['b', 'c']], [['a'], ['b'], ['c']])
    """
    if step not in STEPS:
        raise unknown_option("step", step, STEPS)
    columns = [list(c) for c in order]
    i, j = _where(columns, character)
    column = columns[i]
    if step == "earlier":
        if j:
            column[j - 1], column[j] = column[j], column[j - 1]
        elif i:
            columns[i - 1].append(column.pop(0))
    elif step == "later":
        if j + 1 < len(column):
            column[j + 1], column[j] = column[j], column[j + 1]
        elif i + 1 < len(columns):
            columns[i + 1].insert(0, column.pop())
    elif step == "break" and j:
        columns[i : i + 1] = [column[:j], column[j:]]
    elif step == "join" and i:
        columns[i - 1 : i + 1] = [columns[i - 1] + column]
    elif step == "right" and i:
        columns[i - 1], columns[i] = columns[i], columns[i - 1]
    elif step == "left" and i + 1 < len(columns):
        columns[i + 1], columns[i] = columns[i], columns[i + 1]
    return [c for c in columns if c]


def placed_before(order: Sequence[Sequence[str]], character: str, before: str) -> Order:
    """The order with one sign put before another."""
    columns = [[c for c in column if c != character] for column in order]
    i, j = _where(columns, before)
    columns[i].insert(j, character)
    return [c for c in columns if c]


def placed_last(order: Sequence[Sequence[str]], character: str, column: int) -> Order:
    """The order with a sign put at the end of a column (counted from 1)."""
    columns = [[c for c in col if c != character] for col in order]
    if not 1 <= column <= len(columns):
        raise OptionError(f"There is no column {column}", cure=f"choose 1 to {len(columns)}")
    columns[column - 1].append(character)
    return [c for c in columns if c]


def by_position(piece: OpenPiece, target: Inscription, photo: Photo | None) -> Order:
    """All signs by where they stand: columns by the middle from the right, each from top to bottom.

    A sign belongs to a column when its middle lies within half a usual width of the column's.
    """
    zones = {z.id: z for z in piece.surfaces.zones_on(photo)} if photo is not None else {}
    held = {k.id: k for k in piece.contents.characters}
    rank = {c: n for n, c in enumerate(target.characters)}
    placed: list[tuple[float, float, float, str]] = []
    rest = []
    for c in rank:
        zone = next((zones[z] for z in held[c].zones if z in zones), None) if c in held else None
        if zone is None:
            rest.append(c)
        else:
            x, y, w, h = zone.box
            if photo is not None and photo.mirrored:  # columns count from the right of what is read
                x = photo.width - x - w
            placed.append((x + w / 2, y + h / 2, w, c))
    if not placed:
        return [list(c) for c in target.columns]
    usual = sorted(p[2] for p in placed)[len(placed) // 2]
    groups: list[list[tuple[float, float, float, str]]] = []
    for item in sorted(placed, key=lambda p: -p[0]):
        middle = sum(p[0] for p in groups[-1]) / len(groups[-1]) if groups else 0.0
        if groups and abs(middle - item[0]) <= usual * NEAR:
            groups[-1].append(item)
        else:
            groups.append([item])
    ordered = [[p[3] for p in sorted(g, key=lambda p: (p[1], rank[p[3]]))] for g in groups]
    return ordered + ([rest] if rest else [])


def unjoin(piece: OpenPiece, inscription: str, zone: str) -> None:
    """One sign for one zone again: further signs of the zone go, a sign's further zones get a sign of their own.

    One gesture. Raises OptionError where the zone is in no column of the inscription.
    """
    piece.once(lambda: _unjoin(piece, inscription, zone))


def _unjoin(piece: OpenPiece, inscription: str, zone: str) -> None:
    contents = piece.contents
    target = next((i for i in contents.inscriptions if i.id == inscription), None)
    by_id = {k.id: k for k in contents.characters}
    held = [by_id[c] for c in target.characters if c in by_id and zone in by_id[c].zones] if target else []
    if target is None or not held:
        raise OptionError("This zone is in no column", zone, "choose a zone of this inscription")
    first, *others = held
    gone = {k.id for k in others}
    columns = [[c for c in column if c not in gone] for column in target.columns]
    made: list[Character] = []
    if len(first.zones) > 1:
        known = {z.id for z in contents.zones}
        i, j = _where(columns, first.id)
        made = [Character(zones=(extra,)) for extra in first.zones[1:] if extra in known]
        columns[i][j + 1 : j + 1] = [k.id for k in made]
        first = dataclasses.replace(first, zones=first.zones[:1])
    changed = dataclasses.replace(target, columns=tuple(tuple(c) for c in columns if c))
    piece.save(first, *made, changed, reason="joining undone", withdraw=sorted(gone))
