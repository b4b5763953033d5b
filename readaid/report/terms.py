"""Headings and labels in English and Japanese, from a table.

Conventions: keys are our own; a missing key is a fault of ours and raises.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from readaid.core import texts
from readaid.core.errors import TableError, unknown_option

LANGUAGES = ("en", "ja")
TABLE = Path(__file__).with_name("terms.tsv")


@cache
def _table() -> dict[str, dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as stream:
        lines = [line for line in stream if not line.startswith("#")]
    words, faults = {}, []
    for n, row in enumerate(csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE), start=2):
        if not (row["key"] and row["en"] and row["ja"]):
            faults.append(f"row {n}")
        words[row["key"]] = {"en": row["en"], "ja": row["ja"]}
    if faults:
        raise TableError("The table of words has empty cells: " + ", ".join(faults), TABLE.name, "mend these rows")
    return words


def said(group: str, value: str, language: str = "en") -> str:
    """The word for a value of a closed list ("role", "carver"); a word that is not in the list comes back as it is.

    >>> said("role", "carver", "ja"), said("role", "smith of nails", "ja")
    ('彫', 'smith of nails')
    """
    key = f"{group}:{value}"
    return word(key, language) if key in _table() else value


def word(key: str, language: str = "en") -> str:
    """A heading or label.

    >>> word("piece"), word("piece", "ja")
    ('The piece', '資料')
    """
    if language not in LANGUAGES:
        raise unknown_option("language", language, LANGUAGES)
    if key not in _table():
        raise unknown_option("word", key, _table())
    return _table()[key][language]


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one language, handed to whatever makes a part of a report.

    >>> Words("ja").w("piece"), Words("ja").said("role", "carver")
    ('資料', '彫')
    """

    language: str = "en"

    def w(self, key: str) -> str:
        """A heading or label."""
        return word(key, self.language)

    def said(self, group: str, value: str) -> str:
        """A value from a closed list of ours; a user's own word as it is."""
        return said(group, value, self.language)

    def told(self, text: str) -> str:
        """A text of a record, where sentences of the program's own stand in it (each ends with a semicolon)."""
        return "; ".join(": ".join(texts.told(part, self.language) for part in sentence.split(": "))
                         for sentence in text.split("; "))
