"""Collections of known verses: the one that comes along, and the user's own as CSV, TSV or TEI.

Conventions
-----------
* A verse is its kana, line by line, as its source spells it; ``text`` is how it is written there (kanji and kana).
* CSV or TSV: UTF-8 (or CP932), a header row; ``kana`` (or ``reading``) and/or ``text`` (or ``verse``), and, if
  given, ``title``, ``author``, ``source``, ``note``. Lines of a verse are parted by ``/``, ``|``, a space or a line
  break.
* TEI: every ``lg`` that holds ``l`` lines is a verse; its ``head`` is the title, the nearest ``author`` the author.
  In ``ruby`` the ``rt`` is the reading, in ``choice`` the ``reg`` goes before the ``orig``.
* Where only kanji are given, the kana are those of the dictionary's tagger, which are modern: ``kana_from`` says so.
"""

from __future__ import annotations

import csv
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import StringIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from readaid.core import places
from readaid.core.errors import ReadaidError, TableError, TextError
from readaid.lexicon import tagger
from readaid.script import kana as letters

#: Verses of a collection larger than this are refused.
MOST_VERSES = 200_000
#: Kana of one verse beyond this are refused: it is no verse but a text.
MOST_KANA = 400
_SPLIT = re.compile(r"[\s　/／|]+")
_COLUMNS = {"kana": "kana", "reading": "kana", "かな": "kana", "読み": "kana", "よみ": "kana",
            "text": "text", "verse": "text", "written": "text", "本文": "text", "句": "text", "歌": "text",
            "title": "title", "題": "title", "author": "author", "作者": "author", "source": "source", "出典": "source",
            "note": "note", "lines": "kana"}


class CollectionError(ReadaidError):
    """A verse collection that cannot be read."""


@dataclass(frozen=True, slots=True)
class KnownVerse:
    """One verse of a collection."""

    lines: tuple[str, ...]  # kana
    title: str = ""
    author: str = ""
    source: str = ""
    text: str = ""
    note: str = ""
    kana_from: str = "source"  # or "dictionary": read by the tagger

    @property
    def kana(self) -> str:
        """The kana, lines joined.

        >>> KnownVerse(("はるのうみ", "ひねもす")).kana
        'はるのうみひねもす'
        """
        return "".join(self.lines)


def of_text(verse: str, *, text: str = "", title: str = "", author: str = "", source: str = "",
            note: str = "") -> KnownVerse:
    """A verse in lines or running, in kana or with kanji; ``text`` is how it is written where ``verse`` is its kana.

    Raises TextError where a sign cannot stand in a verse.

    >>> of_text("はるの うみ").lines, of_text("古池や").lines
    (('はるの', 'うみ'), ('ふるいけや',))
    """
    parts = [p for p in _SPLIT.split(verse) if p]
    lines = tuple(_hiragana(p) for p in parts)
    if not lines:
        raise TextError("A verse is empty", cure="give its kana")
    if sum(map(len, lines)) > MOST_KANA:
        raise TextError(f"A verse has more than {MOST_KANA} kana", cure="give it in parts")
    pure = all(letters.kind(s) is not letters.Kind.KANJI for s in letters.checked("".join(parts)))
    return KnownVerse(lines, title, author, source, text or ("" if pure else verse), note,
                      "source" if pure else "dictionary")


def _hiragana(text: str) -> str:
    signs = letters.checked(text)
    if any(letters.kind(s) is letters.Kind.KANJI for s in signs):
        text = "".join(_read(text))
    return "".join(letters.LIGATURES.get(c, c) for c in letters.to_hiragana(letters.clean(text))
                   if letters.is_hiragana(c) or c in letters.LIGATURES or c in "ーゝゞ〱〲")


def _read(text: str) -> Iterator[str]:
    for word in tagger.best(text)[0]:
        fields = next(csv.reader([word.feature]))
        known = len(fields) > 17 and any(letters.is_kanji(c) for c in word.surface)
        yield fields[17] if known and fields[17] != "*" else word.surface


