"""The report as PDF/A, set by ourselves: no system library, no font of the machine.

Conventions: A4, the entry first, the evidence on new pages. Columns of an inscription are set sign by sign from the
right, since no library of ours sets vertical text; the plain lines beside it give the text to whoever searches.
"""

from __future__ import annotations

import io

from PIL import Image

from readaid.core.progress import Progress, Tally, unheard
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
    Section,
    Table,
    VerseLines,
    Versions,
    tally,
)
from readaid.report.edition import EditionSign, State, japanese, leiden
from readaid.report.pdf_pen import INK, LEAD, LINE, MARGIN, POINT, SOFT, WIDTH, Pen

FULL = WIDTH - 2 * MARGIN
#: Most of a page that one picture may take, in mm; a picture of a row stands beside others.
HIGH, ROW_HIGH, CROP_HIGH = 62.0, 34.0, 8.5
COLUMN_SIZE = 15.0


def render(document: Document, progress: Progress = unheard) -> bytes:
    """The document as PDF bytes; ``progress`` is told before each block and each row of a table."""
    pen = Pen(document.title, document.language, document.program, document.made)
    pen.page()
    pen.text(document.title, MARGIN, FULL, 16)
    pen.text(document.subtitle, MARGIN, FULL, 9, SOFT)
    setter = Setter(pen, document, tally(document, progress))
    for part, size in (("entry", 9.0), ("evidence", 7.5)):
        sections = [s for s in document.sections if s.part == part]
        if part == "evidence" and sections and any(s.part == "entry" for s in document.sections):
            pen.page()
        setter.size = size
        for section in sections:
            setter.section(section)
    return pen.bytes()


