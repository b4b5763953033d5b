"""The cautions that fit a piece, from a table.

Conventions: ``when`` in the table is "always", or a word looked for in the
piece's material, technique, sensitive list, or "likeness" / "signature" /
"ultraviolet" when the report holds such a part. Local rules and trained
conservators come first.
"""

from __future__ import annotations

import csv
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
    words = " ".join((piece.material, piece.technique, piece.kind, piece.condition, *piece.sensitive)).lower()
    marks = {"always"}
    if contents.specimens or contents.comparisons:
        marks.add("likeness")
    if contents.signatures or contents.roles:
        marks.add("signature")
    if any(p.evidence is Evidence.ULTRAVIOLET for p in contents.photos):
        marks.add("ultraviolet")
    return [c.ja if language == "ja" else c.en for c in table()
            if any(w in marks or (w not in _MARKS and w in words) for w in c.when)]


_MARKS = {"always", "likeness", "signature", "ultraviolet"}
