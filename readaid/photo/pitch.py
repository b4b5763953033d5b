"""Pitch: at what distance the signs of a column follow one another, and what it asks for.

Conventions: boxes (x, y, width, height) in pixels of the picture searched; columns from the right, their zones from
top to bottom; a *row* is read from the right, as horizontal tablets were until the 20th century (common practice, no
source). Pitch is counted between the middles of neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readaid.core.photo import Point, rectangle


@dataclass(frozen=True, slots=True)
class ProposedZone:
    """An outline and how likely it is one whole sign; ``joined`` where it is too tall for one, or was cut from a
    neighbour through ink: running writing that the reader should look at. ``guess`` where nothing was seen: the pitch
    of the neighbours asks for a sign there (see ``pitch``)."""

    outline: tuple[Point, ...]
    confidence: float
    joined: bool = False
    guess: bool = False


@dataclass(frozen=True, slots=True)
class ProposedColumn:
    """Zones from top to bottom, and how likely they are a column of writing; ``level`` where it is a row, from the
    right."""

    zones: tuple[ProposedZone, ...]
    confidence: float
    level: bool = False



Box = tuple[float, float, float, float]
#: A column tells its pitch from so many steps on; they may differ from their median by so much (share of it, median).
STEPS, EVEN = 3, 0.22
#: A step of about two pitches hides one sign. Scattered writing has such steps by chance: its pitch is not even.
HIDDEN = (1.6, 2.5)
#: How sure a guess is of being one sign: on rendered columns with one sign under a stain (``tests.bench.photo``).
GUESSED = 0.6
#: Writing stands in rows where signs follow one another this much closer sideways than downwards.
LEVEL = 0.8


def box(zone: ProposedZone) -> Box:
    """The upright box of a zone."""
    (x, y), (right, bottom) = zone.outline[0], zone.outline[2]
    return x, y, right - x, bottom - y


def supplied(columns: Sequence[ProposedColumn]) -> list[ProposedColumn]:
    """Columns with a guess wherever one sign is missing from an even pitch, as under a stain."""
    out: list[ProposedColumn] = []
    for column in columns:
        if out and not column.level and not out[-1].level:  # the finder parts a column where a sign is missing
            both = _supplied((*out[-1].zones, *column.zones))
            if len(both) > len(out[-1].zones) + len(column.zones) and both[len(out[-1].zones)].guess:
                sure = (out[-1].confidence + column.confidence) / 2
                out[-1] = ProposedColumn(tuple(both), round(sure, 3))
                continue
        out.append(replace(column, zones=tuple(_supplied(column.zones))))
    return out


def _supplied(zones: Sequence[ProposedZone]) -> list[ProposedZone]:
    boxes = [box(z) for z in zones]
    along = np.array([(x + w / 2, y + h / 2) for x, y, w, h in boxes]).reshape(-1, 2)
    away = np.diff(along, axis=0)
    if len(away) and (np.abs(away[:, 0]) > 0.7 * np.abs(away[:, 1])).any() and (away[:, 1] < np.abs(away[:, 0])).any():
        return list(zones) if not _level(away) else _placed(zones, boxes, along, np.abs(away[:, 0]))
    return _placed(zones, boxes, along, np.hypot(*away.T) if len(away) else np.zeros(0))


def _level(away: NDArray[Any]) -> bool:
    """Whether every step leads to the left: a row, no column that turns aside."""
    return bool((away[:, 0] < 0).all() and (np.abs(away[:, 1]) < np.abs(away[:, 0])).all())


def _placed(zones: Sequence[ProposedZone], boxes: Sequence[Box], along: NDArray[Any],
            steps: NDArray[Any]) -> list[ProposedZone]:
    """The zones with a guess in each step of about two pitches."""
    short = steps[steps < 1.45 * np.median(steps)] if len(steps) else steps
    if len(short) < STEPS:
        return list(zones)
    usual = float(np.median(short))
    # the median of how far they are off: one tall sign among even ones must not forbid a guess
    if float(np.median(np.abs(short - usual))) > EVEN * usual or len(short) < len(steps) - 1:
        return list(zones)
    width, height = (float(np.median([b[k] for b in boxes])) for k in (2, 3))
    out = [zones[0]]
    for (before, after), step in zip(pairwise(range(len(zones))), steps, strict=True):
        if HIDDEN[0] * usual < step < HIDDEN[1] * usual:
            x, y = (along[before] + along[after]) / 2
            place = rectangle(float(x) - width / 2, float(y) - height / 2, width, height)
            out.append(ProposedZone(place, GUESSED, guess=True))
        out.append(zones[after])
    return out


def levelled(columns: Sequence[ProposedColumn]) -> list[ProposedColumn]:
    """Columns as they are, or rows from the right where signs follow one another closer sideways than downwards.

    One row of single signs comes out as one row; its order was right before, its pitch was not.
    """
    zones = [z for c in columns for z in c.zones]
    if len(zones) < 3:
        return list(columns)
    boxes = [box(z) for z in zones]
    side = float(np.median([max(b[2], b[3]) for b in boxes]))
    middle = np.array([(x + w / 2, y + h / 2) for x, y, w, h in boxes])
    down = _nearest(middle, 1, side)
    across = _nearest(middle, 0, side)
    # a tablet's row is closed up: signs that stand two sides apart are columns of one sign each
    if not np.isfinite(across) or across > 1.6 * side or (np.isfinite(down) and across > LEVEL * down):
        return list(columns)
    order = sorted(range(len(zones)), key=lambda n: middle[n, 1])
    rows: list[list[int]] = []
    for n in order:
        if rows and abs(middle[n, 1] - float(np.mean(middle[rows[-1], 1]))) < 0.6 * side:
            rows[-1].append(n)
        else:
            rows.append([n])
    if max(map(len, rows)) < 3:
        return list(columns)
    made = [[zones[n] for n in sorted(row, key=lambda n: -middle[n, 0])] for row in rows]
    return [ProposedColumn(tuple(row), round(float(np.mean([z.confidence for z in row])), 3), len(row) > 1)
            for row in made]


def _nearest(middle: NDArray[Any], axis: int, side: float) -> float:
    """Median distance to the nearest neighbour along one axis, of signs in line; infinite where few have one."""
    away = np.abs(middle[:, None] - middle[None])
    far = np.where((away[..., 1 - axis] < 0.5 * side) & (away[..., axis] > 0.3 * side), away[..., axis], np.inf)
    near = far.min(1)
    return float(np.median(near[np.isfinite(near)])) if np.isfinite(near).sum() >= 0.6 * len(near) else float("inf")
