"""The report as Markdown (CommonMark with tables), for pasting into a treatment report or catalogue.

Conventions: no pictures (their captions stay); user text is escaped so that it
cannot become markup.
"""

from __future__ import annotations

import re

from readaid.report.document import (
    Block,
    Cell,
    Document,
    Edition,
    Facts,
    Link,
    Paragraph,
    Picture,
    Points,
    Row,
    Table,
    VerseLines,
    Versions,
)
from readaid.report.edition import DOT, mark

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~!])")
_LINE_START = re.compile(r"^(\s*)(\d+)([.)])(?=\s)|^(\s*)([-+=])(?=\s)", re.MULTILINE)


def render(document: Document) -> bytes:
    """The document as UTF-8 Markdown."""
    out = [f"# {plain(document.title)}", plain(document.subtitle)]
    for section in document.sections:
        out.append(f"{'#' * section.level} {plain(section.title)}")
        out += [text for b in section.blocks if (text := _block(b, document))]
    out.append(f"{plain(document.program)} · {document.made}")
    return ("\n\n".join(out) + "\n").encode()


def plain(text: str) -> str:
    """Text with Markdown's own signs escaped.

    >>> plain("*a* <b> 1. x")
    '\\\\*a\\\\* \\\\<b\\\\> 1. x'
    """
    return _LINE_START.sub(lambda m: f"{m[1]}{m[2]}\\{m[3]}" if m[2] else f"{m[4]}\\{m[5]}",
                           _SPECIAL.sub(r"\\\1", text))


def _block(block: Block, document: Document) -> str:
    match block:
        case Paragraph(text, role):
            return ("> " if role == "caution" else "") + plain(text).replace("\n", "  \n")
        case Points(items, _):
            return "\n".join(f"- {plain(i)}" for i in items)
        case Facts(rows):
            return "\n".join(f"- **{plain(k)}**: {_one_line(v)}" for k, v in rows)
        case Picture():
            return f"*{plain(block.caption)}*" if block.caption else ""
        case Table():
            head = "| " + " | ".join(plain(h) for h in block.headings) + " |"
            rule = "|" + " --- |" * len(block.headings)
            body = ["| " + " | ".join(_cell(c) for c in row) + " |" for row in block.rows]
            return "\n".join([*([plain(block.caption), ""] if block.caption else []), head, rule, *body])
        case Edition():
            columns = "  \n".join(f"{n}. {plain(c)}" for n, c in enumerate(mark(block.text, document.edition), 1))
            return f"{plain(block.caption)}\n\n{columns}"
        case VerseLines():
            lines = [f"{plain(line)} ({m} {block.unit})" for line, m in zip(block.lines, block.morae, strict=False)]
            return "  \n".join(lines) + f"  \n{plain(block.form)}"
        case Versions(rows):
            return "\n".join(f"- **{plain(v.label)}**: {_one_line(v.text)}" for v in rows)
        case Row(cells):
            return "\n\n".join(text for cell in cells for b in cell if (text := _block(b, document)))
        case Link(label, address):
            return f"[{plain(label)}](<{address}>)"
    raise TypeError(f"no rendering for {type(block).__name__}")


def _cell(cell: Cell) -> str:
    return _one_line("".join(c + DOT for c in cell.text) if cell.dotted else cell.text)


def _one_line(text: str) -> str:
    return plain(text).replace("\n", " ")
