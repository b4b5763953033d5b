"""Reading what shape sees: zones or a whole picture to ranked readings, with nobody helping.

Conventions
-----------
* The lattice's positions are the *pieces* of ``stretches``; an arc passes over all pieces of its stretch, and over
  pieces after it (before it, at the beginning) that are left out as no sign.
* Costs: likelihood of shape, and the odds that a stretch is one sign. A constant for each piece keeps costs above 0; it
  is the same on every path.
* Signs that the reader has judged keep their candidates, costs and what was held fast, as in any other reading.
* Everything here is a proposal. It is never entered as a reader's candidate or confidence.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from readaid.core.character import Character
from readaid.core.errors import TextError
from readaid.core.lattice import COST_FACTOR, Arc, Constraint, Gap, Lattice, WordEnd
from readaid.lexicon import builder, spelling_arcs
from readaid.lexicon.costs import Costs, standard
from readaid.reading import shape_evidence
from readaid.reading.shape_evidence import Option
from readaid.reading.solve import Solution, solve
from readaid.reading.stretches import Box, Layout, Stretch, of_zones

#: Added for each piece an arc passes over, so that no cost falls below 0: log odds never reach it.
LEVEL = 13.0
#: What a sign's place gains over being left out, so that a reading is not better for having fewer signs: the language
#: takes some such odds for each sign it has to choose from the 48.
GAIN = math.log(48)
#: A stretch this unlikely is not offered, if another covers its pieces.
LEAST_ODDS = -4.0
#: A piece of a stretch surer than this is never left out; after one sign at most so many are.
SURE_ODDS, MOST_LEFT_OUT = 2.5, 2

#: By its first piece: where a stretch ends, and the cheapest arc of each kana it may be.
_Chains = dict[int, list[tuple[int, dict[str, Arc]]]]


@dataclass(frozen=True)
class Sighting:
    """What was read of a picture: the solution, and the box of each sign of its best reading, in reading order."""

    solution: Solution
    layout: Layout
    boxes: tuple[Box, ...]
    kanji: float  # share of kanji among the signs, as found


def read_zones(image: Any, columns: Sequence[Sequence[Box | None]], form: str | None = None, among: str = "all",
               k: int = 5, free: bool = True, time_limit: float | None = None,
               judged: Mapping[int, Character] | None = None, expected: float = 0.5,
               lamps: Sequence[Any] = ()) -> Sighting:
    """Readings of the zones of a picture by shape and language together.

    Parameters
    ----------
    image: (height, width[, 3]) uint8.
    columns: boxes (x, y, width, height) in reading order, columns from the right; None for a judged sign without one.
    form: name of a verse form; None finds the one that fits best.
    among: "kana", "kanji" or "all".
    free: zones may be parted, joined, left out and supplied; False takes each as one sign.
    judged: by number along the reading order, the characters of zones that the reader has judged.
    expected: share of kanji to be expected, 0..1 (``shape_evidence.EXPECTED``).
    lamps: further pictures of the same frame, under other light.

    Raises TextError where there is no zone or none that holds a stroke.
    """
    judged = judged or {}
    layout = of_zones(image, columns, among, free, judged, lamps)
    if not layout.stretches and not judged:
        raise TextError("No zone holds a stroke", cure="draw zones round the signs, or pick a view with more contrast")
    kanji = shape_evidence.kanji_share([s.seen for s in layout.stretches if s.odds > 0], among, expected)
    lattice, _ = build(layout, among, kanji, judged=judged)
    found = solve(lattice, form, k, time_limit)
    return Sighting(found, layout, tuple(_boxes(layout, found.readings[0].chosen)), kanji)


def build(layout: Layout, among: str = "all", kanji: float = 0.5, costs: Costs | None = None,
          judged: Mapping[int, Character] | None = None) -> tuple[Lattice, list[tuple[Stretch, list[Option]]]]:
    """The lattice of a layout, and the options of each stretch in it."""
    costs = costs or standard()
    # An unlikely stretch stays where nothing else covers its pieces: else no way would lead through.
    kept = [s for s in layout.stretches if s.odds > LEAST_ODDS or _needed(s, layout)]
    every = [shape_evidence.options(s.seen, among, kanji, weight=shape_evidence.KANJI_WEIGHT) for s in kept]
    # Sure ones keep more of their options: a scratch with twenty candidates would crowd out a sign.
    sure = [min(1.0, math.exp(s.odds)) for s in kept]
    own = list(zip(kept, shape_evidence.thinned(every, sure, shape_evidence.MEAN * len(layout.pieces)), strict=True))
    arcs: list[Arc] = []
    chains: _Chains = {}
    for stretch, options in own:
        level = LEVEL * (stretch.last - stretch.first) - stretch.odds - GAIN
        made = shape_evidence.arcs(stretch.first, stretch.last, options, COST_FACTOR * level, costs)
        arcs += made
        values: dict[str, Arc] = {}
        for arc in made:
            if len(arc.kana) == 1 and arc.text == arc.kana and (arc.kana not in values
                                                               or arc.cost < values[arc.kana].cost):
                values[arc.kana] = arc
        chains.setdefault(stretch.first, []).append((stretch.last, values))
    gaps: list[Gap] = []
    constraints: list[Constraint] = []
    for first, run in _runs(layout, judged or {}):
        one = _moved(builder.build(run, costs=costs), first)
        arcs += one.arcs
        gaps += one.gaps
        constraints += one.constraints
        for n in range(first, first + len(run)):
            single = {a.kana: a for a in sorted(one.arcs, key=lambda a: -a.cost)
                      if (a.start, a.end) == (n, n + 1) and len(a.kana) == 1 and a.text == a.kana}
            chains.setdefault(n, []).append((n + 1, single))
    held = {n for n, _ in _places(layout, judged or {})}
    arcs += [a for a in _spelled(chains, costs) if not held.issuperset(range(a.start, a.end))]
    for n in range(len(layout.pieces)):  # nothing was seen there and nothing is known: a sign that cannot be read
        if n not in held and not math.isfinite(layout.left_out[n]) and not any(a.start <= n < a.end for a in arcs):
            gaps.append(Gap(n, n + 1))
    arcs += list(_leaving_out(arcs, layout))
    lattice = Lattice(("",) * len(layout.pieces), tuple(arcs), tuple(gaps), tuple(constraints), layout.column_ends)
    return lattice, own


def _places(layout: Layout, judged: Mapping[int, Character]) -> list[tuple[int, Character]]:
    """The pieces of judged signs, with their characters."""
    return [(n, judged[zone]) for n, zone in enumerate(layout.zones) if zone in judged]


def _runs(layout: Layout, judged: Mapping[int, Character]) -> list[tuple[int, list[Character]]]:
    """Judged signs that stand together, by their first piece: marks and spellings go over sign and sign."""
    out: list[tuple[int, list[Character]]] = []
    for n, character in _places(layout, judged):
        if out and out[-1][0] + len(out[-1][1]) == n:
            out[-1][1].append(character)
        else:
            out.append((n, [character]))
    return out


def _moved(lattice: Lattice, by: int) -> Lattice:
    """A lattice whose first node is number ``by`` of a longer one."""
    def there(part: Any) -> Any:
        if isinstance(part, WordEnd):
            return replace(part, node=part.node + by)
        moved = replace(part, start=part.start + by, end=part.end + by)
        if isinstance(moved, Arc):
            return replace(moved, reasons=tuple(replace(r, at=r.at + by) if r.at >= 0 else r for r in moved.reasons))
        return moved

    return replace(lattice, positions=("",) * by + lattice.positions, arcs=tuple(map(there, lattice.arcs)),
                   gaps=tuple(map(there, lattice.gaps)), constraints=tuple(map(there, lattice.constraints)))


def _needed(stretch: Stretch, layout: Layout) -> bool:
    """Does it cover a piece that cannot be left out?"""
    return any(not math.isfinite(layout.left_out[n]) for n in range(stretch.first, stretch.last))


def _spelled(chains: _Chains, costs: Costs) -> list[Arc]:
    """Old spelling over neighbouring stretches, whatever pieces they pass over."""
    out: dict[tuple[Any, ...], Arc] = {}
    for first in chains:
        for values in _paths(chains, first, 3):
            for arc in spelling_arcs.arcs(values, costs):
                key = (arc.start, arc.end, arc.text, arc.kana, arc.place)
                if key not in out or arc.cost < out[key].cost:
                    out[key] = arc
    return list(out.values())


def _paths(chains: _Chains, first: int, most: int) -> Iterator[list[dict[str, Arc]]]:
    for last, values in chains.get(first, ()):
        if not values:
            continue
        yield [values]
        if most > 1:
            for rest in _paths(chains, last, most - 1):
                yield [values, *rest]


def _leaving_out(arcs: Sequence[Arc], layout: Layout) -> Iterator[Arc]:
    """The same arcs passing over pieces that are no sign, after them or, from the beginning, before them."""
    count = len(layout.pieces)
    best = [max((s.odds for s in layout.stretches if s.first <= n < s.last), default=-math.inf) for n in range(count)]
    may = [math.isfinite(c) and b < SURE_ODDS for c, b in zip(layout.left_out, best, strict=True)]
    for arc in arcs:
        price, end = arc.cost, arc.end
        while end < min(count, arc.end + MOST_LEFT_OUT) and may[end]:
            price += COST_FACTOR * (LEVEL + layout.left_out[end])
            end += 1
            yield replace(arc, end=end, cost=price)
        if 0 < arc.start <= MOST_LEFT_OUT and all(may[:arc.start]):
            price = COST_FACTOR * (LEVEL * arc.start + sum(layout.left_out[:arc.start]))
            yield replace(arc, start=0, cost=arc.cost + price)


def _boxes(layout: Layout, chosen: Sequence[str]) -> Iterator[Box]:
    """The boxes of the signs of a reading: at each piece where one begins, the likeliest stretch up to the next."""
    starts = [n for n, sign in enumerate(chosen) if sign]
    for n, start in enumerate(starts):
        to = starts[n + 1] if n + 1 < len(starts) else len(chosen)
        fits = [s for s in layout.stretches if start <= s.first and s.last <= to]
        yield max(fits, key=lambda s: s.odds).box if fits else layout.pieces[start]
