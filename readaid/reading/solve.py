"""Ranked readings of what was read: the joint search, its layers and its shares.

Conventions: readings come best first; probabilities are shares of the whole lattice under
the form chosen, 0..1; ``shares`` hold one entry per position, sign and kana, never below 0.0005.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readaid.core import options
from readaid.core.errors import LatticeError, OptionError
from readaid.core.lattice import Constraint, Lattice
from readaid.core.reading import CandidateShare, Reading
from readaid.lexicon import builder
from readaid.lexicon.budget import STANDARD
from readaid.lexicon.costs import Costs
from readaid.lexicon.kbest import Search
from readaid.reading import assembly, rank
from readaid.script import kana as letters
from readaid.script import verse_forms

#: Shares below this are left out of the list.
LEAST_SHARE = 5e-4
#: Most readings asked for at once.
MOST = 200


@dataclass(frozen=True)
class Solution:
    """Readings best first, the share of each candidate once its neighbours are weighed, the form, whether cut."""

    readings: tuple[Reading, ...]
    shares: tuple[CandidateShare, ...]
    form: str
    cut: bool = False
    seconds: float = 0.0


def solve(characters: builder.Characters | Lattice | Sequence[Any], form: str | None = None, k: int = 5,
          time_limit: float | None = None, constraints: Sequence[Constraint] = (),
          costs: Costs | None = None) -> Solution:
    """Search everything that was read for the readings that hold as language, spelling and metre.

    Parameters
    ----------
    characters: text, a list of candidate lists, a list of ``Character`` (or of columns of them), or a lattice.
    form: name of a verse form; None finds the one that fits best.
    k: number of readings, distinct by their ``kana``.
    time_limit: seconds after which the search ends with what it has and says so (``cut``); below
        ``budget.FULL`` less is searched from the start.
    constraints: what the reader fixed, beside what the characters carry.

    Raises
    ------
    TextError: signs that cannot stand in an inscription, or no signs at all. OptionError: an unknown form, a k outside
    1..``MOST``, no span of time. LatticeError: no reading leads through, or more than can be searched.

    >>> found = solve("はるのやま", k=2)
    >>> found.readings[0].kana, round(sum(s.probability for s in found.shares if s.at == 0), 2)
    ('はるのやま', 1.0)
    """
    began = time.monotonic()
    k, time_limit = options.whole(k, "k", "readings", MOST), options.seconds(time_limit)
    if form is not None:
        verse_forms.form(form)
    _known(constraints)
    budget = STANDARD.within(time_limit)
    lattice = characters if isinstance(characters, Lattice) else builder.build(characters, constraints, costs, budget)
    left = None if time_limit is None else max(0.0, time_limit - (time.monotonic() - began))
    search = Search(lattice, costs, left, budget)
    best = search.best(form, rank.width(form, k))
    if not best.strings:
        raise LatticeError("No reading leads from the first sign to the last",
                           cure="take back what was fixed, or give more candidates")
    search.weigh(best.form)
    ranked = rank.rank(search, best)
    best = replace(best, cut=best.cut or search.cut)
    readings = tuple(assembly.reading(search, best, found, share)
                     for found, share in zip(ranked.strings[:k], ranked.probabilities, strict=False))
    return Solution(readings, _shares(search, ranked.arcs), best.form.name, best.cut,
                    time.monotonic() - began)


def _known(constraints: Sequence[Constraint]) -> None:
    """Refuse what is no constraint."""
    for c in constraints:
        right = isinstance(c, Constraint) and all(isinstance(getattr(c, f.name), _FIELDS[f.name]) for f in fields(c))
        if not right:
            raise OptionError(f"{c!r} is no constraint", cure="give Fixed, WordEnd or Name, of whole numbers and text")


_FIELDS: dict[str, type] = {"start": int, "end": int, "node": int, "text": str, "of": str}


def read(characters: builder.Characters | Sequence[Any], form: str | None = None, k: int = 5,
         time_limit: float | None = None) -> list[Reading]:
    """Readings only, best first; see ``solve``.

    >>> read("けふのやま")[0].modern
    'きょうのやま'
    """
    return list(solve(characters, form, k, time_limit).readings)


def _shares(search: Search, shares: NDArray[np.float64] | None) -> tuple[CandidateShare, ...]:
    if shares is None:
        return ()
    found: dict[tuple[int, str, str, bool], float] = {}
    for arc, share in zip(search.graph.arcs, shares, strict=True):
        if share <= 0.0:
            continue
        restored = arc.source == "filler"
        signs = letters.signs(arc.written)
        span = arc.end - arc.start
        for i in range(span):
            sign = signs[i] if len(signs) == span else arc.written
            spelled = arc.kana[i] if len(arc.kana) == span else arc.kana
            key = (arc.start + i, "" if restored else sign, spelled, restored)
            found[key] = found.get(key, 0.0) + float(share)
    return tuple(CandidateShare(at, sign, kana, min(1.0, p), restored) for (at, sign, kana, restored), p in
                 sorted(found.items(), key=lambda item: (item[0][0], -item[1])) if p >= LEAST_SHARE)
