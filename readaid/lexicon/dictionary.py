"""The compiled dictionary, read in place.

Conventions
-----------
* Files are memory-mapped; opening costs a few milliseconds and no feature is
  parsed before it is asked for.
* A *token* is a row number of the token table. Its ``left`` and ``right`` are
  context ids, ``cost`` a word cost in the dictionary's units (-700 ln p).
* ``connection(right, left)`` is the cost of a word with context id ``right``
  being followed by one with ``left``.
* A trie leaf holds ``first token << 8 | number of tokens``.

The layout is that of MeCab 0.996 dictionaries (magic number, version 102, double
array of (base, check), tokens of 16 bytes, features ended by a zero byte);
checked against fugashi in ``tests/lexicon/test_dictionary.py``.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from readaid.core.errors import DictionaryError
from readaid.lexicon import unidic

Ints = NDArray[np.int64]

_MAGIC = 0xEF718F77
_VERSION = 102
_HEADER = 72  # ten numbers of four bytes and the name of the character set
_UNIT = np.dtype([("base", "<i4"), ("check", "<u4")])
_TOKEN = np.dtype([("left", "<u2"), ("right", "<u2"), ("part", "<u2"), ("cost", "<i2"),
                   ("feature", "<u4"), ("compound", "<u4")])
_CURE = "run: pip install --force-reinstall unidic-lite"


class Trie:
    """One compiled word file: a double array with its tokens and features."""

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            # The mapping stays; slices of the memmap class itself cost more time than the look-up.
            raw = np.memmap(path, dtype=np.uint8, mode="r").view(np.ndarray)
        except (OSError, ValueError) as error:
            raise DictionaryError("The dictionary cannot be opened", str(path), _CURE) from error
        if len(raw) < _HEADER:
            raise DictionaryError("The dictionary file is cut off", str(path), _CURE)
        magic, version, _, self.size, _, _, units, tokens, features, _ = (int(v) for v in raw[:40].view("<u4"))
        charset = bytes(raw[40:_HEADER]).split(b"\0")[0].decode("ascii", "replace").lower()
        # The magic number holds the file's length: a download that broke off is told here and not by a wrong reading.
        if magic ^ _MAGIC != len(raw) or version != _VERSION or charset not in ("utf8", "utf-8"):
            raise DictionaryError("The dictionary is not of a kind this program can read", str(path), _CURE)
        ends = np.cumsum([_HEADER, units, tokens, features])
        array = raw[ends[0]:ends[1]].view(_UNIT)
        self.base: NDArray[np.int32] = array["base"]
        self.check: NDArray[np.uint32] = array["check"]
        self.tokens: NDArray[Any] = raw[ends[1]:ends[2]].view(_TOKEN)
        self._features = raw[ends[2]:ends[3]]
        self.root = int(self.base[0])

    def step(self, states: Ints, byte: Ints | int) -> Ints:
        """Follow one byte from many states at once; -1 where the trie does not go on."""
        # A dead state steps beyond the table; it is looked up all the same and refused by its check.
        place = np.minimum(states + byte + 1, len(self.base) - 1)
        on = (states >= 0) & (self.check[place] == states)
        return np.where(on, self.base[place], -1).astype(np.int64)

    def leaves(self, states: Ints) -> Ints:
        """The leaf value at each state, -1 where no word ends (``first << 8 | count``)."""
        place = np.maximum(states, 0)
        base = self.base[place].astype(np.int64)
        on = (states >= 0) & (self.check[place] == states) & (base < 0)
        return np.where(on, -base - 1, -1)

    def prefixes(self, text: str) -> list[tuple[str, range]]:
        """Every word that ``text`` begins with, and its tokens, shortest first."""
        data, state, out, length = text.encode(), self.root, [], len(self.base)
        base, check = self.base, self.check
        for i in range(len(data) + 1):
            value = int(base[state]) if check[state] == state else 0
            if value < 0:
                value = -value - 1
                out.append((data[:i].decode(), range(value >> 8, (value >> 8) + (value & 255))))
            if i == len(data):
                break
            place = state + data[i] + 1
            if place >= length or check[place] != state:
                break
            state = int(base[place])
        return out

    def feature(self, token: int) -> tuple[str, ...]:
        """The fields of a token; commas inside quotes do not part them."""
        return _fields(self.feature_text(token))

    def feature_text(self, token: int) -> str:
        """The feature of a token as it stands in the dictionary."""
        start = int(self.tokens["feature"][token])
        stop, width = -1, 256
        while stop < 0 and width < 1 << 16:
            block = bytes(self._features[start:start + width])
            stop, width = block.find(b"\0"), width * 4
        return block[:stop].decode()


def _fields(text: str) -> tuple[str, ...]:
    if '"' not in text:
        return tuple(text.split(","))
    # Features of words that hold a comma stand in quotes.
    return tuple(next(csv.reader([text])))


@dataclass(frozen=True, slots=True)
class Entry:
    """One token of the dictionary with the fields the reading needs."""

    surface: str
    left: int
    right: int
    cost: int
    part: str  # "noun,common ..." as the dictionary names it, the first four fields without "*"
    kana: str  # reading as the word is written, katakana
    modern: str  # reading in today's spelling, katakana
    spoken: str  # pronunciation, katakana
    lemma: str
    kind: str  # conjugation, e.g. 文語四段-ハ行


def entry(surface: str, left: int, right: int, cost: int, fields: tuple[str, ...]) -> Entry:
    """Make an ``Entry``; unknown words have six fields only and read as they are written."""
    def at(i: int) -> str:
        return fields[i] if len(fields) > i and fields[i] != "*" else ""
    part = ",".join(f for f in fields[:4] if f != "*")
    # Columns of UniDic 2.1: 17 the kana as written, 19 today's spelling, 9 the pronunciation, 7 the lemma, 4 the
    # conjugation.
    return Entry(surface, left, right, cost, part, at(17), at(19) or at(17), at(9), at(7), at(4))


class Dictionary:
    """The whole dictionary: words, connection costs, character classes, unknown words."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.words = Trie(folder / "sys.dic")
        self.unknown = Trie(folder / "unk.dic")
        raw = np.memmap(folder / "matrix.bin", dtype=np.int16, mode="r")
        rights, lefts = (int(v) for v in raw[:2].view(np.uint16))
        if len(raw) != 2 + rights * lefts:
            raise DictionaryError("The table of connection costs is cut off", str(folder / "matrix.bin"), _CURE)
        #: Connection costs, indexed [left of the second word, right of the first].
        self.matrix: NDArray[np.int16] = raw[2:].view(np.ndarray).reshape(lefts, rights)

    def connection(self, right: int, left: int) -> int:
        """Cost of a word with context ``right`` followed by one with context ``left``."""
        return int(self.matrix[left, right])

    def block(self, rights: Ints, lefts: Ints) -> NDArray[np.int16]:
        """Connection costs for all pairs, shape (len(rights), len(lefts))."""
        out: NDArray[np.int16] = self.matrix[lefts[None, :], rights[:, None]]
        return out

    def look_up(self, text: str) -> list[Entry]:
        """All entries spelled exactly ``text``.

        >>> [e.modern for e in opened().look_up("けふ")]
        ['キョウ']
        """
        return [self.entry(text, t) for t in self.tokens(text)]

    def tokens(self, text: str) -> range:
        """Tokens of the entries spelled exactly ``text``."""
        found = self.words.prefixes(text)
        return found[-1][1] if found and found[-1][0] == text else range(0)

    def left_ids(self) -> list[tuple[int, tuple[str, ...]]]:
        """Each context id and its fields (parts of speech, conjugation, form, lemma, origin), from ``left-id.def``."""
        lines = (self.folder / "left-id.def").read_text(encoding="utf-8").splitlines()
        return [(int(number), _fields(rest)) for number, _, rest in (line.partition(" ") for line in lines)]

    def entry(self, surface: str, token: int) -> Entry:
        """The entry of a token of the word file."""
        row = self.words.tokens[token]
        return entry(surface, int(row["left"]), int(row["right"]), int(row["cost"]), self.fields(token))

    def fields(self, token: int) -> tuple[str, ...]:
        """Feature fields of a token, kept once parsed."""
        return _cached_fields(self, token)


@lru_cache(maxsize=50_000)
def _cached_fields(dictionary: Dictionary, token: int) -> tuple[str, ...]:
    return dictionary.words.feature(token)


@lru_cache(maxsize=1)
def opened() -> Dictionary:
    """The installed dictionary, opened once; raises DictionaryError with the cure.

    >>> opened().connection(0, 0) == int(opened().matrix[0, 0])
    True
    """
    return Dictionary(unidic.folder())
