"""Ranked readings of what was read: the joint search, its layers and its shares.

Conventions: readings come best first; probabilities are shares of the whole lattice under
the form chosen, 0..1; ``shares`` hold one entry per position, sign and kana, never below 0.0005.
"""

from __future__ import annotations

import functools
import time
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readaid.core import options
from readaid.core.errors import LatticeError, OptionError
from readaid.core.lattice import Constraint, Lattice
from readaid.core.reading import CandidateShare, Reading, Readings
from readaid.lexicon import builder
from readaid.lexicon.budget import STANDARD
from readaid.lexicon.costs import Costs, standard
from readaid.lexicon.kbest import DEFAULT_LIMIT, Search
from readaid.reading import assembly, hearing, known_verse, rank
from readaid.script import kana as letters
from readaid.script import verse_forms

#: Shares below this are left out of the list.
LEAST_SHARE = 5e-4
#: Most readings asked for at once.
MOST = 200


@dataclass(frozen=True)
class Solution:
    """Readings best first, the share of each candidate once its neighbours are weighed, the form, whether cut.

    ``lost``: the share of all ways (0..1) that was passed over because they were too many, by estimate;
    ``lost_at_most`` is a strict bound, 1 where nothing is known.
    """

    readings: tuple[Reading, ...]
    shares: tuple[CandidateShare, ...]
    form: str
    cut: bool = False
    seconds: float = 0.0
    lost: float = 0.0
    lost_at_most: float = 0.0


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
    _known(constraints)
    budget = STANDARD.within(time_limit)
    wanted = None if form is None else verse_forms.form(form)
    chosen = costs or standard()
    lattice = characters if isinstance(characters, Lattice) else builder.build(characters, constraints, costs, budget)
    limit = DEFAULT_LIMIT if time_limit is None else time_limit

    def left() -> float:
        return max(0.0, began + limit - time.monotonic())

    # Counted in signs and not heard: twenty kanji would else be heard as a waka of odd readings.
    if wanted is None and _may_be_chinese(lattice):
        first = Search(lattice, chosen, left() / 2, budget).best(None, 1)
        wanted = first.form if first.strings and first.form.unit == "character" else None
    if chosen.plain or (wanted is not None and wanted.unit == "character"):
        return _by_words(wanted, k, Search(lattice, chosen, left(), budget), began)
    # Hearing gets two thirds of the time; the words of a few dozen strings are soon found.
    try:
        heard = hearing.heard(lattice, wanted, chosen, time.monotonic() + left() * 2 / 3, budget)
    except hearing.OutOfTimeError:
        search = Search(lattice, chosen, left(), budget)
        search.cut = True
        return _by_words(wanted, k, search, began)
    ways = rank.strings(heard, k)
    search = Search(heard.narrowed(ways), chosen, left(), budget)
    ranked = rank.rank(heard, search, ways, LEAST_SHARE)
    if not ranked.strings and search.cut:  # too few words were kept to spell what was heard
        return _by_words(heard.form, k, search, began)
    if not ranked.strings:
        raise LatticeError("No reading leads from the first sign to the last",
                           cure="take back what was fixed, or give more candidates")
    cut = search.late() or heard.cut or search.cut
    readings = tuple(assembly.heard(heard, search, ranked, n, cut) for n in range(min(k, len(ranked.strings))))
    return Solution(readings, ranked.shares, heard.form.name, cut, time.monotonic() - began,
                    min(1.0, heard.chain.lost), heard.chain.lost_at_most())


def _may_be_chinese(lattice: Lattice) -> bool:
    """May every sign be a kanji, in a number that Chinese lines make?"""
    kanji = {arc.start for arc in lattice.arcs if not arc.kana}
    return len(kanji) == lattice.last and not lattice.gaps and (lattice.last % 5 == 0 or lattice.last % 7 == 0)


def _by_words(form: verse_forms.Form | None, k: int, search: Search, began: float) -> Solution:
    """Readings by the dictionary alone: Chinese lines, and whatever is asked with our own lexicon off."""
    best = search.best(form.name if form else None, k)
    if not best.strings:
        raise LatticeError("No reading leads from the first sign to the last",
                           cure="take back what was fixed, or give more candidates")
    search.weigh(best.form)
    best = replace(best, cut=best.cut or search.cut)
    readings = tuple(assembly.reading(search, best, found, search.share(found.kana)) for found in best.strings[:k])
    return Solution(readings, _shares(search, search.arc_shares()), best.form.name, best.cut, time.monotonic() - began)


def _known(constraints: Sequence[Constraint]) -> None:
    """Refuse what is no constraint."""
    for c in constraints:
        right = isinstance(c, Constraint) and all(isinstance(getattr(c, f.name), _FIELDS[f.name]) for f in fields(c))
        if not right:
            raise OptionError(f"{c!r} is no constraint", cure="give Fixed, WordEnd or Name, of whole numbers and text")


_FIELDS: dict[str, type] = {"start": int, "end": int, "node": int, "text": str, "of": str}


def read(characters: builder.Characters | Sequence[Any], form: str | None = None, k: int = 5,
         time_limit: float | None = None) -> Readings:
    """Readings only, best first, see ``solve``; a known verse near what was read stands beside them (``known``).

    >>> read("けふのやま")[0].modern
    'きょうのやま'
    """
    found = Readings(solve(characters, form, k, time_limit).readings)
    found.look = functools.partial(known_verse.beside, characters)  # no lambda: readings travel between processes
    return found


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
