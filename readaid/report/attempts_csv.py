"""The table of attempts as CSV (RFC 4180, UTF-8 with byte-order mark so that office programs see the encoding).

Conventions: one row per attempt in the order made; a cell that a spreadsheet
could take for a formula is made text by a leading apostrophe.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

from readaid.core.contents import Contents

COLUMNS = ("id", "inscription", "made", "reader", "written", "kana", "normal", "modern", "romaji", "lines", "morae",
           "form", "confidence", "probability", "status", "evidence", "reasons", "note", "rejected")
#: Signs at a cell's start that a spreadsheet may run as a formula, ASCII and full-width, and control characters.
DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def render(contents: Contents, folder: Path, *, edition: str = "leiden", language: str = "en") -> bytes:
    """CSV bytes."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    titles = {i.id: i.title or i.kind.value for i in contents.inscriptions}
    for a in contents.attempts:
        row = {**{name: getattr(a, name) for name in COLUMNS}, "inscription": titles.get(a.inscription, ""),
               "lines": " / ".join(a.lines), "morae": "-".join(map(str, a.morae)), "reasons": "; ".join(a.reasons)}
        writer.writerow([safe(row[name]) for name in COLUMNS])
    return ("\ufeff" + stream.getvalue()).encode("utf-8")


def safe(value: object) -> str:
    """A cell that no spreadsheet takes for a formula.

    >>> safe("=1+1"), safe(0.5), safe(None)
    ("'=1+1", '0.5', '')
    """
    if value is None:
        return ""
    text = str(value)
    return "'" + text if isinstance(value, str) and text.lstrip(" ").startswith(DANGEROUS) else text
