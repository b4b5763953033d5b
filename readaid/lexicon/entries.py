"""The entry of any token: the dictionary's, our own, or an unknown word.

Conventions: token numbers as in ``lexicon.words``.
"""

from __future__ import annotations

from readaid.lexicon import own_words
from readaid.lexicon.dictionary import Dictionary, Entry, entry


def of(dictionary: Dictionary, token: int, text: str) -> Entry:
    """The entry of a token that stands for ``text``.

    >>> from readaid.lexicon.dictionary import opened
    >>> of(opened(), opened().tokens("けふ")[0], "けふ").modern
    'キョウ'
    """
    if token >= own_words.FIRST:
        return own_words.shipped().entry(token)
    if token >= 0:
        return dictionary.entry(text, token)
    row = dictionary.unknown.tokens[-1 - token]
    return entry(text, int(row["left"]), int(row["right"]), int(row["cost"]), dictionary.unknown.feature(-1 - token))
