"""A catalogue volume: the entries of many pieces in one file, with an index of first lines and one of makers.

Conventions: pieces stand in the order given, numbered from 1; an index tells numbers. First lines are sorted by their
modern kana, makers by the first reading of their name, else as they are written. Each piece goes through the veil by
itself, so that what stays out of its report stays out of the volume.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path

from readaid._version import __version__
from readaid.core.contents import Contents
from readaid.core.errors import ReportError, unknown_option
from readaid.core.identity import now
from readaid.core.part_file import beside
from readaid.core.veil import over
from readaid.report.composer import build
from readaid.report.document import Block, Cell, Document, Section, Table
from readaid.report.formats import FORMATS
from readaid.report.matter import preferred
from readaid.report.terms import said, word
from readaid.script import spelling

#: Formats that a volume can be written in: those made from the document.
VOLUMES = ("html", "pdf", "docx", "markdown")


@dataclass(frozen=True, slots=True)
class Volume:
    """The pieces of a volume: their contents and folders, in order."""

    title: str
    pieces: tuple[tuple[Contents, Path], ...]


def write(volume: Volume, path: Path, format: str = "html", edition: str = "leiden", language: str = "en",
          private: bool = False) -> Path:
    """Write a volume to ``path``; returns it. Raises OptionError for another format, ReportError where it cannot."""
    if format not in VOLUMES:
        raise unknown_option("format of a volume", format, VOLUMES)
    if not volume.pieces:
        raise ReportError("A volume needs a piece", volume.title, "name the folders of its pieces")
    data = import_module(FORMATS[format].module).render(document(volume, edition, language, private))
    try:
        with beside(path) as part:
            part.write_bytes(data)
    except OSError as error:
        raise ReportError("The volume could not be written", f"{path}: {error.strerror}",
                          "make room on the disk or name another place") from error
    return path


def document(volume: Volume, edition: str = "leiden", language: str = "en", private: bool = False) -> Document:
    """The volume as one document: every entry under its number, then the indexes."""
    sections: list[Section] = []
    veiled = [over(c, False, private).contents(c) for c, _ in volume.pieces]
    for number, ((contents, folder), shown) in enumerate(zip(volume.pieces, veiled, strict=True), start=1):
        files = {p.id: p.file for p in contents.photos}
        made = build(shown, folder, edition, language, files=files, part="entry")
        for n, section in enumerate(made.sections):
            title = f"{number}. {made.title}" if n == 0 else section.title
            sections.append(replace(section, key=f"{number}-{section.key}", title=title,
                                    level=2 if n == 0 else 3, part="entry"))
    lines = [(key, line, n) for n, c in enumerate(veiled, start=1) for key, line in first_lines(c)]
    makers = [(key, name, n) for n, c in enumerate(veiled, start=1) for key, name in makers_of(c, language)]
    sections.append(Section("first-lines", word("first_lines", language), _index(lines, language), part="entry"))
    sections.append(Section("makers", word("makers", language), _index(makers, language), part="entry"))
    subtitle = word("pieces_count", language).format(count=len(volume.pieces))
    return Document(volume.title, subtitle, tuple(s for s in sections if s.blocks), language, edition, now(),
                    f"readaid {__version__}")


def first_lines(contents: Contents) -> list[tuple[str, str]]:
    """First line of each reading that is preferred, with the modern kana it is sorted by."""
    found = []
    for inscription in contents.inscriptions:
        best = preferred(a for a in contents.attempts if a.inscription == inscription.id)
        if best is not None and best.lines and best.form:
            line = best.lines[0]
            found.append((spelling.modern(line), line))
    return found


def makers_of(contents: Contents, language: str = "en") -> list[tuple[str, str]]:
    """Who has a role on the piece, and the maker as entered; with what each is sorted by."""
    names = {p.id: p for p in contents.persons}
    found: dict[str, str] = {}
    for role in contents.roles:
        if (person := names.get(role.person)) is not None:
            read = person.readings[0] if person.readings else ""
            shown = f"{person.name}{f' {read}' if read else ''} ({said('role', role.role, language)})"
            found[shown] = read or person.name
    if not found and contents.piece.maker:
        found[contents.piece.maker] = contents.piece.maker
    return [(key, shown) for shown, key in found.items()]


def _index(rows: Iterable[tuple[str, str, int]], language: str) -> tuple[Block, ...]:
    """One row a text, with the numbers of the pieces it stands on."""
    numbers: dict[tuple[str, str], list[int]] = {}
    for key, text, number in rows:
        numbers.setdefault((key, text), []).append(number)
    if not numbers:
        return ()
    made: Sequence[tuple[Cell, ...]] = [
        (Cell(text, japanese=True), Cell(", ".join(map(str, dict.fromkeys(found)))))
        for (_, text), found in sorted(numbers.items())]
    return (Table((word("index_entry", language), word("number", language)), tuple(made)),)
