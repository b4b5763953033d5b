"""Readings ranked again by how like old verse they are, and what that makes of probabilities and shares.

Conventions
-----------
* The search gives the cheapest distinct strings, exactly; each has its probability P under the search's temperature.
  The kana models of ``lexicon.verse_model`` then weigh each string by exp(-w cost / 700), lines as the search broke
  them.
* Weights (``rank_weights.tsv``) are fitted by form on ``data/verses/train.tsv`` by ``data/fit/rank.py``; forms
  without weights (prose, Chinese verse) keep the search's order.
* Strings beyond the ``WIDTH`` best keep their mass together: it is weighed by the P-weighted mean of the lower half
  of the list, so the list never claims more than its due; then all is made to sum to 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import COST_FACTOR
from readaid.lexicon import tables, verse_model
from readaid.lexicon.kbest import Best, Search
from readaid.lexicon.search import Found

Floats = NDArray[np.float64]

#: Strings taken from the search for ranking. 60 put no more readings right on fitting verses and cost twice the time.
WIDTH = 30
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
    for form, model, weight in tables.load(TABLE, ("form", "model", "weight", "note"),
                                           lambda r: (r["form"], r["model"], tables.number(r["weight"]))):
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
    if not chosen or arcs is None or len(best.strings) < 2 or old.sum() <= 0.0:
        return Ranked(best.strings, tuple(old.tolist()), arcs)
    verses = [lines(search, best, f) for f in best.strings]
    price = sum((w * verse_model.costs(verses, model) for model, w in chosen.items()), np.zeros(len(verses)))
    factor = np.exp(-(price - price.min()) / COST_FACTOR)
    order = np.argsort(-old, kind="stable")
    tail = order[len(order) // 2:]
    beyond = float(np.average(factor[tail], weights=np.maximum(old[tail], 1e-300)))
    rest = max(0.0, 1.0 - float(old.sum()))
    total = float((old * factor).sum()) + rest * beyond
    new = old * factor / total
    ranked = sorted(range(len(new)), key=lambda i: (-new[i], best.strings[i].cost))
    return Ranked(tuple(best.strings[i] for i in ranked), tuple(float(new[i]) for i in ranked),
                  _arcs(search, best.strings, arcs, old, new, beyond / total))


def _arcs(search: Search, strings: Sequence[Found], shares: Floats, old: Floats, new: Floats, beyond: float) -> Floats:
    """Shares of the arcs once the strings are weighed again; what is beyond the list is scaled by ``beyond``."""
    graph, words = search.graph, search.words
    before, after = np.zeros(len(shares)), np.zeros(len(shares))
    for found, p, q in zip(strings, old, new, strict=True):
        edges = (graph.edges[e] for row in found.rows for e in words.walk.edges(int(words.path[row])))
        used = [e.arc for e in edges if e.first]
        before[used] += p
        after[used] += q
    out = np.maximum(shares - before, 0.0) * beyond + after
    # A string may be read along several paths (か from two letters); it was counted along its best. Sums stay 1.
    whole = np.zeros(search.lattice.last)
    for arc, share in zip(graph.arcs, out, strict=True):
        whole[arc.start:arc.end] += share
    scale = np.array([float(whole[a.start:a.end].mean()) for a in graph.arcs])
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
