"""The cautions that fit a piece, from a table.

Conventions: ``when`` in the table is "always", or a word looked for in the piece's own description (material,
technique, kind, condition, layers, sensitive list), or a mark such as "likeness" when the report holds such a part.
Latin words fit as whole words: "environmental" once called up the caution for iron. Local law comes first.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from readaid.core.contents import Contents
from readaid.core.errors import TableError
from readaid.core.photo import Evidence

TABLE = Path(__file__).with_name("cautions.tsv")


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution in both languages and when it is shown."""

    when: tuple[str, ...]
    en: str
    ja: str


@cache
def table(path: Path = TABLE) -> tuple[Caution, ...]:
    """All cautions; raises TableError naming every faulty row."""
    rows, faults = [], []
    with path.open(encoding="utf-8", newline="") as stream:
        lines = [line for line in stream if not line.startswith("#")]
    for n, row in enumerate(csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE), start=2):
        if not all((row.get(k) or "").strip() for k in ("when", "en", "ja")):
            faults.append(f"row {n} lacks a column")
            continue
        rows.append(Caution(tuple(row["when"].split("|")), row["en"].strip(), row["ja"].strip()))
    if faults:
        raise TableError("The table of cautions has faults: " + "; ".join(faults), path.name, "mend these rows")
    return tuple(rows)


def fitting(contents: Contents, language: str = "en") -> list[str]:
    """Cautions that fit this piece, in the table's order."""
    piece = contents.piece
    layers = (layer.text for layer in contents.layers)
    words = " ".join((piece.material, piece.technique, piece.kind, piece.condition, *piece.sensitive, *layers))
    marks = {"always"}
    if contents.specimens or contents.comparisons:
        marks.add("likeness")
    if contents.signatures or contents.roles:
        marks.add("signature")
    if any(a.verdict != "not traced" for e in contents.entries for a in e.allusions):
        marks.add("known verse")
    if contents.dates:
        marks.add("date")
    if any(p.evidence is Evidence.ULTRAVIOLET for p in contents.photos):
        marks.add("ultraviolet")
    return [c.ja if language == "ja" else c.en for c in table()
            if any(w in marks or (w not in _MARKS and said(w, words)) for w in c.when)]


_MARKS = {"always", "likeness", "signature", "ultraviolet", "known verse", "date"}


def said(word: str, text: str) -> bool:
    """Whether a description says a word: a Latin one as a word of its own, also in the plural; others anywhere.

    >>> said("iron", "environmental stain"), said("iron", "Iron, gilt"), said("blade", "two blades")
    (False, True, True)
    >>> said("銅", "赤銅地")
    True
    """
    if not word.isascii():
        return word in text
    plain = unicodedata.normalize("NFD", text.casefold())  # shakudō is shakudo
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return re.search(rf"(?<![a-z]){re.escape(word)}(?:e?s)?(?![a-z])", plain) is not None
