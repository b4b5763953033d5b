"""CSV in and out, so that no spreadsheet takes a text for a formula.

Conventions
-----------
* UTF-8 with byte order mark (Excel needs it to see Japanese), comma, every text
  quoted (RFC 4180); numbers bare; nothing is an empty field, empty text is ``""``.
* Wherever a spreadsheet could begin a cell (at the start of a text, and after
  ``; | tab CR LF`` inside it, which become separators under another setting), a sign
  that could start a formula is preceded by one apostrophe. ``read`` takes it away again.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from pathlib import Path
from typing import Any

from readaid.core.errors import RegisterError
from readaid.core.part_file import beside

#: Signs that make a spreadsheet compute (OWASP, "CSV Injection": = + - @ tab CR, and their full-width forms).
DANGEROUS = "=+-@\t\r＝＋－＠"
_SEPARATORS = ";|\t\r\n"
_APOSTROPHE = "'"


def _starts(text: str) -> list[int]:
    """Places in the text where a cell may be taken to begin: leading blanks and quotes skipped."""
    found = []
    at = 0
    beginning = True
    while at < len(text):
        character = text[at]
        if beginning and not (character in _SEPARATORS or character == '"' or _blank(character)):
            found.append(at)
            beginning = False
        if character in _SEPARATORS:
            beginning = True
        at += 1
    return found


def _blank(character: str) -> bool:
    return unicodedata.category(character)[0] in "ZC"  # spaces, controls, byte order mark, zero-width signs


def guard(text: str) -> str:
    """The text as it is safe in a CSV file.

    >>> guard("=1+1"), guard("かな"), guard("\\t＝cmd"), guard("a;-b")
    ("'=1+1", 'かな', "'\\t'＝cmd", "a;'-b")
    """
    # The apostrophe too, or a text that begins with one would lose it on the way back.
    marks = [at for at in _starts(text) if text[at] in DANGEROUS + _APOSTROPHE]
    for at in reversed(marks):
        text = text[:at] + _APOSTROPHE + text[at:]
    return _APOSTROPHE + text if text[:1] in ("\t", "\r") else text


def unguard(text: str) -> str:
    """Take away what ``guard`` put there.

    >>> all(unguard(guard(t)) == t for t in ("=1", "'quoted'", "\\t-x", "a;'-b", "''"))
    True
    """
    if text[:1] == _APOSTROPHE and text[1:2] in ("\t", "\r"):
        text = text[1:]
    for at in reversed([a for a in _starts(text) if text[a] == _APOSTROPHE]):
        text = text[:at] + text[at + 1:]
    return text


def write(header: list[str], rows: list[list[Any]], path: Path) -> Path:
    """Write a table of text, numbers, truth values and None."""
    lines = [",".join(_field(v) for v in row) for row in [header, *rows]]
    with beside(path) as part:
        part.write_bytes(b"\xef\xbb\xbf" + "\r\n".join([*lines, ""]).encode("utf-8"))
    return path


def _field(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return '"' + guard(value).replace('"', '""') + '"'
    return str(value)


def read(path: Path) -> tuple[list[str], list[list[Any]]]:
    """Header and rows (text; None for an empty unquoted field or one a spreadsheet emptied).

    Raises
    ------
    RegisterError: if it is not UTF-8 text or its rows are longer than the header.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise RegisterError("The CSV file cannot be read", str(path), "save it as CSV in UTF-8") from error
    dialect = ";" if re.match(r'"?id"?;', text) else ","  # what a spreadsheet of a German or French office writes
    rows = [row for row in csv.reader(io.StringIO(text, newline=""), delimiter=dialect) if row]
    if not rows:
        raise RegisterError("The CSV file is empty", str(path), "export it again")
    header = [unguard(name) for name in rows[0]]
    for at, row in enumerate(rows[1:], 2):
        # A comma in a text that lost its quotes pushes every cell after it into another field.
        if len(row) > len(header):
            raise RegisterError("A row is longer than the header", f"{path}, row {at}", "put quotes round texts")
    return header, [[unguard(v) if v else None for v in row] + [None] * (len(header) - len(row)) for row in rows[1:]]
