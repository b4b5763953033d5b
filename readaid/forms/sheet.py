"""A sheet to print: lines, marks, words and pictures in millimetres, written as SVG, PDF or PNG with one look.

Conventions
-----------
* Millimetres from the top-left corner, y down; type in points; colours are "#rrggbb". What is drawn later lies above.
* One font in all three (``core.places.label_font``, both scripts): a PDF and an SVG carry the signs they use, so that a
  printer without Japanese fonts sets the same labels.
* Colours are from the palette of Okabe and Ito (2008), and nothing is told by colour alone: marks differ in shape,
  lines in dashes, so that a figure can be read in black and white.
* The same sheet gives the same bytes: no time of making is written.
"""

from __future__ import annotations

import base64
import contextlib
import io
import os
from html import escape
from pathlib import Path
from typing import Any

from PIL import Image

from readaid.core.errors import ReportError, unknown_option
from readaid.forms import sheet_pdf, sheet_png, sheet_svg
from readaid.forms.sheet_items import INK, PT, Inset, Page, Point, Stroke, Words, broken, mark_at

FORMATS = ("svg", "pdf", "png")


class Sheet(Page):
    """A sheet that is drawn on and written; see ``sheet_items.Page`` for its fields.

    >>> sheet = Sheet(60, 20, "Two marks")
    >>> sheet.mark(10, 10, 0); sheet.words(14, 11, "蘆香")
    >>> sheet.svg()[:4], sheet.pdf()[:5]
    ('<svg', b'%PDF-')
    """

    def line(self, *points: Point, **look: Any) -> None:
        """A line through points."""
        self.items.append(Stroke(tuple(points), **look))

    def box(self, x: float, y: float, width: float, height: float, fill: str = "", colour: str = INK,
            edge: float = 0.25) -> None:
        """A rectangle; ``edge`` is the width of its line in mm, 0 for none."""
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self.items.append(Stroke(corners, colour, edge, fill, closed=True))

    def words(self, x: float, y: float, text: str, **look: Any) -> None:
        """Words; the point lies on their base line."""
        self.items.append(Words((x, y), text, **look))

    def paragraph(self, x: float, y: float, width: float, text: str, size: float = 7.0) -> float:
        """Words broken into lines ``width`` mm wide at most; returns y below the last line."""
        for row in broken(text, width, size):
            self.words(x, y, row, size=size)
            y += size * PT * 1.35
        return y

    def picture(self, x: float, y: float, width: float, height: float, picture: Image.Image, said: str = "") -> None:
        """A picture, as large as fits into the box, in its middle."""
        scale = min(width / picture.width, height / picture.height)
        w, h = picture.width * scale, picture.height * scale
        self.items.append(Inset((x + (width - w) / 2, y + (height - h) / 2, w, h), picture, said))

    def mark(self, x: float, y: float, kind: int, size: float = 2.4) -> None:
        """The mark number ``kind``: its own shape and colour, hollow from the eighth on."""
        self.items += mark_at(x, y, kind, size)

    # -- writing -------------------------------------------------------------------------------------
    def svg(self) -> str:
        """The sheet as SVG text, its font inside."""
        return sheet_svg.render(self)

    def pdf(self) -> bytes:
        """The sheet as a PDF of one page, its font inside."""
        return sheet_pdf.render(self)

    def image(self, dpi: float = 300.0) -> Image.Image:
        """The sheet as RGB pixels."""
        return sheet_png.drawn(self, dpi)

    def png(self, dpi: float = 300.0) -> bytes:
        """The sheet as PNG that tells its resolution."""
        buffer = io.BytesIO()
        self.image(dpi).save(buffer, "PNG", dpi=(dpi, dpi))
        return buffer.getvalue()

    def save(self, path: str | Path, dpi: float = 300.0) -> Path:
        """Write the sheet; the ending says how: .svg, .pdf or .png.

        Raises OptionError for another ending, ReportError where nothing can be written.
        """
        target = Path(path).expanduser()
        kind = target.suffix.lower().lstrip(".")
        if kind not in FORMATS:
            raise unknown_option("ending of a figure", kind or target.name, FORMATS)
        data = self.svg().encode("utf-8") if kind == "svg" else self.pdf() if kind == "pdf" else self.png(dpi)
        part = target.with_name(target.name + ".part")
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            part.write_bytes(data)
            os.replace(part, target)
        except OSError as error:
            with contextlib.suppress(OSError):  # where the folder is a file there is nothing to take away
                part.unlink()
            raise ReportError("The figure could not be written", f"{target}: {error.strerror}",
                              "make room on the disk or name another place") from error
        return target

    def _repr_html_(self) -> str:
        data = base64.b64encode(self.svg().encode("utf-8")).decode("ascii")
        return (f'<figure><img alt="{escape(self.title)}" style="max-width:100%" '
                f'src="data:image/svg+xml;base64,{data}"/></figure>')
