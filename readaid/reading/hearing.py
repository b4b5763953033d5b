"""A lattice heard as verse: which form it is, its strings with their shares, and the lattice narrowed to what they use.

Conventions
-----------
* The chain (``lexicon.chain``) leads: it sums over every way of reading every sign, kanji runs by their readings of
  the period, and gives strings,
  shares and lines. The dictionary is asked afterwards, about these strings only (``reading.rank``).
* Evidence of a group is -cost / 700 of the cheapest arc of each way of writing it, the ways summed. Rules weigh
  ``RULES`` of their cost:
  their costs were set for the dictionary, which asks for today's spelling; the ear hears the old one.
* A mora that a line lacks would cost the ear nothing and so be cheap; it is charged at ``SILENCE`` more than what
  the metre asks: lines of old verse run over, and are hardly ever short.
* Chinese verse is counted in signs and not heard: the dictionary reads it.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from readaid.core.character import UNREAD
from readaid.core.errors import LatticeError
from readaid.core.lattice import COST_FACTOR, Arc, Lattice, Reason
from readaid.core.reading import CandidateShare
from readaid.lexicon import ear, graph, kanji_runs, metre
from readaid.lexicon.budget import STANDARD, Budget
from readaid.lexicon.chain import BEAM, Chain, Way
from readaid.lexicon.costs import Costs
from readaid.lexicon.moves import Group
from readaid.reading import doubt
from readaid.script import kana as letters
from readaid.script import verse_forms
from readaid.script.verse_forms import Form

Floats = NDArray[np.float64]

#: The kind of text that each form sounds like; linked verse and popular song are nearest to hokku.
KINDS = {"hokku": "hokku", "tanka": "waka", "linked": "hokku", "dodoitsu": "hokku", "sedoka": "waka", "imayo": "waka",
         "prose": "prose"}
RULES = 0.5
UNHEARD = 3000.0
SILENCE = 5000.0
#: States a node keeps where signs are unread, and signs up to which: 78 kana for each fill the usual number at once.
WIDE_BEAM, WIDE_LAST = 900, 40
#: States a node keeps while forms are compared, and at least, however many ways there are to go on.
GLANCE = 40
#: Reasons that are no writing rules.
UNRULED = ("kanji reading", "restored", doubt.KIND)
#: Morae told apart when the number of morae is held against the forms.
MOST_MORAE = 200
#: Groups a node, on the average, up to which the likeliest form is heard in full at once.
FEW_GROUPS = 6
#: A form that its number of morae puts this far behind another is not heard.
NEAR = 4000.0
#: What kana in the place of kanji cost the dictionary, so that words keep their writing where it knows it; ``rank``
#: takes it off again.
UNWRITTEN = 3000.0
#: A group below this share is not told: a thousand of them would not make a share that is listed.
UNTOLD = 1e-7


@dataclass(frozen=True)
class Heard:
    """A lattice under one form: arcs of kanji runs and gaps added, the chain, and the form's prior cost."""

    lattice: Lattice
    form: Form
    chain: Chain
    prior: float
    costs: Costs
    narrow: bool = False  # fewer states were kept than usual

    @property
    def cut(self) -> bool:
        """Did time run out, or were there more ways than the budget follows?"""
        return self.chain.late or self.narrow or self.lattice.cut

    def arc(self, group: int) -> Arc:
        """The cheapest arc of a group."""
        return min((self.lattice.arcs[n] for n in self.chain.groups[group].arcs), key=lambda a: a.cost)

    @staticmethod
    def signs(arc: Arc) -> float:
        """What an arc's signs cost, rules and readings aside."""
        return arc.cost - sum(r.cost for r in arc.reasons)

    @staticmethod
    def rules(arcs: Sequence[Arc]) -> float:
        """What the writing rules on arcs cost here."""
        return sum(_heard(a) for a in arcs)

    def narrowed(self, ways: Sequence[Way]) -> Lattice:
        """The lattice with only what the strings use; signs cost nothing here, rules and readings what they cost.

        Kanji stay as they stand beside their readings, so that the dictionary may know the word in its writing.
        """
        used = {g for w in ways for g in w.groups}
        supplied = _supplied(self.lattice, self.chain.groups, ways)
        spans: dict[tuple[int, int], set[str]] = {}
        kanji: set[tuple[int, str]] = set()
        arcs: dict[int, Arc] = {}
        for number in used:
            group = self.chain.groups[number]
            for a in group.arcs:
                arc = self.lattice.arcs[a]
                if arc.source == "filler" and not arc.written:
                    continue
                arcs[a] = arc
                spans.setdefault((arc.start, arc.end), set()).add(arc.kana)
                if arc.source == kanji_runs.SOURCE or any(r.kind == "kanji reading" for r in arc.reasons):
                    kanji.update((arc.start + i, c) for i, c in enumerate(letters.signs(arc.written)))
        for number, arc in enumerate(self.lattice.arcs):
            span = arc.end - arc.start
            if number in arcs or (arc.source == "filler" and not arc.written):
                continue
            if arc.kana:
                single = len(arc.kana) == span and all(c in spans.get((arc.start + i, arc.start + i + 1), ())
                                                       for i, c in enumerate(arc.kana))
                if single or arc.kana in spans.get((arc.start, arc.end), ()):
                    arcs[number] = arc
            elif all((arc.start + i, c) in kanji for i, c in enumerate(letters.signs(arc.written))) or not _wordy(arc):
                arcs[number] = arc
        return replace(self.lattice, arcs=(*(_bare(arcs[n]) for n in sorted(arcs)), *supplied), gaps=())

    def shares(self, groups: Floats) -> tuple[tuple[CandidateShare, float], ...]:
        """Shares of what each position may be, from shares of the groups."""
        found: dict[tuple[int, str, str, bool], float] = {}
        for group, share in zip(self.chain.groups, groups, strict=True):
            if share < UNTOLD:
                continue
            for arc, part in self._parts(group):
                restored = arc.source == "filler"
                signs = letters.signs(arc.written)
                span = arc.end - arc.start
                for i in range(span):
                    sign = signs[i] if len(signs) == span else arc.written
                    spelled = arc.kana[i] if len(arc.kana) == span else arc.kana
                    key = (arc.start + i, "" if restored else sign, spelled, restored)
                    found[key] = found.get(key, 0.0) + part * float(share)
        return tuple((CandidateShare(at, sign, kana, min(1.0, p), restored), p) for (at, sign, kana, restored), p in
                     sorted(found.items(), key=lambda item: (item[0][0], -item[1])))

    def _parts(self, group: Group) -> list[tuple[Arc, float]]:
        """The ways of writing a group, each with its part of the group's share."""
        best: dict[str, Arc] = {}
        for number in group.arcs:
            arc = self.lattice.arcs[number]
            if arc.written not in best or arc.cost < best[arc.written].cost:
                best[arc.written] = arc
        weight = np.array([_evidence(a) for a in best.values()])
        weight = np.exp(weight - weight.max())
        return list(zip(best.values(), (weight / weight.sum()).tolist(), strict=True))


