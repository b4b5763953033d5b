"""Reading order by hand: moving a sign or a column.

Conventions: an order is a list of columns from the right, each a list of
character ids; the same characters before and after.
"""

from __future__ import annotations

import dataclasses

from readaid.core.character import Inscription
from readaid.core.contents import Record
from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Photo
from readaid.widgets.desk import Desk

STEPS = ("earlier", "later", "break", "join", "right", "left", "by_position")


def _order(desk: Desk) -> list[list[str]]:
    target = desk.find(Inscription, desk.inscription)
    return [list(c) for c in target.columns] if target else []


def _where(columns: list[list[str]], character: str) -> tuple[int, int]:
    for i, column in enumerate(columns):
        if character in column:
            return i, column.index(character)
    raise OptionError("That sign is in no column", character, "choose a sign of this inscription")


def moved(desk: Desk, character: str, step: str) -> list[list[str]]:
    """The order after one step of a sign (or of its column)."""
    if step not in STEPS:
        raise unknown_option("step", step, STEPS)
    columns = _order(desk)
    if step == "by_position":
        return by_position(desk, columns)
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


def placed_before(desk: Desk, character: str, before: str) -> list[list[str]]:
    """The order with one sign put before another."""
    columns = [[c for c in column if c != character] for column in _order(desk)]
    i, j = _where(columns, before)
    columns[i].insert(j, character)
    return [c for c in columns if c]


def placed_last(desk: Desk, character: str, column: int) -> list[list[str]]:
    """The order with a sign put at the end of a column (counted from 1)."""
    columns = [[c for c in col if c != character] for col in _order(desk)]
    if not 1 <= column <= len(columns):
        raise OptionError(f"There is no column {column}", cure=f"choose 1 to {len(columns)}")
    columns[column - 1].append(character)
    return [c for c in columns if c]


def by_position(desk: Desk, columns: list[list[str]]) -> list[list[str]]:
    """Order all signs by where they stand: columns by the middle from the right, each from top to bottom.

    A sign belongs to a column when its middle lies within half a usual width of the column's.
    """
    photo = desk.find(Photo, desk.photo)
    zones = {z.id: z for z in desk.piece.surfaces.zones_on(photo)} if photo is not None else {}
    held = {k.id: k for k in desk.contents.characters}
    rank = {c: n for n, c in enumerate(c for column in columns for c in column)}
    placed: list[tuple[float, float, float, str]] = []
    rest = []
    for c in rank:
        zone = (
            next((zones[z] for z in held[c].zones if z in zones), None)
            if c in held
            else None
        )
        if zone is None:
            rest.append(c)
        else:
            x, y, w, h = zone.box
            if photo is not None and photo.mirrored:  # columns count from the right of what is read
                x = photo.width - x - w
            placed.append((x + w / 2, y + h / 2, w, c))
    if not placed:
        return columns
    usual = sorted(p[2] for p in placed)[len(placed) // 2]
    groups: list[list[tuple[float, float, float, str]]] = []
    for item in sorted(placed, key=lambda p: -p[0]):
        middle = sum(p[0] for p in groups[-1]) / len(groups[-1]) if groups else 0.0
        if groups and abs(middle - item[0]) <= usual * 0.75:
            groups[-1].append(item)
        else:
            groups.append([item])
    ordered = [[p[3] for p in sorted(g, key=lambda p: (p[1], rank[p[3]]))] for g in groups]
    return ordered + ([rest] if rest else [])


def unjoin(desk: Desk, zone: str) -> None:
    """One sign for one zone again: further signs of the zone go, a sign's further zones get a sign of their own."""
    desk.piece.once(lambda: _unjoin(desk, zone))


def _unjoin(desk: Desk, zone: str) -> None:
    from readaid.core.character import Character

    contents = desk.contents
    target = desk.find(Inscription, desk.inscription)
    held = {k.id: k for k in desk.ordered() if zone in k.zones}
    if target is None or not held:
        raise OptionError("This zone is in no column", zone, "choose a zone of this inscription")
    columns = [list(c) for c in target.columns]
    first, *others = held.values()
    changed: list[Record] = []
    gone = {k.id for k in others}
    columns = [[c for c in column if c not in gone] for column in columns]
    if len(first.zones) > 1:
        changed.append(dataclasses.replace(first, zones=first.zones[:1]))
        i, j = _where(columns, first.id)
        known = {z.id for z in contents.zones}
        for extra in reversed([z for z in first.zones[1:] if z in known]):
            made = Character(zones=(extra,))
            changed.append(made)
            columns[i].insert(j + 1, made.id)
    changed.append(dataclasses.replace(target, columns=tuple(tuple(c) for c in columns if c)))
    desk.piece.save(*changed, reason="joining undone", withdraw=[k.id for k in others])
