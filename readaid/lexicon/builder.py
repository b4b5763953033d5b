"""The lattice from what was read: typed text, candidate lists, or character records.

Conventions
-----------
* Text: one sign per position, ``?`` (or □) one unread sign, a line break ends a column; spaces are layout and no signs.
* Candidate lists: one entry per position, a list of ``(character, confidence)`` pairs. A character may be several
  signs (two joined letters in one zone).
* ``core.character.Character``: candidates, damage, lost places (``missing``), what the reader fixed.
* Every writing rule is an arc with its cost and reason; none has zero width.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Mapping, Sequence, Set, Sized
from dataclasses import dataclass, field
from typing import Any

from readaid.core.character import UNREAD, Character
from readaid.core.confidence import Damage, checked
from readaid.core.errors import LatticeError, TextError
from readaid.core.lattice import Arc, Constraint, Fixed, Gap, Lattice, Name, Reason, WordEnd, candidate_cost
from readaid.lexicon import repeat_arcs, variants
from readaid.lexicon import spelling_arcs as spelled
from readaid.lexicon.budget import STANDARD, Budget
from readaid.lexicon.costs import Costs, standard
from readaid.lexicon.variants import Variant
from readaid.script import kana, repetition

Pairs = Sequence[tuple[str, float]]
Entry = Pairs | Character | str
Characters = str | Sequence[Entry] | Sequence[Sequence[Character]]

#: More positions, or candidates in one position, than this are refused.
MOST_POSITIONS = 5_000
MOST_CANDIDATES = 2_000
#: More candidates than this in all are thinned out, the likeliest of each position staying; the result counts as cut.
MOST_TOGETHER = 8_000
#: Signs joined in one candidate (ligatures have two or three); ways to read them together.
MOST_JOINED, MOST_READ = 12, 500
#: Kana of one sign that spelling rules are always tried on.
FEWEST_VALUES = 12


@dataclass
class Place:
    """One position while the lattice is made: candidates (signs, cost, source) and what is unread."""

    candidates: list[tuple[tuple[str, ...], float, str]] = field(default_factory=list)
    gap: tuple[int, int] | None = None
    id: str = ""
    fixed: str = ""
    word_ends: bool = False
    name_of: str = ""


def build(characters: Characters, constraints: Sequence[Constraint] = (), costs: Costs | None = None,
          budget: Budget = STANDARD) -> Lattice:
    """Make the lattice of what was read.

    Raises
    ------
    TextError: nothing to read, or signs that cannot stand in an inscription.
    OptionError: a confidence outside 0..1.

    >>> lattice = build("かな")
    >>> sorted({a.text for a in lattice.arcs if a.start == 0 and a.end == 1 and len(a.text) == 1})
    ['か', 'が']
    """
    costs = costs or standard()
    if isinstance(characters, Lattice):
        return characters
    places, column_ends = _text(characters) if isinstance(characters, str) else _list(_entries(characters))
    if not places:
        raise TextError("There is nothing to read", cure="give at least one sign, ? for an unread one")
    if len(places) > MOST_POSITIONS:
        raise LatticeError(f"{len(places):,} signs are more than can be searched", cure=f"give up to {MOST_POSITIONS}")
    arcs: list[Arc] = []
    gaps: list[Gap] = []
    found: list[Constraint] = list(constraints)
    cut = _thin(places)
    # Shared among the marks that stand there: one mark may copy much, ninety of them little each.
    each = budget.copies // max(1, sum(any(_mark(s) for s, _, _ in p.candidates) for p in places))
    before: list[list[Arc]] = [[] for _ in range(len(places) + 1)]  # arcs by the node they end at
    for at, place in enumerate(places):
        if place.gap is not None:
            gaps.append(Gap(at, at + 1, *place.gap))
        here, fewer = _arcs(at, place, costs, before, each)
        cut |= fewer
        arcs += here
        # A mark after an unread sign repeats it, whatever it is (?ゝ): both are then supplied alike.
        before[at + 1] = here + _unread(at, place, costs)
        if place.word_ends and at + 1 < len(places):
            found.append(WordEnd(at + 1))
        if place.fixed:
            found.append(Fixed(at, at + 1, place.fixed))
    if not costs.plain:
        values, fewer = _values(arcs, len(places), max(FEWEST_VALUES, budget.spelled // len(places)))
        arcs += spelled.arcs(values, costs)
        cut |= fewer
    found += _names(places)
    return Lattice(tuple(p.id for p in places), tuple(arcs), tuple(gaps), tuple(found), tuple(column_ends),
                   tuple(_label(p) for p in places), cut)


def _entries(given: Any, number: int = 0) -> list[Any]:
    """What was given as a list, if it is one: of signs, or of the candidates of sign ``number``."""
    if isinstance(given, Iterable) and not isinstance(given, str | bytes | bytearray | Mapping | Set):
        most = MOST_CANDIDATES if number else MOST_POSITIONS
        entries = list(itertools.islice(given, most + 1))  # an endless one too
        if len(entries) > most:
            raise LatticeError(f"More than {most:,} {'candidates' if number else 'signs'} cannot be searched",
                               f"sign {number}" if number else "", f"give up to {most:,}")
        return entries
    told = f"A {type(given).__name__}" if given is not None else "None"
    if number:
        raise TextError(f"{told} is no list of candidates", f"sign {number}",
                        "give pairs of a character and a confidence from 0 to 1, or ? for an unread sign")
    raise TextError(f"{told} is no text and no list of signs",
                    cure="give text, or for each sign a list of pairs of a character and a confidence from 0 to 1")


def _text(text: str) -> tuple[list[Place], list[int]]:
    places: list[Place] = []
    ends: list[int] = []
    if len(text) > 20 * MOST_POSITIONS:  # looking through ten million signs takes longer than any search
        raise LatticeError(f"{len(text):,} signs are more than can be searched", cure=f"give up to {MOST_POSITIONS:,}")
    for sign in kana.checked(text):
        if kana.kind(sign) is kana.Kind.BREAK:
            if places and (not ends or ends[-1] != len(places)):
                ends.append(len(places))
        elif sign.isspace():
            continue
        elif sign == UNREAD:
            places.append(Place(gap=(1, 1)))
        else:
            places.append(Place([((sign,), 0.0, "typed")]))
    return places, [e for e in ends if e < len(places)]


def _list(entries: list[Any]) -> tuple[list[Place], list[int]]:
    """Places of a list of entries, or of columns of ``Character`` (from the right)."""
    _refuse_masses(entries)
    if any(isinstance(e, Sequence) and not isinstance(e, str) and e and isinstance(e[0], Character) for e in entries):
        columns = [_entries(column, n) for n, column in enumerate(entries, 1)]
        ends = list(itertools.accumulate(map(len, columns)))
        places, _ = _list([c for column in columns for c in column])
        return places, [e for e in dict.fromkeys(ends) if 0 < e < len(places)]
    places = []
    for number, entry in enumerate(entries, 1):
        if isinstance(entry, Character):
            places.append(_record(entry, number))
        elif isinstance(entry, str):
            signs = _signs(entry, number)
            places.append(Place(gap=(1, 1)) if signs == (UNREAD,) else Place([(signs, 0.0, "typed")]))
        else:
            places.append(_pairs(_entries(entry, number), number))
    return places, []


def _refuse_masses(entries: list[Any]) -> None:
    """Refuse what takes long only to look through: more candidates in all than are kept ten times over."""
    many = sum(len(e) for e in entries if isinstance(e, Sized) and not isinstance(e, str))
    if many > 10 * MOST_TOGETHER:
        raise LatticeError(f"{many:,} candidates are more than can be searched", f"{len(entries)} signs",
                           f"give the likeliest, up to {MOST_TOGETHER:,} in all")


def _pairs(pairs: Pairs, number: int, source: str = "reader") -> Place:
    place = Place()
    for pair in pairs:
        try:
            character, confidence = pair
            if not isinstance(character, str):
                raise TypeError(character)
            confidence = float(confidence)
        except (TypeError, ValueError, OverflowError):
            raise TextError(f"{repr(pair)[:60]} is no candidate", f"sign {number}",
                            "give pairs of a character and a confidence from 0 to 1") from None
        checked(confidence, f"sign {number}")
        signs = _signs(character, number)
        if signs == (UNREAD,):
            place.gap = (1, 1)
        else:
            place.candidates.append((signs, candidate_cost(confidence), source))
    if not place.candidates:
        place.gap = (1, 1)
    return place


def _record(record: Character, number: int) -> Place:
    try:
        return _recorded(record, number)
    except (TypeError, AttributeError, ValueError):
        raise TextError("The record of a sign does not hold what it should", f"sign {number}",
                        "give candidates as Candidate records, missing as two numbers, texts as text") from None


def _recorded(record: Character, number: int) -> Place:
    place = Place()
    if record.damage is not Damage.LOST or record.candidates:
        place = _pairs([(c.character, c.confidence) for c in record.candidates], number)
        named = [c for c in record.candidates if c.character != UNREAD]
        place.candidates = [(s, cost, c.source) for (s, cost, _), c in zip(place.candidates, named, strict=False)]
    if (record.damage is Damage.LOST and not record.candidates) or record.missing != (1, 1):
        least, most = record.missing
        if not 1 <= least <= most <= 40:
            raise LatticeError(f"From {least} to {most} signs cannot be missing", f"sign {number}",
                               "give a least and a most number, from 1 to 40")
        place.gap = (least, most)
    place.id, place.fixed, place.word_ends, place.name_of = record.id, record.fixed, record.word_ends, record.name_of
    if place.fixed:
        place.fixed = "".join(_signs(place.fixed, number))
    return place


def _signs(text: str, number: int) -> tuple[str, ...]:
    signs = tuple(s for s in kana.checked(text[:10 * MOST_JOINED], f"sign {number}") if not s.isspace())
    if not signs:
        raise TextError("A candidate is empty", f"sign {number}", "give a character, or ? for an unread one")
    if len(signs) > MOST_JOINED:
        raise TextError(f"A candidate has more than {MOST_JOINED} signs", f"sign {number}",
                        "give each sign a place of its own")
    return signs


def _thin(places: Sequence[Place]) -> bool:
    """Keep the likeliest candidates where there are more, all together, than can be searched; tells if any went."""
    if sum(len(p.candidates) for p in places) <= MOST_TOGETHER:
        return False
    each = max(8, MOST_TOGETHER // len(places))
    fewer = False
    for place in places:
        if len(place.candidates) > each:
            place.candidates = sorted(place.candidates, key=lambda c: c[1])[:each]
            fewer = True
    return fewer


def _mark(signs: tuple[str, ...]) -> bool:
    return len(signs) == 1 and signs[0] in repetition.MARKS


def _arcs(at: int, place: Place, costs: Costs, before: Sequence[Sequence[Arc]], copies: int) -> tuple[list[Arc], bool]:
    best: dict[tuple[int, str, str, str, str], Arc] = {}
    cut = False
    for signs, cost, source in place.candidates:
        written = "".join(signs)
        if _mark(signs):
            copied, fewer = repeat_arcs.arcs(signs[0], cost, at, before, costs, source, copies)
            # Beside other candidates a mark that cannot copy just drops out; alone it would leave no way through.
            if not copied and len(place.candidates) == 1 and place.gap is None:
                raise TextError(f"The repetition mark {signs[0]} has nothing before it to repeat", f"sign {at + 1}",
                                "write ? for it, or give another candidate")
            cut |= fewer
            _keep(best, copied)
            continue
        choices = [[variants.placed(v, at) for v in variants.of_sign(s, costs)] for s in signs]
        for chosen in itertools.islice(itertools.product(*choices), MOST_READ):
            _keep(best, [_arc(at, at + 1, written, cost, chosen, source)])
    return list(best.values()), cut


def _unread(at: int, place: Place, costs: Costs) -> list[Arc]:
    """What a repetition mark may copy of an unread sign: every filler, as an arc that only the mark's arcs take up."""
    if place.gap != (1, 1):
        return []
    return [Arc(at, at + 1, kana, price, "", kana, (Reason("restored", UNREAD, kana, at, price, "supplied, not seen"),),
                "filler") for kana, price in costs.fillers("kana")]


