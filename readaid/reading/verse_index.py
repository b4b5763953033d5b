"""A collection of verses made ready: rows of codes, which verses hold which pairs of kana, how common a phrase is.

Conventions
-----------
* A pair is two kana and how far apart they stand (1 to ``REACH``), kana folded as ``kana_profile`` folds them. Each
  verse is listed under its pairs once, in its source's spelling; ``likely`` adds up how rare the agreeing pairs are.
* Small collections are laid along whole; the pairs only choose which verses of a large one are laid along at all.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon.verse_text import KnownVerse
from readaid.reading import verse_alignment
from readaid.reading.kana_profile import ALPHABET, OTHER, PAST, Profile, codes
from readaid.reading.verse_alignment import Rows
from readaid.script import spelling

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]

#: Two kana of a pair stand at most this far apart: with 40 % unread, neighbours alone leave some verses without a pair.
REACH = 3
#: A collection up to this many rows is laid along whole; of a larger one so many verses are.
WHOLE, SOME = 8_000, 1_200
#: Candidates of one sign that make pairs; a candidate must speak for the kana by this many nats.
_MOST, _SPEAKS = 3, 0.7
_SIZE = PAST + 1
#: Larger collections stand in their source's spelling only: the rules of spelling take half a minute for 100,000
#: verses, and what was read is compared through the spellings of the time anyway.
_BOTH = 20_000


@dataclass(frozen=True)
class Index:
    """A collection made ready: its verses, their rows in both spellings, the share of each kana, and its pairs."""

    verses: tuple[KnownVerse, ...]
    rows: Rows
    background: Floats
    pairs: Ints  # verses by pair
    starts: NDArray[np.int64]  # where each pair's verses begin in ``pairs``, one more at the end
    first: NDArray[np.int64]  # each verse's first row
    text: bytes  # all verses in their source's spelling, folded, parted by a sign that no kana has

    def holding(self, phrase: str) -> int:
        """How many verses hold a phrase, voicing aside.

        >>> from readaid.lexicon import verses
        >>> index(verses.collection(["はるの うみ", "うみの はる", "やま"])).holding("うみ")
        2
        """
        wanted = bytes(codes(phrase))
        found, at = 0, self.text.find(wanted) if wanted else -1
        while at >= 0:
            found += 1
            at = self.text.find(wanted, self.text.find(_PARTED, at))
        return found

    def likely(self, read: Profile) -> NDArray[np.int64]:
        """Rows that may be near what was read: all of a small collection, the likeliest verses of a large one."""
        if len(self.rows.length) <= WHOLE:
            return np.arange(len(self.rows.length), dtype=np.int64)
        keys = np.array(sorted(set(_keys_read(read))), dtype=np.int64)
        counts = self.starts[keys + 1] - self.starts[keys]
        heap = np.zeros(len(self.verses), dtype=np.float32)
        rare = np.log(len(self.verses) / np.maximum(counts, 1.0)).astype(np.float32)
        for key, worth, many in zip(keys.tolist(), rare.tolist(), counts.tolist(), strict=True):
            if many:  # a verse is listed once under a pair, so that plain adding is right
                heap[self.pairs[self.starts[key]:self.starts[key + 1]]] += worth
        many = min(SOME, len(heap))
        chosen = np.sort(np.argpartition(-heap, many - 1)[:many])
        last = np.r_[self.first[1:], len(self.rows.length)]
        return np.concatenate([np.arange(self.first[v], last[v]) for v in chosen.tolist()])


_PARTED = bytes([255])
#: Collections made ready, the latest last, known by being the same tuple (hashing 100,000 verses takes longer than
#: searching them); small ones are also known by their verses.
_READY: list[Index] = []
_LOCK = threading.Lock()
_SMALL = 5_000


def index(found: tuple[KnownVerse, ...]) -> Index:
    """Make a collection ready; kept while the collection stays the same.

    >>> from readaid.lexicon import verses
    >>> len(index(verses.collection(["はるの うみ"])).rows.length)
    1
    """
    with _LOCK:
        for known in _READY:
            if known.verses is found or (len(found) == len(known.verses) <= _SMALL and known.verses == found):
                return known
        made = _made(found)
        _READY[:] = [*_READY[-3:], made]
        return made


def _made(found: tuple[KnownVerse, ...]) -> Index:
    texts: list[str] = []
    numbers: list[int] = []
    first: list[int] = []
    for n, verse in enumerate(found):
        own = "".join(verse.lines)
        modern = "".join(map(spelling.modern, verse.lines)) if len(found) <= _BOTH else own
        first.append(len(texts))
        texts.append(own)
        numbers.append(n)
        if modern != own and codes(modern) != codes(own):
            texts.append(modern)
            numbers.append(n)
    made = verse_alignment.rows(texts, numbers)
    counts = np.bincount(made.codes.ravel(), minlength=_SIZE)[:_SIZE].astype(float)
    counts[PAST] = 0.0
    # Small collections do not tell how common a kana is: add 300 kana spread as evenly as may be.
    counts[:PAST] += 300.0 / len(ALPHABET)
    share = counts / counts.sum()
    share[PAST] = 1.0
    firsts = np.array(first, dtype=np.int64)
    own_rows = made.codes[firsts] if len(firsts) else made.codes
    pairs, starts = _paired(own_rows)
    text = b"".join(row[row != PAST].astype(np.uint8).tobytes() + _PARTED for row in own_rows)
    return Index(found, made, share, pairs, starts, firsts, text)


def _paired(table: NDArray[np.int8]) -> tuple[Ints, NDArray[np.int64]]:
    """Verses under each pair: numbers of verses sorted by pair, and where each pair begins."""
    keys: list[NDArray[np.int64]] = [np.zeros(0, dtype=np.int64)]
    for apart in range(1, min(REACH, table.shape[1] - 1) + 1):
        one, two = table[:, :-apart].astype(np.int64), table[:, apart:].astype(np.int64)
        there = (one < OTHER) & (two < OTHER)
        verse = np.broadcast_to(np.arange(len(table))[:, None], one.shape)[there]
        keys.append(_key(one[there], two[there], apart) * len(table) + verse)
    joined = np.sort(np.concatenate(keys))  # and equal ones once: np.unique takes five times as long on these
    joined = joined[np.r_[True, joined[1:] != joined[:-1]]] if len(joined) else joined
    of = joined // max(len(table), 1)
    starts = np.searchsorted(of, np.arange(REACH * _SIZE * _SIZE + 1))
    return (joined % max(len(table), 1)).astype(np.int32), starts.astype(np.int64)


def _key(one: NDArray[np.int64], two: NDArray[np.int64], apart: int) -> NDArray[np.int64]:
    return ((apart - 1) * _SIZE + one) * _SIZE + two


def _keys_read(read: Profile) -> list[int]:
    """Pairs that what was read may hold: of signs that were read, and inside words that kanji stand for."""
    spoken = []
    for i in range(read.size):
        row = read.signs[i, :OTHER]
        best = np.argsort(-row)[:_MOST]
        spoken.append([int(c) for c in best if row[c] > _SPEAKS])
    out = [int(_key(np.int64(a), np.int64(b), j - i))  # type: ignore[arg-type]
           for i in range(read.size) for j in range(i + 1, min(i + REACH + 1, read.size))
           for a in spoken[i] for b in spoken[j]]
    for span in read.spans:
        out += [int(_key(np.int64(a), np.int64(b), j))  # type: ignore[arg-type]
                for i, a in enumerate(span.codes) for j, b in enumerate(span.codes[i + 1:i + 1 + REACH], 1)]
    return out
