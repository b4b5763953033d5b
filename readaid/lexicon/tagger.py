"""The tagger for typed text: the one door to fugashi.

Conventions: costs are in the dictionary's units. ``best`` returns the tagger's
own best path; it knows one string only, no candidates.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from readaid.core.errors import DictionaryError
from readaid.lexicon import unidic


@dataclass(frozen=True, slots=True)
class Tagged:
    """One word of the tagger's best path."""

    surface: str
    word_cost: int
    connection: int  # cost of the connection to the word before
    left: int
    right: int
    total: int  # cost of the path up to and with this word
    feature: str


@lru_cache(maxsize=1)
def _tagger() -> Any:
    try:
        import fugashi
    except ImportError as error:
        raise DictionaryError("No tagger is installed", "fugashi", "run: pip install fugashi") from error
    # "-r" names an empty settings file, so that settings of the machine do not change the costs.
    return fugashi.GenericTagger(
        f'-r /dev/null -d "{unidic.folder()}" -O "" -F "%m\\t%c\\t%pC\\t%phl\\t%phr\\t%pc\\t%H\\n" '
        '-U "%m\\t%c\\t%pC\\t%phl\\t%phr\\t%pc\\t%H\\n" -E "\\t%c\\t%pC\\t%phl\\t%phr\\t%pc\\tend\\n"')


def best(text: str) -> tuple[list[Tagged], int]:
    """Best path of the tagger and its total cost, the end of text included.

    >>> [w.surface for w in best("かわずとびこむ")[0]]
    ['かわず', 'とびこむ']
    """
    words = []
    for line in _tagger().parse(text).split("\n"):
        if line:
            surface, cost, connection, left, right, total, feature = line.split("\t", 6)
            words.append(Tagged(surface, int(cost), int(connection), int(left), int(right), int(total), feature))
    return words[:-1], words[-1].total