def _keep(best: dict[tuple[int, str, str, str, str], Arc], arcs: Sequence[Arc]) -> None:
    for arc in arcs:
        # Written too: は and 者 read は say different things of the carver, though they cost the search alike.
        key = (arc.start, arc.text, arc.kana, arc.place, arc.written)
        if key not in best or arc.cost < best[key].cost:
            best[key] = arc


def _arc(start: int, end: int, written: str, cost: float, chosen: Sequence[Variant], source: str) -> Arc:
    spelled = "".join(v.kana for v in chosen)
    if any(not v.kana for v in chosen) and len(chosen) > 1:
        spelled = ""
    return Arc(start, end, "".join(v.text for v in chosen), cost + sum(v.cost for v in chosen), written, spelled,
               tuple(r for v in chosen for r in v.reasons), source, chosen[0].place if len(chosen) == 1 else "any")


def _values(arcs: Sequence[Arc], count: int, most: int) -> tuple[list[dict[str, Arc]], bool]:
    """For each sign the kana it may be and its cheapest arc (small kana count as the full-size letter carved).

    Of more than ``most`` the cheapest, and whether any were left out.
    """
    out: list[dict[str, Arc]] = [{} for _ in range(count)]
    for arc in arcs:
        if len(arc.kana) == 1 and arc.text == arc.kana and arc.end == arc.start + 1:
            old = out[arc.start].get(arc.kana)
            if old is None or arc.cost < old.cost:
                out[arc.start][arc.kana] = arc
    fewer = any(len(values) > most for values in out)
    if fewer:
        out = [dict(heapq.nsmallest(most, values.items(), key=lambda v: v[1].cost)) for values in out]
    return out, fewer


def _names(places: Sequence[Place]) -> list[Name]:
    out = []
    for of, group in itertools.groupby(range(len(places)), key=lambda i: places[i].name_of):
        at = list(group)
        if of:
            out.append(Name(at[0], at[-1] + 1, of))
    return out


def _label(place: Place) -> str:
    return "".join(place.candidates[0][0]) if place.candidates else UNREAD