def load(path: str | Path) -> tuple[KnownVerse, ...]:
    """Read a collection: ``.csv``, ``.tsv`` (or ``.txt``) or TEI (``.xml``, ``.tei``); again when the file changes.

    Raises
    ------
    CollectionError: no such file, no such format, not UTF-8 or CP932, broken XML.
    TableError: missing columns, faulty rows.

    >>> load(demo_path())[0].author != ""
    True
    """
    path = Path(path)
    try:
        stamp = path.stat().st_mtime_ns
    except OSError as error:
        raise CollectionError("The verse collection cannot be read", str(path), error.strerror or "") from None
    if path.is_dir():
        raise CollectionError("The verse collection is a folder", str(path), "name a CSV, TSV or TEI file in it")
    return _loaded(path.resolve(), stamp)


@lru_cache(maxsize=8)
def _loaded(path: Path, stamp: int) -> tuple[KnownVerse, ...]:
    kind = path.suffix.lower()
    if kind not in (".csv", ".tsv", ".txt", ".xml", ".tei"):
        raise CollectionError(f"Verses cannot be read from a {kind or 'nameless'} file", path.name,
                              "give .csv, .tsv or TEI as .xml")
    raw = path.read_bytes()
    found = tuple(_tei(raw, path.name) if kind in (".xml", ".tei") else _table(_decoded(raw, path.name), path.name))
    if not found:
        raise CollectionError("The collection holds no verse", path.name, "add one")
    if len(found) > MOST_VERSES:
        raise CollectionError(f"The collection holds {len(found)} verses", path.name, f"give up to {MOST_VERSES}")
    return found


def demo_path() -> Path:
    """The collection that comes along."""
    return places.share("data") / "verses" / "known.tsv"


def demo() -> tuple[KnownVerse, ...]:
    """The verses that come along: entered by hand, from memory."""
    return load(demo_path())


def collection(given: Any) -> tuple[KnownVerse, ...]:
    """A collection as the user gives it: None (the one that comes along), a path, or an iterable of verses.

    A verse is a ``KnownVerse``, a text, a sequence of lines, or a mapping with the columns of a table.

    >>> [v.lines for v in collection(["はるの うみ", ("なつ", "くさ")])]
    [('はるの', 'うみ'), ('なつ', 'くさ')]
    """
    if given is None:
        return demo()
    if isinstance(given, str | Path):
        return load(given)
    if not isinstance(given, Iterable):
        raise CollectionError(f"{given!r} is no verse collection", cure="give a path or a list of verses")
    found = tuple(_one(v, n) for n, v in enumerate(itertools.islice(given, MOST_VERSES + 1), 1))
    if len(found) > MOST_VERSES:
        raise CollectionError(f"The collection holds more than {MOST_VERSES} verses", cure="give it in parts")
    return found


def _one(verse: Any, number: int) -> KnownVerse:
    if isinstance(verse, KnownVerse):
        return verse
    try:
        if isinstance(verse, str):
            return of_text(verse)
        if isinstance(verse, Mapping):
            return _row({str(k): str(v) for k, v in verse.items() if v is not None})
        if isinstance(verse, Sequence) and all(isinstance(p, str) for p in verse):
            return of_text("/".join(verse))
    except (TextError, ValueError) as error:
        raise CollectionError(f"A verse cannot be read: {error}", f"verse {number}",
                              "correct it or leave it out") from None
    raise CollectionError(f"{verse!r} is no verse", f"verse {number}", "give a text, its lines, or a KnownVerse")


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
    for cells in rows:
        if not any(c.strip() for c in cells):
            continue
        if not header:
            header = [_COLUMNS.get(c.strip().lower(), "") for c in cells]
            if not {"kana", "text"} & set(header):
                raise TableError("The collection has no column of verses", name,
                                 "name a column 'kana' (or 'text') in the first row")
            continue
        try:
            out.append(_row({h: c.strip() for h, c in zip(header, cells, strict=False) if h and c.strip()}))
        except (ValueError, TextError) as error:
            faults.append(f"row {rows.line_num}: {error}")
    if faults:
        more = f" and {len(faults) - 12} more" if len(faults) > 12 else ""
        raise TableError("The collection has faulty rows: " + "; ".join(faults[:12]) + more, name,
                         "correct these rows", faults=faults)
    return iter(out)


def _row(row: dict[str, str]) -> KnownVerse:
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
    if faults:
        raise TableError("The collection has faulty verses: " + "; ".join(faults[:12]), name, "correct them",
                         faults=faults)
    return iter(out)


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
