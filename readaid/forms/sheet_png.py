"""A sheet as pixels, drawn by Pillow.

Conventions: as in ``sheet``; RGB on white.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from PIL import Image, ImageDraw

from readaid.core.errors import ReportError
from readaid.forms.sheet_items import PT, Inset, Page, Point, Stroke, Words, face

#: Pixels are drawn twice as fine and brought down, since Pillow's lines have no soft edges.
_FINE = 2
#: A sheet of more pixels than this is no figure (A2 at 600 dots an inch).
MOST_PIXELS = 140_000_000


def drawn(sheet: Page, dpi: float) -> Image.Image:
    """The sheet as RGB pixels at so many dots an inch; raises ReportError where that is more than a figure needs."""
    scale = dpi / 25.4 * _FINE
    size = (round(sheet.width * dpi / 25.4) * _FINE, round(sheet.height * dpi / 25.4) * _FINE)
    if size[0] * size[1] > MOST_PIXELS * _FINE**2:
        raise ReportError("So fine a figure cannot be drawn", f"{size[0] // _FINE} x {size[1] // _FINE} pixels",
                          "choose fewer dots an inch")
    page = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(page)
    for item in sheet.items:
        if isinstance(item, Stroke):
            _draw_stroke(pen, item, scale)
        elif isinstance(item, Inset):
            x, y, w, h = (round(v * scale) for v in item.box)
            page.paste(item.picture.convert("RGB").resize((max(w, 1), max(h, 1)), Image.Resampling.LANCZOS), (x, y))
        else:
            _draw_words(page, pen, item, scale)
    return page.resize((max(size[0] // _FINE, 1), max(size[1] // _FINE, 1)), Image.Resampling.BOX)


def _draw_stroke(pen: ImageDraw.ImageDraw, item: Stroke, scale: float) -> None:
    points = [(x * scale, y * scale) for x, y in item.points]
    if item.fill and len(points) > 2:
        pen.polygon(points, fill=item.fill)
    wide = max(1, round(item.width * scale))
    if item.width <= 0:
        return
    way = [*points, points[0]] if item.closed else points
    for part in _dashed(way, [d * scale for d in item.dash]) if item.dash else [way]:
        pen.line(part, fill=item.colour, width=wide, joint="curve")
        if len(part) > 1 and wide > 3 and not item.dash:
            for x, y in (part[0], part[-1]):
                pen.ellipse((x - wide / 2, y - wide / 2, x + wide / 2, y + wide / 2), fill=item.colour)


def _dashed(way: Sequence[Point], dash: Sequence[float]) -> list[list[Point]]:
    """A line cut into its dashes."""
    out: list[list[Point]] = []
    at, left, on, part = 0, dash[0], True, [way[0]]
    for (x0, y0), (x1, y1) in pairwise(way):
        length, done = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 0.0
        while length - done > left:
            done += left
            place = (x0 + (x1 - x0) * done / length, y0 + (y1 - y0) * done / length)
            if on:
                out.append([*part, place])
            at, on, part = at + 1, not on, [place]
            left = dash[at % len(dash)]
        left -= length - done
        part.append((x1, y1))
    return [*out, part] if on and len(part) > 1 else out


def _draw_words(page: Image.Image, pen: ImageDraw.ImageDraw, item: Words, scale: float) -> None:
    font = face(max(4, round(item.size * PT * scale)))
    anchor = {"start": "ls", "middle": "ms", "end": "rs"}[item.anchor]
    x, y = item.at[0] * scale, item.at[1] * scale
    if not item.turn:
        pen.text((x, y), item.text, fill=item.colour, font=font, anchor=anchor)
        return
    wide, high = round(font.getlength(item.text)) + 4, sum(font.getmetrics())
    slip = Image.new("L", (wide, high), 0)
    ImageDraw.Draw(slip).text((2, font.getmetrics()[0]), item.text, fill=255, font=font, anchor="ls")
    slip = slip.rotate(90, expand=True)
    top = y - {"start": wide, "middle": wide / 2, "end": 0}[item.anchor]
    page.paste(Image.new("RGB", slip.size, item.colour), (round(x - font.getmetrics()[0]), round(top)), slip)
