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

from readaid.lexicon import entries
from readaid.lexicon.dictionary import Dictionary
from readaid.lexicon.graph import Graph
from readaid.lexicon.metre import Sound
from readaid.lexicon.words import Words
from readaid.script import kana as letters

Ints = NDArray[np.int64]
Texts = NDArray[np.str_]

_NO_MORA = frozenset("ぁぃぅぇぉゃゅょゎゕゖァィゥェォャュョヮヵヶ")
_VOWELS = frozenset("あいうおアイウオ")
#: Full-size や ゆ よ わ after these may be one mora with them (きやう, くわ): ask the pronunciation.
_JOINS = re.compile("[きしちにひみりぎじぢびぴ][やゆよ]|[くぐ][わゐゑ]")
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
    spelled, texts, units, vowels, odd = _paths(words, graph, by_character)
    path = words.path
    unit, vowel = units[path], vowels[path]
    ending = _endings(dictionary)[words.left]
    spelled_rows = spelled[path]
    special = np.flatnonzero(odd[path] > 0)
    if len(special):
        spelled_rows = spelled_rows.astype(object)
        for row in special:
            word_kana, count, first, later = _asked(int(words.token[row]), words.walk.edges(int(path[row])), graph,
                                                    dictionary, str(texts[path[row]]), str(spelled_rows[row]))
            spelled_rows[row] = word_kana
            if not by_character:
                unit[row] = count
            vowel[row] = first + 2 * later
        spelled_rows = spelled_rows.astype(str)
    key = ((unit * 4 + vowel) * 2 + ending).astype(np.int64)
    kinds, sound = np.unique(key, return_inverse=True)
    classes = tuple(Sound(int(k) >> 3, bool(k >> 1 & 1), bool(k >> 2 & 1), bool(k & 1)) for k in kinds)
    length = np.char.str_len(spelled_rows).astype(np.int64)
    return Readings(spelled_rows, length, sound.ravel().astype(np.int64), classes)


def _paths(words: Words, graph: Graph, by_character: bool) -> tuple[Texts, Texts, Ints, Ints, Ints]:
    """For each prefix: kana, text, units, vowels (1 first, 2 later), and not 0 where the dictionary must be asked."""
    edges = graph.edges
    kana = [e.kana for e in edges]
    text = [e.text for e in edges]
    unit = ([graph.arcs[e.arc].end - graph.arcs[e.arc].start if e.first else 0 for e in edges] if by_character
            else [int(e.text not in _NO_MORA and letters.kind(e.text) is not letters.Kind.PUNCTUATION) for e in edges])
    vowel = [int(e.kana[:1] in _VOWELS and e.kana != "") for e in edges]
    sure = (letters.Kind.PUNCTUATION, letters.Kind.KANA)
    asks = [int(not e.kana and letters.kind(e.text) not in sure) for e in edges]
    made, texts, units, vowels, odd = [], [], [], [], []
    for parent, edge in zip(words.walk.parent.tolist(), words.walk.edge.tolist(), strict=True):
        if parent < 0:
            made.append(kana[edge])
            texts.append(text[edge])
            units.append(unit[edge])
            vowels.append(vowel[edge])
            odd.append(asks[edge])
            continue
        made.append(made[parent] + kana[edge])
        texts.append(texts[parent] + text[edge])
        units.append(units[parent] + unit[edge])
        vowels.append(vowels[parent] | vowel[edge] << 1)
        odd.append(odd[parent] | asks[edge] | (2 if _JOINS.match(texts[parent][-1] + text[edge]) else 0))
    return (np.array(made, dtype=str), np.array(texts, dtype=str), np.array(units, dtype=np.int64),
            np.array(vowels, dtype=np.int64), np.array(odd, dtype=np.int64))


def _asked(token: int, path: list[int], graph: Graph, dictionary: Dictionary, text: str,
           spelled: str) -> tuple[str, int, int, int]:
    """Kana, morae and vowel flags of a word with kanji, or with a spelling whose morae the letters do not tell."""
    entry = entries.of(dictionary, token, text)
    spoken = entry.spoken or text
    count = sum(c not in _NO_MORA and letters.kind(c) is not letters.Kind.PUNCTUATION for c in spoken)
    if all(graph.edges[e].kana or letters.kind(graph.edges[e].text) is letters.Kind.KANA for e in path):
        made = spelled
    else:
        made = aligned(tuple((graph.edges[e].text, graph.edges[e].kana) for e in path), letters.to_hiragana(entry.kana))
    return made, count, int(made[:1] in _VOWELS and made != ""), int(any(c in _VOWELS for c in made[1:]))


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
    pattern, own = "", []
    for text, kana in parts:
        if kana:
            pattern += f"({re.escape(letters.to_hiragana(text))})"
            own.append(kana)
        else:
            pattern += "(.+?)"
            own.append("")
    found = re.fullmatch(pattern, reading)
    if found is None:
        return reading
    return "".join(kana or group for kana, group in zip(own, found.groups(), strict=True))


@lru_cache(maxsize=1)
def _endings(dictionary: Dictionary) -> Ints:
    """1 for each left context id of a particle, auxiliary, suffix or sign."""
    out = np.zeros(dictionary.matrix.shape[0], dtype=np.int64)
    for number, fields in dictionary.left_ids():
        out[number] = fields[0] in _ENDINGS
    return out
