"""The report as DOCX (Office Open XML) for the office.

Conventions: A4; every run carries its languages; the transcription stands in a cell whose text runs from top to bottom
and from the right (Office Open XML's ``tbRl``); columns have fixed widths, so that a picture keeps to its cell.
Hentaigana carry their face with them (``docx_font``) and, in running text, their parent kanji behind them. The dot
under an ambiguous sign is U+0323 in a line and the office's emphasis mark in a column, where no office combines the
former (LibreOffice 7.4 shows no emphasis marks in a column; the plain line beside it tells the same). Control
characters that XML cannot hold are dropped.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from datetime import datetime
from typing import Any

import docx
from docx.enum.table import WD_ROW_HEIGHT_RULE
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Mm, Pt, RGBColor
from PIL import Image

from readaid.core.progress import Progress, unheard
from readaid.report import docx_font
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
    tally,
)
from readaid.report.edition import DOT, mark
from readaid.script.hentaigana import letter
from readaid.script.kana import is_hentaigana

JAPANESE = "Yu Mincho"
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
SOFT = RGBColor(0x5B, 0x66, 0x6E)


def render(document: Document, progress: Progress = unheard) -> bytes:
    """The document as DOCX bytes; ``progress`` is told before each block and each row of a table."""
    office: Any = docx.Document()
    page = office.sections[0]
    page.page_width, page.page_height = Mm(210), Mm(297)
    page.left_margin = page.right_margin = Mm(20)
    page.top_margin = page.bottom_margin = Mm(15)
    normal = office.styles["Normal"]
    normal.font.name, normal.font.size = "Calibri", Pt(SIZES["entry"])
    normal.element.rPr.rFonts.set(qn("w:eastAsia"), JAPANESE)
    normal.paragraph_format.space_after = Pt(1)
    for level in (1, 2, 3):
        head = office.styles[f"Heading {level}"].paragraph_format
        head.space_before, head.space_after = Pt(7), Pt(2)
    if _LETTERS.search(_texts(document)):
        docx_font.embed(office)
    office.core_properties.title = _clean(document.title)
    office.core_properties.author = document.program
    office.core_properties.comments = ""
    made = datetime.fromisoformat(document.made).replace(tzinfo=None) if document.made else datetime(2026, 1, 1)
    office.core_properties.created = office.core_properties.modified = made  # the library's template has 2013
    office.core_properties.last_modified_by = document.program
    office.core_properties.language = TAGS[document.language]
    _tag(normal.element.get_or_add_rPr(), TAGS[document.language])
    office.add_heading(_clean(document.title), 0)
    _run(office.add_paragraph(), document.subtitle).font.color.rgb = SOFT
    heard = tally(document, progress)
    former = ""
    for section in document.sections:
        if former == "entry" and section.part == "evidence":
            office.add_page_break()
        former = section.part
        if section.title:
            office.add_heading(_clean(section.title), min(section.level - 1, 3))
        for block in section.blocks:
            heard()
            _block(office, block, document, SIZES[section.part], heard)
    stream = io.BytesIO()
    office.save(stream)
    return stream.getvalue()


_LETTERS = re.compile("[\U0001b000-\U0001b12f]")


def _texts(document: Document) -> str:
    """All the text of a document, to see what it needs."""
    return repr(document.sections)


def _clean(text: str) -> str:
    return _CONTROL.sub("", text)


def shown(text: str) -> str:
    """Text with the parent kanji behind each hentaigana.

    >>> shown("\U0001b0a5")
    '\U0001b0a5〔者〕'
    """
    out = []
    for sign in text:
        found = letter(sign) if is_hentaigana(sign) else None
        out.append(f"{sign}〔{found.parent}〕" if found else sign)
    return "".join(out)


def _run(paragraph: Any, text: str, tongue: str = "", size: float = 0.0, parents: bool = True) -> Any:
    """Runs of a text, hentaigana in their own face; ``parents``: running text, not a column."""
    run = None
    for part, letters, dotted in _stretches(text):
        told = shown(part) if parents else part
        run = paragraph.add_run(_clean(told + (DOT if dotted and parents else "")))
        properties = run._element.get_or_add_rPr()
        fonts = properties.get_or_add_rFonts()
        fonts.set(qn("w:eastAsia"), docx_font.NAME if letters else JAPANESE)
        if letters:  # letters of the supplementary plane are not always taken for East Asian
            fonts.set(qn("w:ascii"), docx_font.NAME)
            fonts.set(qn("w:hAnsi"), docx_font.NAME)
        if size:
            run.font.size = Pt(size)
        if dotted and not parents:
            mark_ = OxmlElement("w:em")
            mark_.set(qn("w:val"), "dot")
            properties.append(mark_)
        if tongue:
            _tag(properties, tongue)
    return run if run is not None else paragraph.add_run("")


_STRETCH = re.compile(f"(?:(?P<letters>[\U0001b000-\U0001b12f])|(?P<sign>[^{DOT}]))(?P<dot>{DOT}?)")


def _stretches(text: str) -> list[tuple[str, bool, bool]]:
    """The text in stretches: (text, hentaigana?, dotted?)."""
    out: list[tuple[str, bool, bool]] = []
    for found in _STRETCH.finditer(text):
        kind = (bool(found["letters"]), bool(found["dot"]))
        sign = found["letters"] or found["sign"]
        if out and out[-1][1:] == kind and not kind[1]:
            out[-1] = (out[-1][0] + sign, *kind)
        else:
            out.append((sign, *kind))
    return out


def _tag(properties: Any, tongue: str) -> None:
    """The language of a run: of its Latin and, always Japanese, of its East Asian signs."""
    tag = OxmlElement("w:lang")
    tag.set(qn("w:val"), tongue)
    tag.set(qn("w:eastAsia"), "ja-JP")
    properties.append(tag)


def _block(office: Any, block: Block, document: Document, size: float = 0.0,
           heard: Callable[[], None] = lambda: None) -> None:
    match block:
        case Paragraph(text, role):
            run = _run(office.add_paragraph(), text, size=8.0 if role in ("note", "place") else size)
            if role in ("note", "place"):
                run.font.color.rgb = SOFT
            run.font.bold = role == "caution" or None
        case Points(items, _):
            for item in items:
                _run(office.add_paragraph(style="List Bullet"), item, size=size)
        case Facts(rows):
            _facts(office, rows, size=size)
        case Picture():
            _figure(office, block, 170.0 if size == SIZES["entry"] else 85.0)
        case Table():
            _table(office, block, heard)
        case Edition():
            _vertical(office, block, document)
        case VerseLines():
            for k, line in enumerate(block.lines):
                paragraph = office.add_paragraph()
                paragraph.paragraph_format.left_indent = Mm(8)
                _run(paragraph, line).font.size = Pt(13)
                morae = f"{block.morae[k]} {block.unit}" if k < len(block.morae) else ""
                off = block.surplus[k] if k < len(block.surplus) else 0
                _run(paragraph, f"  {morae}" + (f" ({off:+d})" if off else "")).font.color.rgb = SOFT
            _run(office.add_paragraph(), block.form).font.color.rgb = SOFT
        case Versions(rows):
            _facts(office, tuple((v.label, v.text) for v in rows), tuple(v.language for v in rows))
        case Row(cells):
            _row(office, cells, document)
        case Link(label, address):
            _run(office.add_paragraph(), f"{label}: {address}")
        case _:
            raise TypeError(f"no rendering for {type(block).__name__}")


TAGS = {"en": "en-GB", "ja": "ja-JP"}
#: Points of running text: the entry is read, the evidence is looked up.
SIZES = {"entry": 10.0, "evidence": 7.5}
#: Between the margins, in mm; how high a picture in a table may be.
FULL, CROP_HIGH = 170.0, 9.0


def _table_of(office: Any, rows: int, widths: list[float], style: str | None = None) -> Any:
    """A table with columns of fixed width, so that no office makes a cell narrower than the picture in it."""
    table = office.add_table(rows, len(widths)) if style is None else office.add_table(rows, len(widths), style)
    table.autofit = False
    for column, width in zip(table.columns, widths, strict=True):
        column.width = Mm(width)
    return table


def _cells(row: Any, widths: list[float]) -> Any:
    for cell, width in zip(row.cells, widths, strict=True):
        cell.width = Mm(width)
        for paragraph in cell.paragraphs:
            paragraph.paragraph_format.space_after = Pt(1)
    return row.cells


def _facts(office: Any, rows: tuple[tuple[str, str], ...], tongues: tuple[str, ...] = (), size: float = 0.0) -> None:
    if not rows:
        return
    widths = [45.0, 125.0] if size != SIZES["evidence"] else [50.0, 120.0]
    table = _table_of(office, 0, widths)
    for n, (name, value) in enumerate(rows):
        cells = _cells(table.add_row(), widths)
        _run(cells[0].paragraphs[0], name, size=size).font.color.rgb = SOFT
        _run(cells[1].paragraphs[0], value, tongues[n] if n < len(tongues) else "", size)


def _figure(place: Any, block: Picture, width: float) -> None:
    _picture(place.add_paragraph(), block, width)
    if block.caption:
        run = _run(place.add_paragraph(), block.caption)
        run.font.size, run.font.color.rgb = Pt(8), SOFT


def _vertical(place: Any, block: Edition, document: Document) -> None:
    """The transcription in one cell whose lines run downwards, the first column at the right."""
    if block.caption:
        _run(place.add_paragraph(), block.caption).font.color.rgb = SOFT
    columns = mark(block.text, document.edition)
    width = 9.0 * len(columns) + 6
    table = place.add_table(1, 1)
    table.autofit = False
    cell = _cells(table.rows[0], [width])[0]
    longest = max((len(c.replace(DOT, "")) for c in columns), default=1)
    table.rows[0].height = Mm(min(230.0, 6.6 * longest + 6))
    table.rows[0].height_rule = WD_ROW_HEIGHT_RULE.EXACTLY
    direction = OxmlElement("w:textDirection")
    direction.set(qn("w:val"), "tbRl")
    cell._tc.get_or_add_tcPr().append(direction)
    for n, column in enumerate(columns):
        paragraph = cell.paragraphs[0] if n == 0 else cell.add_paragraph()
        paragraph.paragraph_format.space_after = Pt(2)
        _run(paragraph, column, "ja-JP", 15, parents=False)


def _row(office: Any, cells: tuple[tuple[Block, ...], ...], document: Document) -> None:
    """Blocks beside each other in a table without lines."""
    wants = [max((_want(b) for b in cell), default=20.0) for cell in cells]
    factor = min(1.0, FULL / sum(wants))
    widths = [w * factor for w in wants]
    made = _cells(_table_of(office, 1, widths).rows[0], widths)
    for cell, blocks, width in zip(made, cells, widths, strict=True):
        for block in blocks:
            if isinstance(block, Picture):
                _figure(cell, block, width - 4)
            elif isinstance(block, Edition):
                _vertical(cell, block, document)
            elif isinstance(block, Facts):
                for name, value in block.rows:
                    _small(cell.add_paragraph(), f"{name}: {value}")
            else:
                _block(cell, block, document)
        cell._tc.remove(cell.paragraphs[0]._p)
        if cell._tc[-1].tag != qn("w:p"):  # a cell ends with a paragraph (ECMA-376, part 1, 17.4.65)
            cell.add_paragraph()


def _want(block: Block) -> float:
    if isinstance(block, Picture):
        return block.width_mm + 4
    return 9.0 * len(block.text.columns) + 12 if isinstance(block, Edition) else 80.0


def _table(office: Any, block: Table, heard: Callable[[], None]) -> None:
    if block.caption:
        _run(office.add_paragraph(), block.caption).font.color.rgb = SOFT
    widths = _widths(block)
    table = _table_of(office, 1, widths, "Table Grid")
    for cell, heading in zip(_cells(table.rows[0], widths), block.headings, strict=True):
        _small(cell.paragraphs[0], heading).font.bold = True
    for row in block.rows:
        heard()
        for cell, content, width in zip(_cells(table.add_row(), widths), row, widths, strict=True):
            _fill(cell.paragraphs[0], content, width)


def _widths(block: Table) -> list[float]:
    """Widths of the columns by what they hold, 170 mm together; a picture has its own width at least."""
    wants, least = [], []
    for n, heading in enumerate(block.headings):
        texts = [heading, *(t for row in block.rows for t in row[n].text.split("\n"))]
        wants.append(min(60.0, 4 + 1.7 * max(sum(2 if ord(c) > 0x2E80 else 1 for c in t) for t in texts)))
        shown = [p for row in block.rows if (p := row[n].picture) is not None]
        # No heading is broken within a word; a Japanese one may be, but not sign by sign.
        word = max((sum(3.2 if ord(c) > 0x2E80 else 1.75 for c in w[:4 if ord(w[0]) > 0x2E80 else None])
                    for w in heading.split()), default=0.0)
        least.append(max([4 + word, 9.0, *(min(p.width_mm, CROP_HIGH * 1.4) + 5 for p in shown)]))
    wants = [max(w, m) for w, m in zip(wants, least, strict=True)]
    least = [m * min(1.0, FULL / sum(least)) for m in least]  # so many columns that not even headings have room
    spare = FULL - sum(least)
    over = sum(w - m for w, m in zip(wants, least, strict=True))
    factor = min(1.0, spare / over) if over > 0 else 1.0
    return [m + (w - m) * factor for w, m in zip(wants, least, strict=True)]


def _small(paragraph: Any, text: str) -> Any:
    return _run(paragraph, text, size=8)


def _fill(paragraph: Any, cell: Cell, width: float) -> None:
    if cell.picture is not None:
        _picture(paragraph, cell.picture, width - 4, CROP_HIGH)
    text = "".join(c + DOT for c in cell.text) if cell.dotted else cell.text
    if text:  # the parents stand in a column of their own
        _run(paragraph, text, size=8, parents=not cell.japanese)


def _picture(paragraph: Any, picture: Picture, width: float, high: float = 100.0) -> None:
    w, h = Image.open(io.BytesIO(picture.data), formats=("JPEG", "PNG")).size
    wide = min(picture.width_mm, width, high * w / h)
    shape = paragraph.add_run().add_picture(io.BytesIO(picture.data), width=Mm(wide))
    shape._inline.docPr.set("descr", _clean(picture.alt))
