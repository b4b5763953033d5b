"""Known verses near what was read: which verse, what differs, and how often chance alone comes as near.

Conventions
-----------
* Verses are ranked by the score of ``verse_alignment`` (log-likelihood against verse at large). ``distance`` is told in
  signs: 0 for a sign that agrees (unread signs agree with anything, voicing and letter size are not compared), 0.25 for
  a free spelling, up to 1 for a candidate thought less likely, 1 for a sign that differs, is too much or is missing.
* ``chance``: the probability that the best of this many unrelated verses scores as high; see ``chance``.
* Verdicts: see ``verse_verdict``. "nothing near" holds among the verses searched (``among``) and no others.
* ``offset`` is the kana of the verse, 0-based, at which the part that is there begins.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readaid.core import options
from readaid.core.errors import LatticeError
from readaid.core.lattice import Lattice
from readaid.core.reading import VerseMatch
from readaid.lexicon import builder, verses
from readaid.lexicon.verse_text import KnownVerse
from readaid.reading import chance, differences, verse_alignment, verse_verdict
from readaid.reading.kana_profile import Profile, codes, profile
from readaid.reading.verse_index import Index, index
from readaid.script import season_words, spelling

#: Most verses asked for at once; most signs compared (the longest verse of a collection has 400 kana).
MOST, MOST_SIGNS = 100, 500
#: Verdicts worth showing beside a reading; signs of a line that is looked up by itself (a name is no verse).
TELLING = ("the same", "a variant", "quotes a line")
LEAST_SIGNS, MOST_BESIDE = 4, 80
#: Kana of the longest season word that is looked up.
LONGEST_WORD = 9
#: Verses aligned again with rules over several signs, and with the columns in other orders.
AGAIN = 400
#: Other orders of columns are tried up to this many columns.
MOST_COLUMNS = 5
#: What another order of the columns costs, in nats, beside the logarithm of the number of orders.
REORDERED = 1.5
#: How much better a verse must fit in modern spelling to be taken so.
OTHER_SPELLING = 0.5


@dataclass(frozen=True)
class _Hit:
    verse: int
    row: int
    score: float
    order: tuple[int, ...]


def find_verse(characters: builder.Characters | Lattice | Sequence[Any], collection: Any = None, k: int = 5,
               ) -> list[VerseMatch]:
    """Known verses near an uncertain reading, nearest first.

    Parameters
    ----------
    characters: text, a list of candidate lists, a list of ``Character`` (or of columns of them), or a lattice.
    collection: path of a CSV, TSV or TEI file, a list of verses, or None for the collection that comes along.
    k: number of verses.

    Raises
    ------
    TextError: signs that cannot stand in an inscription. CollectionError, TableError: a collection that cannot be read.
    OptionError: a k outside 1..``MOST``. LatticeError: more signs than a verse can have.

    >>> found = find_verse("はるの?みひね?す", ["はるのうみ ひねもすのたり のたりかな", "なつくさや つはものどもが"])
    >>> found[0].verse, found[0].distance < found[1].distance
    ('はるのうみ ひねもすのたり のたりかな', True)
    """
    k = options.whole(k, "k", "verses", MOST)
    known = index(verses.collection(collection))
    lattice = characters if isinstance(characters, Lattice) else builder.build(characters)
    if not known.verses:
        return []
    if lattice.last > MOST_SIGNS:
        raise LatticeError(f"{lattice.last:,} signs are more than one verse has", f"{MOST_SIGNS} are compared at most",
                           "give the part that may be a verse")
    read = profile(lattice, known.background)
    hits = _again(read, known)
    null = chance.null(read)
    return [_match(known, read, hit, null.of(hit.score, len(known.verses))) for hit in hits[:k]]


def beside(characters: builder.Characters | Sequence[Any]) -> VerseMatch | None:
    """The known verse to show beside a reading, None where it would tell nothing: nothing is near or too little read.

    >>> found = beside("ふるいけやかはつとひこむみつのおと")
    >>> found is not None and found.verdict
    'the same'
    """
    lattice = builder.build(characters)
    if not LEAST_SIGNS <= lattice.last <= MOST_BESIDE:
        return None
    found = find_verse(lattice, k=1)
    return found[0] if found and found[0].verdict in TELLING else None


def _again(read: Profile, known: Index) -> list[_Hit]:
    """The likeliest verses by the quick pass, aligned with everything; best first, one hit for each verse."""
    parts = len(read.columns)
    # The index leaves out verses that share too few neighbouring kana; where it leaves none out the rows need no
    # copy.
    near = known.likely(read)
    rows = known.rows if len(near) == len(known.rows.length) else known.rows.take(near)
    chosen = near[_top(verse_alignment.score(read, rows, spans=False), AGAIN)]
    orders: list[tuple[int, ...]] = [tuple(range(parts))]
    if 1 < parts <= MOST_COLUMNS:
        # Columns of a scattered writing (散らし書き) may be read in another order: a verse that holds each of them
        # somewhere is tried in all orders.
        loose = np.sum([verse_alignment.inside(read.part(*c), rows) for c in read.columns], axis=0)
        chosen = np.union1d(chosen, near[_top(loose, AGAIN // 4)])
        orders += [o for o in itertools.permutations(range(parts)) if o != orders[0]]
    some = known.rows.take(chosen)
    best: dict[int, _Hit] = {}
    for order in orders:
        moved = read if order == orders[0] else read.ordered(order)[0]
        # Of 120 orders one fits better by chance; the logarithm takes that back.
        price = 0.0 if order == orders[0] else REORDERED + math.log(len(orders))
        for row, value in enumerate((verse_alignment.score(moved, some) - price).tolist()):
            verse = int(some.verse[row])
            # The source's own spelling comes first among the rows of a verse and wins where both agree about as well.
            if verse not in best or value > best[verse].score + (OTHER_SPELLING if order == best[verse].order else 0.0):
                best[verse] = _Hit(verse, int(chosen[row]), value, order)
    return sorted(best.values(), key=lambda h: (-h.score, h.verse))


def _top(scores: NDArray[np.float32], many: int) -> NDArray[np.int64]:
    if len(scores) <= many:
        return np.arange(len(scores), dtype=np.int64)
    return np.sort(np.argpartition(-scores, many)[:many]).astype(np.int64)


def _match(known: Index, read: Profile, hit: _Hit, likely: float) -> VerseMatch:
    verse = known.verses[hit.verse]
    moved, old = read.ordered(hit.order) if hit.order != tuple(range(len(read.columns))) else (read, None)
    row = known.rows.take(np.array([hit.row]))
    steps = verse_alignment.steps(moved, row)
    length = int(row.length[0])
    told = differences.tell(moved, steps, verse, row.codes[0], length, old)
    notes = told.differences
    if old is not None:
        notes = ("columns read in the order " + ", ".join(str(c + 1) for c in hit.order), *notes)
    shared = verse_verdict.common(moved, steps, row.codes[0], _lengths(verse, length))
    own = hit.row == int(known.first[hit.verse])
    phrase = verse.kana[shared.begin:shared.stop] if own else "".join(verse.lines[n] for n in shared.lines)
    holding, drawn = (known.holding(phrase), chance.holding(phrase)) if shared.counts else (0, 0)
    others = max(0, holding - 1)  # but this verse itself
    season = bool(phrase) and len(phrase) <= LONGEST_WORD and bool(season_words.of(phrase))
    verdict = verse_verdict.verdict(told.same and old is None, length, shared, likely, others, drawn, season)
    return VerseMatch(" ".join(verse.lines), verse.title, verse.author, verse.source, verdict, told.distance, notes,
                      likely, told.offset, verse.text, len(known.verses),
                      phrase if shared.counts else "", holding)


def _lengths(verse: KnownVerse, length: int) -> list[int]:
    """Kana of each line in the spelling of a row, which is the source's own or the modern one."""
    own = [len(codes(line)) for line in verse.lines]
    return own if sum(own) == length else [len(codes(spelling.modern(line))) for line in verse.lines]