class OutOfTimeError(LatticeError):
    """Too few ways were followed, for want of time, for any to lead through."""


def heard(lattice: Lattice, form: Form | None, costs: Costs, deadline: float, budget: Budget = STANDARD) -> Heard:
    """Hear a lattice under a form counted in morae, or under the one that fits best.

    Raises LatticeError if nothing leads from the first sign to the last.
    """
    lost = sum(g.most - 1 for g in lattice.gaps)
    # Each sign that may be missing beyond the first is a node with 48 ways on.
    if lost > STANDARD.lost:
        raise LatticeError(f"The lost passages may hold {lost:,} more signs than places, more than can be searched",
                           f"{STANDARD.lost} at most", "give narrower numbers of lost signs, or a part of the text")
    whole = _completed(lattice, costs)
    size, groups = _groups(whole)
    wanted = WIDE_BEAM if lattice.gaps and lattice.last <= WIDE_LAST else BEAM
    beam = wanted
    if lattice.last > WIDE_LAST:  # 200 signs of 40 candidates have some 15,000 groups: 300 states each took ten seconds
        beam = max(GLANCE, min(wanted, budget.moves // max(1, len(groups))))
    chosen, prior, chain = (form, 0.0, None) if form else _chosen(whole, size, groups, costs, deadline)
    if chain is None or beam > BEAM:
        chain = _chain(size, groups, chosen, costs, deadline, beam)
    narrow = beam < wanted and chain.lost > 0.0
    return _doubted(Heard(whole, chosen, chain, prior, costs, narrow), deadline)


def _doubted(told: Heard, deadline: float) -> Heard:
    """The same with kana beside typed signs that would suit far better; as it is where there are none."""
    if not doubt.doubtful(told.lattice) or time.monotonic() > deadline:
        return told
    way = told.chain.best(1)[0]
    extra = doubt.arcs(told.lattice, way, [told.arc(g) for g in way.groups], told.chain.ear, told.costs)
    if not extra:
        return told
    own = len(told.lattice.arcs) - sum(1 for a in told.lattice.arcs if not a.written and a.source == "filler")
    arcs = told.lattice.arcs  # what gaps may hold stands last
    whole = replace(told.lattice, arcs=(*arcs[:own], *graph.held(told.lattice, extra), *arcs[own:]))
    size, groups = _groups(whole)
    try:
        chain = _chain(size, groups, told.form, told.costs, deadline, told.chain.beam)
    except OutOfTimeError:
        return told
    return replace(told, lattice=whole, chain=chain)


def _chain(size: int, groups: Sequence[Group], form: Form, costs: Costs, deadline: float, beam: int = BEAM,
           first: bool = False) -> Chain:
    heard_as = ear.ears()[KINDS.get(form.name, "hokku")]
    made = Chain(size, groups, heard_as, metre.machine(form, _silent(costs)), COST_FACTOR, beam, deadline)
    if first:
        return made
    if made.late and not np.isfinite(made.log_total):
        raise OutOfTimeError("The time was over before a way through was heard", form.name, "give more time")
    if not np.isfinite(made.log_total):
        raise LatticeError("No reading leads from the first sign to the last",
                           cure="give at least one candidate for each sign, or ? for an unread one")
    return made


_KEPT: dict[tuple[float, ...], Costs] = {}


def _silent(costs: Costs) -> Costs:
    """The costs with what a mora that is missing costs the ear; one object for equal weights, so that machines last."""
    made = costs.with_weights(**{"metre.under": costs.weight("metre.under") + SILENCE,
                                 "metre.missing line": costs.weight("metre.missing line") + SILENCE})
    return _KEPT.setdefault(tuple(made.weights.values()), made)


def _chosen(lattice: Lattice, size: int, groups: Sequence[Group], costs: Costs, deadline: float,
            ) -> tuple[Form, float, Chain | None]:
    """The form that fits best, its prior cost, and its chain if that was heard in full."""
    morae = _morae(size, groups)
    silent = _silent(costs)
    away = []
    for form in verse_forms.BY_NAME.values():
        if form.unit == "mora":
            own = f"form.{form.name}"
            prior = costs.weight(own if own in costs.weights else "form.other") + (
                costs.weight("form.all kanji") if form.lines and _only_kanji(lattice) else 0.0)
            machine = metre.machine(form, silent)
            far = min((more + machine.least(many, many) for many, more in morae.items()), default=0.0)
            away.append((far + prior, prior, form))
    away.sort(key=lambda a: a[:2])
    tried: list[tuple[float, Form, float, Chain]] = []
    for far, prior, form in away:
        if tried and time.monotonic() > deadline:
            break
        # Prose is always heard: it is what a text is that fits no form.
        if far <= away[0][0] + NEAR or not form.lines:
            # The form whose number of morae fits is mostly the one: typed text is heard in full as soon as at a glance.
            beam = BEAM if form is away[0][2] and len(groups) <= FEW_GROUPS * size else GLANCE
            chain = _chain(size, groups, form, costs, deadline, beam, first=True)
            if np.isfinite(chain.log_total):
                tried.append((prior - COST_FACTOR * chain.log_total, form, prior, chain))
    if not tried:
        raise LatticeError("No reading leads from the first sign to the last",
                           cure="give at least one candidate for each sign, or ? for an unread one")
    _, form, prior, chain = min(tried, key=lambda t: t[0])
    return form, prior, chain if chain.beam == BEAM or chain.lost <= 0.0 else None


def _only_kanji(lattice: Lattice) -> bool:
    """Is every sign a kanji, and none used for its sound?"""
    kana = {a.start for a in lattice.arcs
            if a.kana and not any(r.kind in ("kanji as kana", "kanji reading") for r in a.reasons)}
    return not kana and not lattice.gaps


def _morae(size: int, groups: Sequence[Group]) -> dict[int, float]:
    """What texts of each number of morae cost more than the cheapest, by signs and rules alone.

    Every kana may hide a ん, so that 17 signs might be the 26 morae of a song: at nine times the price of a hidden ん.
    """
    least = np.full((size, MOST_MORAE + 1), np.inf)
    least[0, 0] = 0.0
    for g in sorted(groups, key=lambda g: g.start):
        come = least[g.start] - COST_FACTOR * g.evidence
        there = least[g.end]
        there[-1] = min(there[-1], float(come[MOST_MORAE - g.units:].min()))
        np.minimum(there[g.units:], come[:MOST_MORAE + 1 - g.units], out=there[g.units:])
    told = least[-1] - least[-1].min()
    return {n: float(told[n]) for n in np.flatnonzero(np.isfinite(told)).tolist()}


def _completed(lattice: Lattice, costs: Costs) -> Lattice:
    """The lattice with kanji runs read, what the reader fixed held, and an arc for each kana a gap may hold."""
    graph.fits(lattice.arcs, [(g, costs.fillers(g.among)) for g in lattice.gaps], STANDARD.edges)
    arcs = graph.held(lattice, [*lattice.arcs, *kanji_runs.arcs(lattice)])
    for gap in lattice.gaps:
        arcs += [Arc(gap.start, gap.end, kana, price, "", kana,
                     (Reason("restored", UNREAD, kana, gap.start, price, "supplied, not seen"),), "filler")
                 for kana, price in costs.fillers(gap.among)]
    return replace(lattice, arcs=tuple(arcs))


def _groups(lattice: Lattice) -> tuple[int, list[Group]]:
    """Number of nodes and the groups between them; a gap that may hold several kana has inner nodes."""
    main, inner, size = [], {}, 0
    for node in range(lattice.last + 1):
        main.append(size)
        size += 1
        for number, gap in enumerate(lattice.gaps):
            if gap.start == node:
                inner[number] = range(size, size + gap.most - 1)
                size += gap.most - 1
    single: dict[tuple[int, int, str, int], list[int]] = {}
    wide: list[int] = []
    own = len(lattice.arcs) - sum(1 for a in lattice.arcs if not a.written and a.source == "filler")
    for number, arc in enumerate(lattice.arcs[:own]):
        if not arc.kana and _wordy(arc):
            continue  # a kanji as it stands has no kana; its readings are arcs of their own
        # けふ read きょう spells け and ふ one by one: heard as those two it would be counted twice.
        if arc.end - arc.start > 1 and len(arc.kana) == arc.end - arc.start == kanji_runs.units(arc) and (
                arc.source not in ("shape", kanji_runs.SOURCE)):
            wide.append(number)
        else:
            single.setdefault(_key(arc), []).append(number)
    for number in wide:
        arc = lattice.arcs[number]
        if not all((arc.start + i, arc.start + i + 1, c, 1) in single for i, c in enumerate(arc.kana)):
            single.setdefault(_key(arc), []).append(number)
    out = []
    for (start, end, kana, units), numbers in single.items():
        best: dict[str, float] = {}
        for n in numbers:
            arc = lattice.arcs[n]
            best[arc.written] = max(best.get(arc.written, -math.inf), _evidence(arc))
        out.append(Group(main[start], main[end], kana, units, float(np.logaddexp.reduce(list(best.values()))),
                         tuple(numbers)))
    begun = own
    for number, gap in enumerate(lattice.gaps):
        fillers = [n for n in range(begun, len(lattice.arcs))
                   if (lattice.arcs[n].start, lattice.arcs[n].end) == (gap.start, gap.end)]
        # How many signs are lost is equally likely within the bounds given.
        length = math.log(gap.most - gap.least + 1)
        nodes = [main[gap.start], *inner[number]]
        for place, here in enumerate(nodes):
            targets = [(main[gap.end], length)] if place + 1 >= gap.least else []
            targets += [(nodes[place + 1], 0.0)] if place + 1 < gap.most else []
            out += [Group(here, to, lattice.arcs[n].kana, 1, _evidence(lattice.arcs[n]) - extra, (n,))
                    for to, extra in targets for n in fillers]
    return size, out


def _key(arc: Arc) -> tuple[int, int, str, int]:
    return arc.start, arc.end, arc.kana, kanji_runs.units(arc) if _wordy(arc) else 0


def _wordy(arc: Arc) -> bool:
    return letters.kind(arc.text[0]) is not letters.Kind.PUNCTUATION


def _ruled(arc: Arc) -> float:
    """Cost of the writing rules on an arc (readings of kanji and what was supplied are no rules)."""
    return sum(r.cost for r in arc.reasons if r.kind not in UNRULED)


def _heard(arc: Arc) -> float:
    """What its rules cost the ear. A ん or っ left out is a mora that the ear does not hear, and pays for here."""
    return sum(r.cost + UNHEARD if r.kind == "left out" else RULES * r.cost for r in arc.reasons
               if r.kind not in UNRULED)


def _evidence(arc: Arc) -> float:
    return -(arc.cost - _ruled(arc) + _heard(arc)) / COST_FACTOR


def unwritten(arc: Arc) -> bool:
    """Does an arc put kana in the place of kanji?"""
    return bool(arc.kana) and any(r.kind == "kanji reading" for r in arc.reasons)


def _bare(arc: Arc) -> Arc:
    """The arc at the cost of its writing rules alone: the dictionary is asked about words, not about signs."""
    extra = UNWRITTEN if unwritten(arc) else 0.0
    return replace(arc, cost=_ruled(arc) + extra)


def _supplied(lattice: Lattice, groups: Sequence[Group], ways: Sequence[Way]) -> list[Arc]:
    """What the strings supply in each gap, as one arc each."""
    out: dict[tuple[int, int, str], Arc] = {}
    for way in ways:
        said: dict[tuple[int, int], str] = {}
        for number in way.groups:
            arc = lattice.arcs[groups[number].arcs[0]]
            if arc.source == "filler" and not arc.written:
                said[arc.start, arc.end] = said.get((arc.start, arc.end), "") + arc.kana
        for (start, end), kana in said.items():
            reason = Reason("restored", UNREAD, kana, start, 0.0, "supplied, not seen")
            out[start, end, kana] = Arc(start, end, kana, 0.0, "", kana, (reason,), "filler")
    return list(out.values())
