"""Strings heard as verse, weighed once more by the words that the dictionary finds in them.

Conventions
-----------
* ``hearing`` gives strings with exact shares of the chain; the dictionary gives each the cost D of its cheapest
  words (writing rules in it, no metre), and the old grammar counts the G endings that may not stand where they do
  (ゆめば, とけで). A string weighs (P(chain) * exp(-w D / 700 - g G)) ** s, with w, g and s by form
  (``rank_weights.tsv``).
* Only strings within ``REACH`` of the likeliest are asked: words cannot lift what lies deeper.
* Strings beyond the list keep their mass together: it is weighed by the mean of the lower half of the list, so
  the list never claims more than its due. Shares of signs are the chain's, with the listed strings weighed again.
* A string that the dictionary cannot part into words (a fixed word end stands against it) is left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from readaid.core import tsv
from readaid.core.lattice import COST_FACTOR
from readaid.core.reading import CandidateShare
from readaid.lexicon import connection
from readaid.lexicon.chain import Way
from readaid.lexicon.kbest import Search
from readaid.lexicon.word_paths import WordPath, WordPaths
from readaid.reading.hearing import UNWRITTEN, Heard, unwritten
from readaid.script import voicing

Floats = NDArray[np.float64]

#: Strings taken from the chain for weighing, and how far (a logarithm) below the likeliest they may lie.
WIDTH, REACH = 30, 6.0
#: Strings taken where signs are unread: there the words say most.
WIDE = 80
#: A text of more signs than this gets fewer strings.
LONG, FEW = 60, 8
PARTS = ("words", "grammar", "sure", "kanji")
TABLE = Path(__file__).resolve().parent / "rank_weights.tsv"


@dataclass(frozen=True)
class Ranked:
    """Strings best first: words, probabilities, what the chain made of them, shares of signs, the words' power.

    ``charges`` are what the old grammar adds to each string's cost.
    """

    strings: tuple[WordPath, ...]
    probabilities: tuple[float, ...]
    ways: tuple[Way, ...]
    shares: tuple[CandidateShare, ...]
    power: float
    charges: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Weights:
    """Of the dictionary's words, of an ending that the old grammar does not allow (a logarithm), of the whole.

    ``kanji`` is the power of the whole where kanji are read: there a list is right less often than it says.
    """

    words: float
    grammar: float
    sure: float
    kanji: float


@lru_cache(maxsize=1)
def weights() -> Mapping[str, Weights]:
    """How much the dictionary's words and the old grammar count, and the power of the whole, by form."""
    return dict(tsv.load(TABLE, ("form", *PARTS, "note"),
                         lambda r: (r["form"], Weights(*(tsv.number(r[c]) for c in PARTS)))))


def strings(heard: Heard, k: int) -> list[Way]:
    """The strings worth weighing: ``k`` at least, ``WIDTH`` at most unless more are asked for."""
    wide = WIDE if heard.lattice.gaps else WIDTH
    found = heard.chain.best(max(k, wide if heard.lattice.last <= LONG else FEW))
    return [w for n, w in enumerate(found) if n < k or w.score > found[0].score - REACH]


def rank(heard: Heard, search: Search, ways: Sequence[Way], least: float) -> Ranked:
    """Weigh strings of the chain; ``search`` is that of the lattice narrowed to them, ``least`` the share to list."""
    own = weights().get(heard.form.name, weights()["hokku"])
    words_of = WordPaths(search.space, search.readings())
    # The charge is taken at its word, whatever the dictionary's words count.
    charge = COST_FACTOR * own.grammar / max(own.words, 1e-3)
    paths = {w.kana: _priced(search, found, charge) for w in ways if (found := words_of.of(w.kana)) is not None}
    kept = [w for w in ways if w.kana in paths]
    told = heard.chain.strings(kept)
    old = np.array([p for p, _ in told])
    price = np.array([paths[w.kana].cost for w in kept]) * (own.words / COST_FACTOR)
    # Against the cheapest, or a long text's e**-500 would be nought for all.
    factor = np.exp(price.min() - price) if len(price) else price
    kanji = any(r.kind == "kanji reading" for w in kept[:1] for g in w.groups for r in heard.arc(g).reasons)
    weight = (old * factor) ** (own.kanji if kanji else own.sure)
    listed = _listed(old, factor)
    new = weight * (listed / weight.sum()) if weight.sum() > 0.0 else old
    order = sorted(range(len(kept)), key=lambda i: (-new[i], paths[kept[i].kana].cost))
    groups = _groups(heard.chain.shares, told, old, new)
    shares = tuple(s for s, p in heard.shares(groups) if p >= least)
    return Ranked(tuple(paths[kept[i].kana] for i in order), tuple(float(new[i]) for i in order),
                  tuple(kept[i] for i in order), shares, own.words,
                  tuple(own.words * charge * faults(search, paths[kept[i].kana].rows) for i in order))


def _priced(search: Search, found: WordPath, charge: float) -> WordPath:
    """A path without what kana in the place of kanji cost it, and with what the old grammar charges."""
    graph, words = search.graph, search.words
    edges = [graph.edges[e] for row in found.rows for e in words.walk.edges(int(words.path[row]))]
    many = sum(e.first and unwritten(graph.arcs[e.arc]) for e in edges)
    return replace(found, cost=found.cost - UNWRITTEN * many + charge * faults(search, found.rows))


def faults(search: Search, rows: Sequence[int]) -> int:
    """Voiced endings (ば で じ ぞ だに がな) in a path that the old grammar does not allow where they stand.

    Endings without a voiced sound are not judged: the dictionary parts の and も wrongly more often than verse breaks
    the rule.
    """
    words, kana = search.words, search.readings().kana
    left = [int(words.left[row]) for row in rows]
    said = [str(kana[row]) for row in rows]
    return sum(voicing.plain(k) != k and not connection.fits(a, b, k)
               for a, b, k in zip(left, left[1:], said[1:], strict=False))


def _listed(old: Floats, factor: Floats) -> float:
    """Share of all strings that the list holds: what is beyond is weighed as its lower half."""
    if not len(old):
        return 0.0
    order = np.argsort(-old, kind="stable")
    tail = order[len(order) // 2:]
    beyond = float(np.average(factor[tail], weights=np.maximum(old[tail], 1e-300)))
    listed = float((old * factor).sum())
    return listed / (listed + max(0.0, 1.0 - float(old.sum())) * beyond)


def _groups(shares: Floats, told: Sequence[tuple[float, Floats]], old: Floats, new: Floats) -> Floats:
    """Shares of the groups once the strings are weighed again; what is beyond the list is scaled to the rest."""
    before, after = np.zeros(len(shares)), np.zeros(len(shares))
    for (_, groups), p, q in zip(told, old, new, strict=True):
        before += p * groups
        after += q * groups
    beyond = max(0.0, 1.0 - float(new.sum())) / max(1e-12, 1.0 - float(old.sum()))
    result: Floats = np.maximum(shares - before, 0.0) * beyond + after
    return result
