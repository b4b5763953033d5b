"""Files of verses: a table (CSV, TSV), TEI, or plain text with one verse a line.

Conventions
-----------
* CSV or TSV: UTF-8 (or CP932), a header row; ``kana`` (or ``reading``) and/or ``text`` (or ``verse``), and, if
  given, ``title``, ``author``, ``source``, ``note``. Lines of a verse are parted by ``/``, ``|``, a space or a line
  break.
* TEI: every ``lg`` that holds ``l`` lines is a verse; its ``head`` is the title, the nearest ``author`` the author.
  In ``ruby`` the ``rt`` is the reading, in ``choice`` the ``reg`` goes before the ``orig``.
* Plain text (``.txt``): one verse a line, its lines parted by a space or ``/``; no header. A ``.txt`` whose first line
  names a column of verses is read as a table.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from readaid.core.errors import TableError, TextError
from readaid.lexicon.verse_text import CollectionError, KnownVerse, of_text

KINDS = (".csv", ".tsv", ".txt", ".xml", ".tei")
_COLUMNS = {"kana": "kana", "reading": "kana", "かな": "kana", "読み": "kana", "よみ": "kana",
            "text": "text", "verse": "text", "written": "text", "本文": "text", "句": "text", "歌": "text",
            "title": "title", "題": "title", "author": "author", "作者": "author", "source": "source", "出典": "source",
            "note": "note", "lines": "kana"}


def verses_of(path: Path) -> Iterator[KnownVerse]:
    """The verses of a file by its ending, one of ``KINDS``.

    Raises CollectionError (no such format, not UTF-8 or CP932, broken XML) or TableError (columns, faulty rows).
    """
    kind = path.suffix.lower()
    if kind not in KINDS:
        raise CollectionError(f"Verses cannot be read from a {kind or 'nameless'} file", path.name,
                              "give .csv, .tsv or TEI as .xml, or .txt with one verse a line")
    raw = path.read_bytes()
    if kind in (".xml", ".tei"):
        return _tei(raw, path.name)
    text = _decoded(raw, path.name)
    return _table(text, path.name) if kind != ".txt" or _headed(text) else _plain_lines(text, path.name)


def _headed(text: str) -> bool:
    """Whether the first line names a column: 'kana<TAB>text' does, 古池や 蛙飛びこむ does not."""
    first = next((x for x in text.splitlines() if x.strip() and not x.startswith("#")), "")
    return bool({"kana", "text"} & {_COLUMNS.get(c.strip().lower(), "") for c in first.replace(";", ",").replace(
        "\t", ",").split(",")})


def _plain_lines(text: str, name: str) -> Iterator[KnownVerse]:
    faults: list[str] = []
    out: list[KnownVerse] = []
    for number, row in enumerate(text.splitlines(), 1):
        if row.strip() and not row.startswith("#"):
            try:
                out.append(of_text(row.strip()))
            except (ValueError, TextError) as error:
                faults.append(f"line {number}: {error}")
    return _checked(out, faults, name)


def _checked(found: list[KnownVerse], faults: list[str], name: str) -> Iterator[KnownVerse]:
    """The verses, or TableError with the first dozen of the faulty rows."""
    if faults:
        more = f" and {len(faults) - 12} more" if len(faults) > 12 else ""
        raise TableError("The collection has faulty rows: " + "; ".join(faults[:12]) + more, name,
                         "correct these rows", faults=faults)
    return iter(found)


# -- tables -------------------------------------------------------------------------------------------
def _decoded(raw: bytes, name: str) -> str:
    for encoding in ("utf-8-sig", "cp932"):
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise CollectionError("The text is neither UTF-8 nor CP932", name, "save it as UTF-8")


def _table(text: str, name: str) -> Iterator[KnownVerse]:
    body = "\n".join("" if line.startswith("#") else line for line in text.splitlines())
    first = next((line for line in body.splitlines() if line.strip()), "")
    mark = "\t" if "\t" in first else ";" if ";" in first and "," not in first else ","
    rows = csv.reader(StringIO(body), delimiter=mark)
    header: list[str] = []
    faults: list[str] = []
    out: list[KnownVerse] = []
    for cells in _rows(rows, faults):
        if not any(c.strip() for c in cells):
            continue
        if not header:
            header = [_COLUMNS.get(c.strip().lower(), "") for c in cells]
            if not {"kana", "text"} & set(header):
                raise TableError("The collection has no column of verses", name,
                                 "name a column 'kana' (or 'text') in the first row")
            continue
        try:
            out.append(row_verse({h: c.strip() for h, c in zip(header, cells, strict=False) if h and c.strip()}))
        except (ValueError, TextError) as error:
            faults.append(f"row {rows.line_num}: {error}")
    return _checked(out, faults, name)


def _rows(rows: Any, faults: list[str]) -> Iterator[list[str]]:
    """Rows of cells, up to one that is none: a quotation mark never closed makes one cell of the rest of the file."""
    try:
        yield from rows
    except csv.Error as error:
        faults.append(f"row {rows.line_num}: {error}")


def row_verse(row: dict[str, str]) -> KnownVerse:
    """A verse from the columns of a table; ValueError where it holds none."""
    fields = {k: row[k] for k in ("title", "author", "source", "note") if row.get(k)}
    if row.get("kana"):
        return of_text(row["kana"], text=row.get("text", ""), **fields)
    if row.get("text"):
        return of_text(row["text"], **fields)
    raise ValueError("there is no verse in it")


# -- TEI ----------------------------------------------------------------------------------------------
def _tei(raw: bytes, name: str) -> Iterator[KnownVerse]:
    if b"<!ENTITY" in raw:
        raise CollectionError("The file declares entities, which are not read", name, "write them out")
    try:
        root = ElementTree.fromstring(raw)
    except ElementTree.ParseError as error:
        raise CollectionError(f"The file is no well-formed XML: {error}", name, "mend it") from None
    try:
        return _verses_in(root, name)
    except RecursionError:
        raise CollectionError("The file is no well-formed XML: its elements lie too deep in each other", name,
                              "mend it") from None


def _verses_in(root: ElementTree.Element, name: str) -> Iterator[KnownVerse]:
    author = title = ""
    for element in root.iter():
        if _tag(element) == "titleStmt":
            author = " ".join(_plain(e) for e in element if _tag(e) == "author")
            title = " ".join(_plain(e) for e in element if _tag(e) == "title")
    faults: list[str] = []
    out: list[KnownVerse] = []
    for group, heads in _groups(root, {"head": "", "author": author}):
        lines = [_plain(e, True) for e in group if _tag(e) == "l"]
        written = [_plain(e, False, False) for e in group if _tag(e) == "l"]
        number = group.get("{http://www.w3.org/XML/1998/namespace}id") or group.get("n") or str(len(out) + 1)
        try:
            out.append(of_text("/".join(lines), text="" if lines == written else "/".join(written),
                               title=heads["head"] or number, author=heads["author"], source=title))
        except TextError as error:
            faults.append(f"verse {number}: {error}")
    return _checked(out, faults, name)


def _tag(element: ElementTree.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _groups(element: ElementTree.Element, known: dict[str, str],
            ) -> Iterator[tuple[ElementTree.Element, dict[str, str]]]:
    known = dict(known)
    for child in element:
        if _tag(child) in ("head", "author"):
            known[_tag(child)] = _plain(child)
    if _tag(element) == "lg" and any(_tag(e) == "l" for e in element):
        yield element, known
    for child in element:
        yield from _groups(child, known)


def _plain(element: ElementTree.Element, reading: bool = False, regular: bool = True) -> str:
    """Text of an element: with ``reading`` the rt of a ruby; the reg (or orig) of a choice; notes left out."""
    out = element.text or ""
    inside = {_tag(e) for e in element}
    for child in element:
        tag = _tag(child)
        skip = (tag in ("note", "rp", "del", "sic") or (tag in ("rt", "rtc") and not reading)
                or (tag == "rb" and reading and "rt" in inside)
                or (tag == "orig" and regular and "reg" in inside)
                or (tag == "reg" and not regular and "orig" in inside)
                or (tag == "abbr" and "expan" in inside))
        out += ("" if skip else _plain(child, reading, regular)) + (child.tail or "")
    return " ".join(out.split()) if "\n" in out else out.strip()
