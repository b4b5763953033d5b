"""The one document model: what every report format is made from.

Conventions: text is plain (each renderer escapes it); pictures are bytes with
a media type and a width in millimetres on paper; an ``Edition`` holds signs,
not marks, so that each renderer may word them by Leiden or by the Japanese way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from readaid.core.progress import Progress, Tally
from readaid.report.edition import EditionText


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; ``role`` is "" or "caution", "note", "lead"."""

    text: str
    role: str = ""


@dataclass(frozen=True, slots=True)
class Points:
    """A list of short points; ``role`` as for a paragraph."""

    items: tuple[str, ...]
    role: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """Name and value, one a line."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as bytes; ``alt`` tells in words what it shows."""

    data: bytes
    media: str
    alt: str
    width_mm: float
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """One table cell: text, and a picture before it where there is one."""

    text: str
    picture: Picture | None = None
    japanese: bool = False
    dotted: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table; every row has as many cells as there are headings."""

    headings: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: str = ""


def filled(headings: tuple[str, ...], rows: tuple[tuple[Cell, ...], ...], caption: str = "") -> Table:
    """A table without the columns in which nothing stands.

    >>> filled(("a", "b"), ((Cell("x"), Cell("")),)).headings
    ('a',)
    """
    kept = [n for n in range(len(headings)) if any(row[n].text or row[n].picture for row in rows)]
    return Table(tuple(headings[n] for n in kept), tuple(tuple(row[n] for n in kept) for row in rows), caption)


@dataclass(frozen=True, slots=True)
class Edition:
    """An inscription's text in columns from the right, with its state sign by sign."""

    text: EditionText
    caption: str = ""


@dataclass(frozen=True, slots=True)
class VerseLines:
    """Verse lines with their morae (``unit`` is the word for them) and what each line has too much or too little."""

    lines: tuple[str, ...]
    morae: tuple[int, ...]
    surplus: tuple[int, ...]
    form: str
    unit: str = "morae"


@dataclass(frozen=True, slots=True)
class Link:
    """Label and address."""

    label: str
    address: str


@dataclass(frozen=True, slots=True)
class Version:
    """One version of an inscription's text: what it is, the text, its language (BCP 47)."""

    label: str
    text: str
    language: str


@dataclass(frozen=True, slots=True)
class Versions:
    """Versions of one text below each other, from the signs to the translations."""

    rows: tuple[Version, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """Cells beside each other, each with its blocks; where there is no room they follow one another."""

    cells: tuple[tuple[Block, ...], ...]


Block = Paragraph | Points | Facts | Picture | Table | Edition | VerseLines | Link | Versions | Row


@dataclass(frozen=True, slots=True)
class Section:
    """A headed part; ``key`` is stable over languages, ``part`` says whether the entry or the evidence holds it."""

    key: str
    title: str
    blocks: tuple[Block, ...]
    level: int = 2
    part: str = "evidence"


@dataclass(frozen=True, slots=True)
class Document:
    """A report, whole. ``language`` "en" or "ja"; ``edition`` "leiden" or "japanese"."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    language: str = "en"
    edition: str = "leiden"
    made: str = ""
    program: str = ""
    blind: bool = False

    def section(self, key: str) -> Section | None:
        """The section of this key, if the document has one."""
        return next((s for s in self.sections if s.key == key), None)

    def entry(self) -> Document:
        """The same document with the entry alone, without the evidence behind it."""
        return replace(self, sections=tuple(s for s in self.sections if s.part == "entry"))



def tally(document: Document, progress: Progress) -> Tally:
    """Tells how far the setting of a document has come: called before each block and each row of a table."""
    of = sum(len(b.rows) + 1 if isinstance(b, Table) else 1 for s in document.sections for b in s.blocks)
    return Tally(progress, of)
