"""The report as DOCX (Office Open XML) for the office.

Conventions: A4; Japanese runs carry an East Asian font name and language;
hentaigana are shown with their parent kanji behind them since few machines
have a font for them; control characters that XML cannot hold are dropped.
"""

from __future__ import annotations

import io
import re
from typing import Any

import docx
from docx.oxml.ns import qn
from docx.shared import Mm, Pt, RGBColor

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
from readaid.script.hentaigana import letter
from readaid.script.kana import is_hentaigana

JAPANESE = "Yu Mincho"
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
SOFT = RGBColor(0x5B, 0x66, 0x6E)


def render(document: Document) -> bytes:
    """The document as DOCX bytes."""
    office = docx.Document()
    page = office.sections[0]
    page.page_width, page.page_height = Mm(210), Mm(297)
    page.left_margin = page.right_margin = Mm(20)
    page.top_margin = page.bottom_margin = Mm(18)
    normal = office.styles["Normal"]
    normal.font.name, normal.font.size = "Calibri", Pt(10.5)
    normal.element.rPr.rFonts.set(qn("w:eastAsia"), JAPANESE)
    office.core_properties.title = _clean(document.title)
    office.core_properties.author = document.program
    office.core_properties.comments = ""
    office.add_heading(_clean(document.title), 0)
    _run(office.add_paragraph(), document.subtitle).font.color.rgb = SOFT
    for section in document.sections:
        office.add_heading(_clean(section.title), min(section.level - 1, 3))
        for block in section.blocks:
            _block(office, block, document)
    stream = io.BytesIO()
    office.save(stream)
    return stream.getvalue()


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


def _run(paragraph: Any, text: str) -> Any:
    run = paragraph.add_run(_clean(shown(text)))
    run._element.get_or_add_rPr().get_or_add_rFonts().set(qn("w:eastAsia"), JAPANESE)
    return run


def _block(office: Any, block: Block, document: Document) -> None:
    match block:
        case Paragraph(text, role):
            _run(office.add_paragraph(style="Intense Quote" if role == "caution" else None), text)
        case Points(items, _):
            for item in items:
                _run(office.add_paragraph(style="List Bullet"), item)
        case Facts(rows):
            _facts(office, rows)
        case Picture():
            paragraph = office.add_paragraph()
            _picture(paragraph, block)
            if block.caption:
                _run(office.add_paragraph(), block.caption).font.color.rgb = SOFT
        case Table():
            _table(office, block)
        case Edition():
            _run(office.add_paragraph(), block.caption).font.color.rgb = SOFT
            for n, column in enumerate(mark(block.text, document.edition), start=1):
                paragraph = office.add_paragraph()
                paragraph.paragraph_format.left_indent = Mm(8)
                _run(paragraph, f"{n}  ").font.color.rgb = SOFT
                _run(paragraph, column).font.size = Pt(15)
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
            _facts(office, tuple((v.label, v.text) for v in rows))
        case Row(cells):
            for cell in cells:
                for one in cell:
                    _block(office, one, document)
        case Link(label, address):
            _run(office.add_paragraph(), f"{label}: {address}")
        case _:
            raise TypeError(f"no rendering for {type(block).__name__}")


def _facts(office: Any, rows: tuple[tuple[str, str], ...]) -> None:
    if not rows:
        return
    table = office.add_table(rows=0, cols=2)
    for name, value in rows:
        cells = table.add_row().cells
        _run(cells[0].paragraphs[0], name).font.color.rgb = SOFT
        _run(cells[1].paragraphs[0], value)
        cells[0].width, cells[1].width = Mm(45), Mm(125)


def _table(office: Any, block: Table) -> None:
    if block.caption:
        _run(office.add_paragraph(), block.caption).font.color.rgb = SOFT
    table = office.add_table(rows=1, cols=len(block.headings), style="Light Grid")
    for cell, heading in zip(table.rows[0].cells, block.headings, strict=True):
        _small(cell.paragraphs[0], heading).font.bold = True
    for row in block.rows:
        for cell, content in zip(table.add_row().cells, row, strict=True):
            _fill(cell.paragraphs[0], content)


def _small(paragraph: Any, text: str) -> Any:
    run = _run(paragraph, text)
    run.font.size = Pt(8.5)
    return run


def _fill(paragraph: Any, cell: Cell) -> None:
    if cell.picture is not None:
        _picture(paragraph, cell.picture)
    text = "".join(c + DOT for c in cell.text) if cell.dotted else cell.text
    if text:
        _small(paragraph, text)


def _picture(paragraph: Any, picture: Picture) -> None:
    shape = paragraph.add_run().add_picture(io.BytesIO(picture.data), width=Mm(picture.width_mm))
    shape._inline.docPr.set("descr", _clean(picture.alt))
