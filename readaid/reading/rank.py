"""Readings ranked again by how like old verse they are, and what that makes of probabilities and shares.

Conventions
-----------
* The search gives the cheapest distinct strings, exactly; each has its probability P under the search's temperature.
  The kana models of ``lexicon.verse_model`` then weigh each string: P ** words * exp(-w cost / 700), lines as the
  search broke them.
* Where there are letters to choose from, the right string is seldom among the search's best (22 of 100 times among 300
  of three look-alikes). The chain of letters (``lexicon.chain``) then gives the shares of the letters, and brings
  up more strings: the best of a second search whose signs cost what the chain makes of them, each followed again in
  the first search, so that its cost and path are exact. Which strings come up is not exact.
* Weights (``rank_weights.tsv``) are fitted by form by ``data/fit/rank.py``; forms without weights (prose, Chinese
  verse) keep the search's order.
* Strings beyond the list keep their mass together: it is weighed by the P-weighted mean of the lower half of the
  list, or told by the chain, so the list never claims more than its due.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from readaid.core import tsv
from readaid.core.lattice import COST_FACTOR, Reason
from readaid.lexicon import chain, verse_model
from readaid.lexicon.chain import Chain
from readaid.lexicon.kbest import Best, Search
from readaid.lexicon.search import Found
from readaid.script import voicing

Floats = NDArray[np.float64]

#: Strings taken from the search for ranking. 60 put no more readings right on fitting verses and cost twice the time.
WIDTH = 30
#: Kana models that weigh whole strings.
MODELS = ("voiced", "hokku")
#: A letter below this share is not proposed; above 1 less this, nothing is open at its place.
SURE = 1e-3
#: Strings brought up by the chain that are kept.
BROUGHT = 10
#: Strings whose share the chain is asked for.
FEW = 5
TABLE = Path(__file__).resolve().parent / "rank_weights.tsv"


@dataclass(frozen=True)
class Ranked:
    """Strings best first with their probabilities, and the share of each arc of the graph (None: time ran out)."""

    strings: tuple[Found, ...]
    probabilities: tuple[float, ...]
    arcs: Floats | None


@lru_cache(maxsize=1)
def weights() -> dict[str, dict[str, float]]:
    """Weight of each model by form."""
    found: dict[str, dict[str, float]] = {}
    for form, model, weight in tsv.load(TABLE, ("form", "model", "weight", "note"),
                                           lambda r: (r["form"], r["model"], tsv.number(r["weight"]))):
        found.setdefault(form, {})[model] = weight
    return found


def width(form: str | None, k: int) -> int:
    """How many strings to take from the search, given the form asked for and the number of readings wanted.

    >>> width("prose", 5), width("hokku", 5)
    (5, 30)
    """
    return k if form is not None and form not in weights() else max(k, WIDTH)


def rank(search: Search, best: Best) -> Ranked:
    """Rank the strings of a search that was weighed (``Search.weigh``) under its form."""
    old = np.array([search.share(f.kana) for f in best.strings])
    arcs = search.arc_shares()
    chosen = weights().get(best.form.name)
    if not chosen or arcs is None or old.sum() <= 0.0:
        return Ranked(best.strings, tuple(old.tolist()), arcs)
    found, letters = best.strings, None if search.late() else _chain(search, best, arcs, chosen)
    verses = [lines(search, best, f) for f in found]
    if letters is not None and not search.late():
        more = proposed(search, best, letters)
        kana, own = list(more), np.array([search.share(k) for k in more])
        weight = _weigh(own, list(more.values()), chosen)[0] if kana else own
        fresh = search.follow(best.form, [kana[i] for i in np.argsort(-weight, kind="stable")[:BROUGHT].tolist()])
        found = (*found, *fresh)
        old = np.concatenate([old, [own[kana.index(f.kana)] for f in fresh]])
        verses += [lines(search, best, f) for f in fresh]
    if len(found) < 2:
        return Ranked(found, tuple(old.tolist()), arcs)
    new, factor = _weigh(old, verses, chosen)
    new *= _listed(old, factor) / new.sum()
    ranked = sorted(range(len(new)), key=lambda i: (-new[i], found[i].cost))
    if letters is not None and not search.late():
        new *= min(1.0, _known(search, letters, [found[i] for i in ranked], new[ranked]))
    shares = _arcs(search, found, arcs, old, new)
    return Ranked(tuple(found[i] for i in ranked), tuple(float(new[i]) for i in ranked),
                  shares if letters is None else letters.arcs(shares))


def _weigh(old: Floats, verses: Sequence[Sequence[str]], chosen: dict[str, float]) -> tuple[Floats, Floats]:
    """Weight of each string, and the part of the kana models in it."""
    price = sum((chosen[m] * verse_model.costs(verses, m) for m in MODELS if m in chosen), np.zeros(len(verses)))
    factor: Floats = np.exp(-(price - price.min()) / COST_FACTOR)
    weight: Floats = np.maximum(old, 1e-300) ** chosen.get("words", 1.0) * factor
    return weight, factor


def _listed(old: Floats, factor: Floats) -> float:
    """Share of all strings that the list holds: what is beyond is weighed as its lower half."""
    order = np.argsort(-old, kind="stable")
    tail = order[len(order) // 2:]
    beyond = float(np.average(factor[tail], weights=np.maximum(old[tail], 1e-300)))
    listed = float((old * factor).sum())
    return listed / (listed + max(0.0, 1.0 - float(old.sum())) * beyond)


def _chain(search: Search, best: Best, arcs: Floats, chosen: dict[str, float]) -> Chain | None:
    """The chain of letters where there are letters to choose from."""
    if "letters" not in chosen:
        return None
    unit = COST_FACTOR * search.costs.weight("temperature")
    made = chain.made(search.graph, search.metre(best.form), arcs, unit, chosen["letter words"], chosen["letters"])
    if made is None:
        return None
    sums: dict[tuple[int, tuple[int, ...]], float] = {}
    for group, share in zip(made.groups, made.posterior, strict=True):
        sums[group.start, group.codes] = sums.get((group.start, group.codes), 0.0) + float(share)
    return made if any(SURE < p < 1.0 - SURE for p in sums.values()) else None


def proposed(search: Search, best: Best, letters: Chain) -> dict[str, tuple[str, ...]]:
    """Strings that the letters' chain brings up, and their lines.

    They are the best of a search whose signs cost what the chain makes of them.
    """
    unit = COST_FACTOR * search.costs.weight("temperature")
    arcs = []
    for number, arc in enumerate(search.graph.arcs):
        if number in letters.of and all(letters.posterior[n] > SURE for n in letters.of[number]):
            said = Reason("neighbours", arc.written, arc.text, arc.start, -unit * letters.message(number))
            arcs.append(replace(arc, cost=arc.cost + said.cost, reasons=(*arc.reasons, said)))
    leaning = replace(search.lattice, arcs=tuple(arcs), gaps=())
    known = {f.kana for f in best.strings}
    left = max(0.05, search.deadline - time.monotonic())
    again = Search(leaning, search.costs, left)
    leant = again.best(best.form.name, WIDTH)
    return {f.kana: lines(again, leant, f) for f in leant.strings if f.kana not in known}


def _known(search: Search, letters: Chain, found: Sequence[Found], new: Floats) -> float:
    """Share of the whole that the strings hold by the chain, told from the likeliest few."""
    held: dict[str, tuple[float, float]] = {}
    for string, p in zip(found[:FEW], new[:FEW], strict=False):
        plain = voicing.plain(string.kana)
        own = held[plain][0] if plain in held else letters.probability(_used(search, string))
        held[plain] = own, held.get(plain, (0.0, 0.0))[1] + float(p)
    listed = sum(p for _, p in held.values())
    return sum(own for own, _ in held.values()) / listed if listed > 0.0 else 1.0


def _used(search: Search, found: Found) -> list[int]:
    """Numbers of the arcs that a string's best path takes."""
    graph, words = search.graph, search.words
    edges = (graph.edges[e] for row in found.rows for e in words.walk.edges(int(words.path[row])))
    return [e.arc for e in edges if e.first]


