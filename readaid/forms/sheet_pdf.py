"""A sheet as PDF: one page of its own size, lines as lines, words as words with the font inside. The door to fpdf2.

Conventions: as in ``sheet``. Words can be searched and copied; the caption is the document's subject.
"""

from __future__ import annotations

import logging
from typing import Any

from readaid.core.places import label_font
from readaid.forms.sheet_items import MADE, Inset, Page, Stroke, Words, width_of


def render(sheet: Page) -> bytes:
    """The sheet as PDF bytes."""
    from fpdf import FPDF

    logging.getLogger("fontTools").setLevel(logging.ERROR)  # it tells every table it cuts
    page: Any = FPDF(unit="mm", format=(sheet.width, sheet.height))
    page.set_auto_page_break(False)
    page.set_margin(0)
    page.set_creation_date(MADE)
    page.set_title(sheet.title)
    page.set_subject(sheet.caption)
    page.set_producer("readaid")
    page.add_font("labels", fname=str(label_font()))
    page.add_page()
    for item in sheet.items:
        if isinstance(item, Stroke):
            _stroke(page, item)
        elif isinstance(item, Words):
            _words(page, item)
        else:
            _inset(page, item)
    return bytes(page.output())


def _stroke(page: Any, item: Stroke) -> None:
    from fpdf.enums import StrokeCapStyle, StrokeJoinStyle

    page.set_draw_color(item.colour)
    page.set_line_width(item.width)
    if item.dash:
        page.set_dash_pattern(dash=item.dash[0], gap=item.dash[-1])
    with page.local_context(stroke_cap_style=StrokeCapStyle.ROUND, stroke_join_style=StrokeJoinStyle.ROUND):
        page.set_draw_color(item.colour)
        page.set_line_width(item.width)
        if item.fill:
            page.set_fill_color(item.fill)
        style = ("F" if item.fill else "") + ("D" if item.width > 0 else "")
        if style:
            page.polyline(list(item.points), polygon=item.closed, style=style)
    if item.dash:
        page.set_dash_pattern()


def _words(page: Any, item: Words) -> None:
    page.set_font("labels", size=item.size)
    page.set_text_color(item.colour)
    x, y = item.at
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * width_of(item.text, item.size)
    if not item.turn:
        page.text(x - back, y, item.text)
        return
    with page.rotation(90, x, y):
        page.text(x - back, y, item.text)


def _inset(page: Any, item: Inset) -> None:
    x, y, w, h = item.box
    page.image(item.picture.convert("RGB"), x=x, y=y, w=w, h=h, alt_text=item.said or None)