class Setter:
    """Sets blocks one below the other."""

    def __init__(self, pen: Pen, document: Document, heard: Tally) -> None:
        self.pen, self.document, self.size, self.heard = pen, document, 9.0, heard
        self._shapes: dict[int, tuple[int, int]] = {}

    def section(self, section: Section) -> None:
        """A heading and its blocks; a heading is never left alone at a page's foot."""
        pen, size = self.pen, 12.0 if section.level == 2 else 10.0
        first = section.blocks[0] if section.blocks else None
        pen.need(size * POINT * 2.5 + (self._fit(first, FULL, HIGH)[1] + 8 if isinstance(first, Picture) else 14))
        if section.title:
            pen.y += 2.5
            pen.text(section.title, MARGIN, FULL, size)
            pen.rule(MARGIN, pen.y - 0.3, FULL, INK if section.level == 2 else LINE, 0.25)
            pen.y += 1.2
        for block in section.blocks:
            self.heard()
            self.block(block, MARGIN, FULL)
            pen.y += 1.0

    def block(self, block: Block, x: float, width: float) -> None:
        """One block at ``x`` in ``width`` mm from the pen's height on."""
        pen, size = self.pen, self.size
        match block:
            case Paragraph(text, role):
                if role == "signing":
                    pen.y += 5
                soft = role in ("note", "place")
                pen.text(text, x, width, size - 1.5 if role == "note" else size, SOFT if soft else INK)
                if role == "signing":
                    pen.rule(x, pen.y, width, INK)
            case Points(items, role):
                for item in items:
                    pen.need(size * POINT * 1.45)
                    pen.put("・", x, size, LEAD if role == "caution" else SOFT)
                    pen.text(item, x + 4, width - 4, size)
            case Facts(rows):
                self.pairs([(k, v, False) for k, v in rows], x, width)
            case Versions(versions):
                self.pairs([(v.label, v.text, v.language.startswith("ja")) for v in versions], x, width)
            case Picture():
                self.picture(block, x, width, HIGH)
            case Table():
                self.table(block, x, width)
            case Edition():
                self.edition(block, x)
            case VerseLines():
                self.verse(block, x, width)
            case Link(label, address):
                pen.text(f"{label}: {address}", x, width, size, SOFT)
            case Row(cells):
                self.row(cells, x, width)
            case _:
                raise TypeError(f"no setting for {type(block).__name__}")

    # -- blocks ---------------------------------------------------------------------------------------
    def pairs(self, rows: list[tuple[str, str, bool]], x: float, width: float) -> None:
        """Name and value beside each other; a Japanese version is set a little larger."""
        pen, size = self.pen, self.size
        if not rows:
            return
        left = min(max(pen.wide(name, size) for name, _, _ in rows) + 3, width * 0.34)
        for name, value, large in rows:
            high = size + (1.5 if large else 0)
            tall = max(pen.tall(name, left - 2, size), min(pen.tall(value, width - left, high), 60))
            pen.need(tall)
            y = pen.y
            pen.text(name, x, left - 2, size, SOFT, whole=True)
            below, pen.y = pen.y, y
            pen.text(value, x + left, width - left, high)
            pen.y = max(pen.y, below)

    def picture(self, block: Picture, x: float, width: float, high: float) -> None:
        """A picture no wider or higher than there is room, with its caption."""
        wide, tall = self._fit(block, width, high)
        room = min(max(wide, 40.0), width)  # never into the picture beside it
        caption = self.pen.tall(block.caption, room, self.size - 2) if block.caption else 0.0
        self.pen.need(tall + caption + 1)
        self.pen.picture(block.data, x, self.pen.y, wide, tall)
        self.pen.y += tall + 0.8
        if block.caption:
            self.pen.text(block.caption, x, room, self.size - 2, SOFT, whole=True)

    def _fit(self, block: Picture, width: float, high: float) -> tuple[float, float]:
        key = id(block.data)
        if key not in self._shapes:
            self._shapes[key] = Image.open(io.BytesIO(block.data), formats=("JPEG", "PNG")).size
        w, h = self._shapes[key]
        factor = min(block.width_mm / w, width / w, high / h)
        return w * factor, h * factor

    def row(self, cells: tuple[tuple[Block, ...], ...], x: float, width: float) -> None:
        """Cells beside each other, as wide as they want to be, as far as there is room."""
        wants = [max((self._want(b, width) for b in cell), default=10.0) for cell in cells]
        total = sum(wants) + 4.0 * (len(wants) - 1)
        factor = min(1.0, (width - 4.0 * (len(wants) - 1)) / max(1.0, total - 4.0 * (len(wants) - 1)))
        wides = [w * factor for w in wants]
        with self.pen.measuring():
            tall = 0.0
            for cell, wide in zip(cells, wides, strict=True):
                self.pen.y = 0.0
                self._cell(cell, x, wide)
                tall = max(tall, self.pen.y)
        self.pen.need(tall)
        top, low = self.pen.y, self.pen.y
        for cell, wide in zip(cells, wides, strict=True):
            self.pen.y = top
            self._cell(cell, x, wide)
            low = max(low, self.pen.y)
            x += wide + 4.0
        self.pen.y = low

    def _cell(self, cell: tuple[Block, ...], x: float, width: float) -> None:
        for block in cell:
            if isinstance(block, Picture):
                self.picture(block, x, width, ROW_HIGH)
            else:
                self.block(block, x, width)

    def _want(self, block: Block, width: float) -> float:
        if isinstance(block, Picture):
            return max(self._fit(block, width, ROW_HIGH)[0], 26.0)
        if isinstance(block, Edition):
            return len(block.text.columns) * COLUMN_SIZE * POINT * 1.75 + 4
        return width / 2

    def edition(self, block: Edition, x: float) -> None:
        """The inscription's columns from the right, sign by sign."""
        pen, document = self.pen, self.document
        columns = [[t for s in column for t in _set(s, document.edition)] for column in block.text.columns]
        if document.edition == "japanese":
            columns = [[*c, ("」", False, False)] for c in columns]
        step = COLUMN_SIZE * POINT * 1.75
        with pen.measuring():
            tall = max((pen.column(c, 0.0, 0.0, COLUMN_SIZE) for c in columns), default=0.0)
        head = pen.tall(block.caption, 60, self.size - 2) if block.caption else 0.0
        pen.need(min(tall, 240.0) + head + 2)
        if block.caption:
            pen.text(block.caption, x, 60, self.size - 2, SOFT, whole=True)
        top = pen.y + 1
        for n, column in enumerate(columns):
            pen.column(column, x + (len(columns) - 1 - n) * step + 2, top, COLUMN_SIZE)
        pen.y = top + tall + 1

    def verse(self, block: VerseLines, x: float, width: float) -> None:
        """Lines of a verse with their morae, and what each has too much or too little."""
        pen = self.pen
        size = self.size + 2.5
        wide = max((pen.wide(line, size) for line in block.lines), default=0.0)
        for n, line in enumerate(block.lines):
            pen.need(size * POINT * 1.4)
            pen.put(line, x, size)
            told = f"{block.morae[n]} {block.unit}" if n < len(block.morae) else ""
            off = block.surplus[n] if n < len(block.surplus) else 0
            pen.put(told + (f"  ({off:+d})" if off else ""), x + wide + 5, self.size, LEAD if off else SOFT)
            pen.y += size * POINT * 1.4
        pen.text(block.form, x, width, self.size - 1, SOFT)

    # -- tables ---------------------------------------------------------------------------------------
    def table(self, block: Table, x: float, width: float) -> None:
        """A table; its heading comes again on each page."""
        pen, size = self.pen, self.size - 0.5
        wides = self._columns(block, width, size)
        if len(block.rows) > 7 and sum(wides) <= width * 0.56:  # a narrow one takes half the pages: two rows a line
            wides = self._columns(block, width / 2 - 2, size)
            block = _doubled(block)
            wides = [*wides, *wides]
            wides[len(wides) // 2 - 1] += width - sum(wides)
        if block.caption:
            pen.need(size * POINT * 5)
            pen.text(block.caption, x, width, size, SOFT)
        self._heading(block, x, wides, size)
        for row in block.rows:
            self.heard()
            tall = max(self._tall(c, w, size) for c, w in zip(row, wides, strict=True)) + 1.0
            before = pen.y
            pen.need(tall)
            if pen.y < before:
                self._heading(block, x, wides, size)
            top, left = pen.y, x
            for cell, wide in zip(row, wides, strict=True):
                pen.y = top + 0.4
                self._fill(cell, left, wide, size)
                left += wide
            pen.y = top + tall
            pen.rule(x, pen.y, sum(wides))

    def _heading(self, block: Table, x: float, wides: list[float], size: float) -> None:
        pen = self.pen
        tall = max(pen.tall(h, w - 1.5, size - 0.5) for h, w in zip(block.headings, wides, strict=True))
        pen.need(tall + 8)
        top = pen.y
        for heading, wide in zip(block.headings, wides, strict=True):
            pen.y = top
            pen.text(heading, x, wide - 1.5, size - 0.5, SOFT, whole=True)
            x += wide
        pen.y = top + tall + 0.5
        pen.rule(x - sum(wides), pen.y, sum(wides))

    def _columns(self, block: Table, width: float, size: float) -> list[float]:
        """Widths by what the cells hold: as wide as they want where there is room, else the long ones give way."""
        pen = self.pen
        wants = []
        for n, heading in enumerate(block.headings):
            held = [pen.wide(heading, size - 0.5)]
            for row in block.rows:
                held += [pen.wide(t, size + (1.5 if row[n].japanese else 0)) for t in row[n].text.split("\n")]
                if (picture := row[n].picture) is not None:
                    held.append(min(picture.width_mm, 22.0))
            wants.append(max(held) + 2.5)
        room = width
        fair = room / len(wants)
        while sum(wants) > room:  # the widest columns are cut to the same width, the others keep theirs
            long = [w for w in wants if w > fair]
            short = sum(w for w in wants if w <= fair)
            now = (room - short) / len(long)
            if now - fair < 0.1:
                return [min(w, now) for w in wants]
            fair = now
        return wants

    def _tall(self, cell: Cell, width: float, size: float) -> float:
        tall = self._fit(cell.picture, width - 1, CROP_HIGH)[1] if cell.picture else 0.0
        if cell.text:
            tall += self.pen.tall(cell.text, width - 1.5, size + (1.5 if cell.japanese else 0))
        return max(tall, size * POINT)

    def _fill(self, cell: Cell, x: float, width: float, size: float) -> None:
        pen = self.pen
        if cell.picture:
            wide, tall = self._fit(cell.picture, width - 1, CROP_HIGH)
            pen.picture(cell.picture.data, x, pen.y, wide, tall)
            pen.y += tall
        text = "".join(c + "\u0323" for c in cell.text) if cell.dotted else cell.text
        pen.text(text, x, width - 1.5, size + (1.5 if cell.japanese else 0), whole=True)


def _doubled(block: Table) -> Table:
    """The same table with its rows two by two beside each other."""
    empty = tuple(Cell("") for _ in block.headings)
    rows = [*block.rows, empty] if len(block.rows) % 2 else list(block.rows)
    pairs = tuple((*a, *b) for a, b in zip(rows[::2], rows[1::2], strict=True))
    return Table((*block.headings, *block.headings), pairs, block.caption)


def _set(sign: EditionSign, edition: str) -> list[tuple[str, bool, bool]]:
    """What of a sign is set in its column: the text, whether it is dotted, whether it stands small beside the last."""
    if edition == "leiden":
        return [(leiden(sign).replace("\u0323", ""), sign.state in (State.UNCLEAR, State.ILLEGIBLE), False)]
    if sign.doubtful and sign.state in (State.CLEAR, State.UNCLEAR):
        return [(sign.text, False, False), ("カ", False, True)]
    return [(japanese(sign), False, False)]