def _arcs(search: Search, strings: Sequence[Found], shares: Floats, old: Floats, new: Floats) -> Floats:
    """Shares of the arcs once the strings are weighed again; what is beyond the list is scaled to the rest."""
    before, after = np.zeros(len(shares)), np.zeros(len(shares))
    for found, p, q in zip(strings, old, new, strict=True):
        used = _used(search, found)
        before[used] += p
        after[used] += q
    beyond = max(0.0, 1.0 - float(new.sum())) / max(1e-12, 1.0 - float(old.sum()))
    out = np.maximum(shares - before, 0.0) * beyond + after
    # A string may be read along several paths (か from two letters); it was counted along its best. Sums stay 1.
    whole = np.zeros(search.lattice.last)
    for arc, share in zip(search.graph.arcs, out, strict=True):
        whole[arc.start:arc.end] += share
    scale = np.array([float(whole[a.start:a.end].mean()) for a in search.graph.arcs])
    result: Floats = np.where(scale > 0.0, out / np.where(scale > 0.0, scale, 1.0), 0.0)
    return result


def lines(search: Search, best: Best, found: Found) -> tuple[str, ...]:
    """The verse lines of a string, as its best path breaks them."""
    metre = search.metre(best.form)
    readings = search.readings(metre.characters)
    state, out = metre.states[0], [""]
    for row, to in zip(found.rows, found.states, strict=True):
        kana, units = str(readings.kana[row]), readings.sounds[readings.sound[row]].units
        after = metre.states[to]
        if after.line == state.line:
            out[-1] += kana
        else:
            head = max(0, min(len(kana), units - after.used))  # kana of a word that runs across the end of the line
            out[-1] += kana[:head]
            out.append(kana[head:])
        state = after
    return tuple(out)
