"""A sheet as SVG: one view box in millimetres, the signs of its font inside, pictures as PNG inside.

Conventions: as in ``sheet``; nothing outside the file is asked for, and every text is escaped.
"""

from __future__ import annotations

import base64
import io
from html import escape

from PIL import Image

from readaid.forms.sheet_font import only
from readaid.forms.sheet_items import PT, Inset, Page, Stroke, Words


def render(sheet: Page) -> str:
    """The sheet as SVG text."""
    used = "".join(sorted({c for item in sheet.items if isinstance(item, Words) for c in item.text}))
    font = base64.b64encode(only(used)).decode("ascii") if used else ""
    style = (f"@font-face{{font-family:'readaid labels';src:url(data:font/ttf;base64,{font})}}"
             "text{font-family:'readaid labels',sans-serif}")
    parts = [_part(item) for item in sheet.items]
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{sheet.width:g}mm" height="{sheet.height:g}mm" '
            f'viewBox="0 0 {sheet.width:g} {sheet.height:g}" role="img"><title>{escape(sheet.title)}</title>'
            f"<desc>{escape(sheet.caption)}</desc><style>{style}</style>"
            f'<rect width="{sheet.width:g}" height="{sheet.height:g}" fill="#ffffff"/>{"".join(parts)}</svg>')


def _part(item: Stroke | Words | Inset) -> str:
    if isinstance(item, Words):
        x, y = item.at
        turn = f' transform="rotate(-90 {x:.2f} {y:.2f})"' if item.turn else ""
        return (f'<text x="{x:.2f}" y="{y:.2f}" font-size="{item.size * PT:.3f}" text-anchor="{item.anchor}" '
                f'fill="{item.colour}"{turn}>{escape(item.text)}</text>')
    if isinstance(item, Inset):
        x, y, w, h = item.box
        return (f'<image x="{x:.2f}" y="{y:.2f}" width="{w:.2f}" height="{h:.2f}" '
                f'href="data:image/png;base64,{base64.b64encode(png(item.picture)).decode("ascii")}">'
                f"<title>{escape(item.said)}</title></image>")
    way = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in item.points) + ("Z" if item.closed else "")
    dash = f' stroke-dasharray="{" ".join(f"{d:g}" for d in item.dash)}"' if item.dash else ""
    return (f'<path d="{way}" fill="{item.fill or "none"}" stroke="{item.colour if item.width > 0 else "none"}" '
            f'stroke-width="{item.width:g}" stroke-linecap="round" stroke-linejoin="round"{dash}/>')


def png(picture: Image.Image) -> bytes:
    """A picture as PNG."""
    buffer = io.BytesIO()
    picture.convert("RGB").save(buffer, "PNG")
    return buffer.getvalue()
