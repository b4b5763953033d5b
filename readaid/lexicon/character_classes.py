"""Character classes and the words the dictionary does not know.

Conventions: a class is named as in ``char.bin``; ``length`` is how many
characters an unknown word may take one by one, ``group`` whether a whole run
of one class may be one word, ``invoke`` whether unknown words are offered even
where the dictionary knows one.

The dictionary's own tagger decides on unknown words by the characters that
follow. On a lattice the following character may not be settled yet; the rule
used here is told in ``lexicon.words``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from readaid.lexicon.dictionary import Dictionary


@dataclass(frozen=True, slots=True)
class CharacterClass:
    """What ``char.bin`` says of one character."""

    kinds: int  # bit set of class numbers
    default: str
    length: int
    group: bool
    invoke: bool


class Classes:
    """Reader of ``char.bin`` and of the unknown-word entries for each class."""

    def __init__(self, dictionary: Dictionary) -> None:
        raw = (dictionary.folder / "char.bin").read_bytes()
        count = int(np.frombuffer(raw, "<u4", 1)[0])
        self.names = [raw[4 + 32 * i:36 + 32 * i].split(b"\0")[0].decode() for i in range(count)]
        self._info = np.frombuffer(raw, "<u4", offset=4 + 32 * count)
        self._dictionary = dictionary
        self.of = lru_cache(maxsize=None)(self._of)
        self.tokens = lru_cache(maxsize=None)(self._tokens)

    def _of(self, character: str) -> CharacterClass:
        """Class of a character; those beyond the basic plane are treated as code point 0, as MeCab does."""
        code = ord(character)
        bits = int(self._info[code if code < len(self._info) else 0])
        return CharacterClass(bits & 0x3FFFF, self.names[bits >> 18 & 0xFF], bits >> 26 & 0xF,
                              bool(bits >> 30 & 1), bool(bits >> 31))

    def _tokens(self, name: str) -> tuple[int, ...]:
        """Tokens of ``unk.dic`` for a class."""
        for surface, tokens in self._dictionary.unknown.prefixes(name):
            if surface == name:
                return tuple(tokens)
        return self._tokens("DEFAULT")


@lru_cache(maxsize=1)
def opened(dictionary: Dictionary) -> Classes:
    """The classes of a dictionary, read once."""
    return Classes(dictionary)
