"""What each word reads as: the carver's kana, morae, bare vowels, and whether it may begin a line.

Conventions
-----------
* ``kana`` is the word's share of the carver's spelling, voicing restored, in
  hiragana. Where kanji stand in the word their kana come from the dictionary's reading
  (modern), the kana beside them stay as the carver wrote them.
* Morae are those of the pronunciation: きやう read きょう counts 2.
* Bare vowels are あ い う お as written (Motoori Norinaga does not count え).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon import entries, kanji_runs
from readaid.lexicon.dictionary import Dictionary
from readaid.lexicon.graph import Graph
from readaid.lexicon.metre import Sound
from readaid.lexicon.walk import Walk
from readaid.lexicon.words import Words
from readaid.script import kana as letters

Ints = NDArray[np.int64]

_NO_MORA = frozenset("ぁぃぅぇぉゃゅょゎゕゖァィゥェォャュョヮヵヶ")
_VOWELS = frozenset("あいうおアイウオ")
#: Full-size や ゆ よ わ after these may be one mora with them (きやう, くわ): ask the pronunciation.
_HEADS = {**dict.fromkeys("きしちにひみりぎじぢびぴ", 1), "く": 2, "ぐ": 2}
_TAILS = {**dict.fromkeys("やゆよ", 1), **dict.fromkeys("わゐゑ", 2)}
#: Words of these parts of speech seldom begin a verse line.
_ENDINGS = ("助詞", "助動詞", "接尾辞", "補助記号")


@dataclass(frozen=True)
class Readings:
    """Parallel to the rows of ``Words``: the kana (fixed-width text) and the number of the sound class."""

    kana: NDArray[np.str_]
    length: Ints
    sound: Ints
    sounds: tuple[Sound, ...]


def of(words: Words, graph: Graph, dictionary: Dictionary, by_character: bool = False) -> Readings:
    """Readings of all rows; ``by_character`` counts signs and not morae (Chinese verse)."""
    unique, path = np.unique(words.path, return_inverse=True)
    path = path.ravel()
    spelled, units, vowels, odd = _paths(words.walk, unique, graph, by_character)
    unit, vowel, kana = units[path], vowels[path], spelled[path]
    special = np.flatnonzero(odd[path])
    if len(special):
        loose = kana.astype(object)
        for row in special:
            edges = words.walk.edges(int(words.path[row]))
            loose[row], count, vowel[row] = _asked(int(words.token[row]), edges, graph, dictionary, str(kana[row]))
            if not by_character:
                unit[row] = count
        kana = loose.astype(str)
    # A line that begins with a particle or an ending (を, けり) is dearer: the metre asks for it by word.
    ending = _endings(dictionary)[words.left]
    kinds, sound = np.unique((unit * 4 + vowel) * 2 + ending, return_inverse=True)
    classes = tuple(Sound(int(k) >> 3, bool(k >> 1 & 1), bool(k >> 2 & 1), bool(k & 1)) for k in kinds)
    return Readings(kana, np.char.str_len(kana).astype(np.int64), sound.ravel().astype(np.int64), classes)


def _paths(walk: Walk, paths: Ints, graph: Graph, by_character: bool,
           ) -> tuple[NDArray[np.str_], Ints, Ints, NDArray[np.bool_]]:
    """For each path: its kana, its units, bare vowels (1 first, 2 later), and whether the dictionary must be asked."""
    edges = graph.edges
    sure = (letters.Kind.PUNCTUATION, letters.Kind.KANA)
    kinds = [letters.kind(e.text) for e in edges]
    if by_character:
        unit = np.array([graph.arcs[e.arc].end - graph.arcs[e.arc].start if e.first else 0 for e in edges])
    else:
        unit = np.array([e.text not in _NO_MORA and k is not letters.Kind.PUNCTUATION
                         for e, k in zip(edges, kinds, strict=True)], dtype=np.int64)
    vowel = np.array([e.kana[:1] in _VOWELS and e.kana != "" for e in edges], dtype=bool)
    asks = np.array([not e.kana and k not in sure for e, k in zip(edges, kinds, strict=True)], dtype=bool)
    head = np.array([_HEADS.get(e.text, 0) for e in edges])
    tail = np.array([_TAILS.get(e.text, 0) for e in edges])
    kana = np.array([e.kana for e in edges], dtype=str)
    long = np.char.str_len(kana).astype(np.int64)
    codes = np.ascontiguousarray(kana).view(np.uint32).reshape(len(edges), -1)
    units, total = np.zeros(len(paths), dtype=np.int64), np.zeros(len(paths), dtype=np.int64)
    later, first = np.zeros(len(paths), dtype=bool), np.zeros(len(paths), dtype=bool)
    odd = np.zeros(len(paths), dtype=bool)
    steps: list[tuple[Ints, Ints]] = []  # (paths that go so far back, edge of each), last edge first
    rows, at = np.arange(len(paths)), paths
    while len(rows):
        edge = walk.edge[at]
        steps.append((rows, edge))
        units[rows] += unit[edge]
        total[rows] += long[edge]
        odd[rows] |= asks[edge]
        up = walk.parent[at]
        on = up >= 0
        first[rows[~on]] = vowel[edge[~on]]
        later[rows[on]] |= vowel[edge[on]]
        rows, at = rows[on], up[on]
        odd[rows] |= (head[walk.edge[at]] & tail[edge[on]]) > 0
    table = np.zeros((len(paths), max(1, int(total.max(initial=1)))), dtype=np.uint32)
    place = total.copy()
    for rows, edge in steps:
        place[rows] -= long[edge]
        for i in range(codes.shape[1]):
            has = long[edge] > i
            table[rows[has], place[rows[has]] + i] = codes[edge[has], i]
    return table.view(f"<U{table.shape[1]}").ravel(), units, first + 2 * later.astype(np.int64), odd


def _asked(token: int, path: list[int], graph: Graph, dictionary: Dictionary, spelled: str) -> tuple[str, int, int]:
    """Kana, morae and vowel flags of a word with kanji, or with a spelling whose morae the letters do not tell."""
    edges = [graph.edges[e] for e in path]
    text = "".join(e.text for e in edges)
    entry = entries.of(dictionary, token, text)
    count = _morae(entry.spoken or text)
    if all(e.kana or letters.kind(e.text) is letters.Kind.KANA for e in edges):
        made = spelled
    else:
        made = aligned(tuple((e.text, e.kana) for e in edges), letters.to_hiragana(entry.kana))
    return made, count, int(made[:1] in _VOWELS and made != "") + 2 * int(any(c in _VOWELS for c in made[1:]))


@lru_cache(maxsize=20_000)
def _morae(spoken: str) -> int:
    return sum(c not in _NO_MORA and letters.kind(c) is not letters.Kind.PUNCTUATION for c in spoken)


@lru_cache(maxsize=20_000)
def aligned(parts: tuple[tuple[str, str], ...], reading: str) -> str:
    """Kana of a word from its parts (text, carver's kana or "") and the dictionary's reading.

    >>> aligned((("思", ""), ("わ", "は"), ("ず", "ず")), "おもわず")
    'おもはず'
    >>> aligned((("古", ""), ("池", "")), "")
    '古池'
    """
    if not reading:
        return "".join(k or t for t, k in parts)
    pattern = ""
    runs: list[tuple[str, str]] = []  # neighbouring kanji together: nobody knows where 五月雨 parts
    for text, kana in parts:
        if not kana and runs and not runs[-1][1]:
            runs[-1] = runs[-1][0] + text, ""
        else:
            runs.append((text, kana))
            pattern += f"({re.escape(letters.to_hiragana(text))})" if kana else "(.+?)"
    found = re.fullmatch(pattern, reading)
    if found is None:
        return reading
    return "".join(kana or kanji_runs.historical(text, group)
                   for (text, kana), group in zip(runs, found.groups(), strict=True))


@lru_cache(maxsize=1)
def _endings(dictionary: Dictionary) -> Ints:
    """1 for each left context id of a particle, auxiliary, suffix or sign."""
    out = np.zeros(dictionary.matrix.shape[0], dtype=np.int64)
    for number, fields in dictionary.left_ids():
        out[number] = fields[0] in _ENDINGS
    return out
