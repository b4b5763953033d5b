"""A pen on the pages of a PDF: text in lines, signs one below the other, pictures, rules. The one door to fpdf2.

Conventions: millimetres from the top left of an A4 page; sizes of type in points. Fonts are embedded as subsets (the
text face and the hentaigana face that the program ships), so that the file shows the same everywhere and gives its
text back. PDF/A-2u (ISO 19005-2). A dry pen measures: it moves down and marks nothing.
"""

from __future__ import annotations

import contextlib
import io
from collections.abc import Iterator
from datetime import datetime

from fpdf import FPDF

from readaid.core.places import hentaigana_font, text_font
from readaid.report.edition import DOT
from readaid.report.line_break import lines

WIDTH, HEIGHT, MARGIN, FOOT = 210.0, 297.0, 15.0, 14.0
INK, SOFT, LEAD, LINE = (29, 34, 38), (91, 102, 110), (122, 74, 18), (201, 206, 210)
POINT = 25.4 / 72
#: Signs that stand upright in a row and lie down in a column.
_OTHER = {"⌜": "‹", "⌝": "›", "\t": " ", "\u00a0": " ",
          "\uff5e": "\u301c"}  # what a Japanese keyboard of Windows gives for the wave dash
TURNED = frozenset("[](){}<>⟦⟧‹›（）［］「」『』〈〉…-–—ー〜.")


class Pen:
    """Where the next line goes, and what is written there."""

    def __init__(self, title: str, language: str, program: str, made: str) -> None:
        pdf = FPDF(format="A4", enforce_compliance="PDF/A-2U")
        pdf.set_title(title)
        pdf.set_producer(program)
        pdf.set_creator(program)
        pdf.set_lang("ja-JP" if language == "ja" else "en-GB")
        pdf.set_creation_date(datetime.fromisoformat(made))
        pdf.set_auto_page_break(False)
        pdf.set_margins(0, 0, 0)
        pdf.c_margin = 0
        pdf.add_font("text", fname=str(text_font()))
        pdf.add_font("letters", fname=str(hentaigana_font()))
        pdf.set_fallback_fonts(["letters"])
        self.pdf = pdf
        self.y = HEIGHT
        self.dry = False
        self._size = 0.0
        self._held = {c for f in pdf.fonts.values() for c in f.cmap}  # type: ignore[union-attr]
        self._widths: dict[tuple[str, float], float] = {}
        self._foot = f"{title} · {program}"

    # -- pages ----------------------------------------------------------------------------------------
    def page(self) -> None:
        """Begin a page."""
        if self.dry:
            return
        self.pdf.add_page()
        self._size = 0.0
        self.y = MARGIN
        y, self.y = self.y, HEIGHT - FOOT + 3
        self.put(self._foot, MARGIN, 7, SOFT)
        number = str(self.pdf.page_no())
        self.put(number, WIDTH - MARGIN - self.wide(number, 7), 7, SOFT)
        self.y = y

    def need(self, height: float) -> None:
        """Begin a page unless there is room for ``height``."""
        if not self.dry and self.y + height > HEIGHT - FOOT:
            self.page()

    @contextlib.contextmanager
    def measuring(self) -> Iterator[None]:
        """A dry pen for a while; afterwards it stands where it stood."""
        was, y = self.dry, self.y
        self.dry = True
        try:
            yield
        finally:
            self.dry, self.y = was, y

    # -- text -----------------------------------------------------------------------------------------
    def wide(self, text: str, size: float) -> float:
        """Width of a text in mm."""
        key = (text, size)
        if key not in self._widths:
            self._font(size)
            shown = self.known(text.replace(DOT, ""))
            self._widths[key] = float(self.pdf.get_string_width(shown))
        return self._widths[key]

    def _font(self, size: float) -> None:
        if size != self._size:
            if not self.pdf.pages:
                self.pdf.add_page()
                self.y = MARGIN
            self.pdf.set_font("text", size=size)
            self._size = size

    def put(self, text: str, x: float, size: float, colour: tuple[int, int, int] = INK) -> None:
        """One line of text at ``x`` and the pen's height; the pen stays."""
        if self.dry or not text:
            return
        self._font(size)
        self.pdf.set_text_color(*colour)
        self.pdf.set_xy(x, self.y)
        shown = self.known(text)
        self.pdf.cell(self.wide(shown, size) + 1, size * POINT * 1.2, shown.replace(DOT, ""))
        for at, sign in enumerate(shown):
            if sign == DOT:  # drawn: a combining dot is in few faces
                left = self.wide(shown[:at - 1], size)
                middle = x + left + self.wide(shown[at - 1:at], size) / 2
                self._dot(middle, self.y + size * POINT * 1.22)

    def known(self, text: str) -> str:
        """The text as the faces can show it: a sign they lack is told by its number, never dropped."""
        return "".join(c if ord(c) in self._held or c == DOT else _OTHER.get(c) or f"〓U+{ord(c):04X}"
                       for c in text)

    def _dot(self, x: float, y: float) -> None:
        self.pdf.set_fill_color(*INK)
        self.pdf.circle(x, y, 0.35, style="F")

    def text(self, text: str, x: float, width: float, size: float, colour: tuple[int, int, int] = INK,
             whole: bool = False) -> None:
        """Lines of text from the pen's height on, at ``x``, no wider than ``width``; ``whole``: no page between."""
        step = size * POINT * 1.45
        for line in lines(text, width, lambda t: self.wide(t, size)):
            if not whole:
                self.need(step)
            self.put(line, x, size, colour)
            self.y += step

    def tall(self, text: str, width: float, size: float) -> float:
        """How high a text would stand."""
        return len(lines(text, width, lambda t: self.wide(t, size))) * size * POINT * 1.45

    def column(self, signs: list[tuple[str, bool, bool]], x: float, top: float, size: float) -> float:
        """Signs one below the other at ``x``: text, dotted, and beside it in small. Returns where they end."""
        step, y = size * POINT * 1.12, top
        for text, dotted, small in signs:
            for sign in text:
                if small:
                    self._upright(sign, x + size * POINT, y - step * 0.95, size * 0.42, SOFT)
                    continue
                self._upright(sign, x, y, size, INK)
                if dotted and not self.dry:
                    self._dot(x - 0.9, y + step / 2)
                y += step * (0.6 if sign in TURNED else 1)
        return y

    def _upright(self, sign: str, x: float, y: float, size: float, colour: tuple[int, int, int]) -> None:
        if self.dry:
            return
        was, self.y = self.y, y
        if sign in TURNED:
            middle = size * POINT / 2
            with self.pdf.rotation(-90, x + middle, y + middle * 0.9):
                self.put(sign, x + middle - self.wide(sign, size) / 2, size, colour)
        else:
            self.put(sign, x + (size * POINT - self.wide(sign, size)) / 2, size, colour)
        self.y = was

    # -- pictures and rules ------------------------------------------------------------------------------
    def picture(self, data: bytes, x: float, y: float, width: float, height: float) -> None:
        """A picture at a place, in a size."""
        if not self.dry:
            self.pdf.image(io.BytesIO(data), x=x, y=y, w=width, h=height)

    def rule(self, x: float, y: float, width: float, colour: tuple[int, int, int] = LINE, thick: float = 0.15) -> None:
        """A line across."""
        if not self.dry:
            self.pdf.set_draw_color(*colour)
            self.pdf.set_line_width(thick)
            self.pdf.line(x, y, x + width, y)

    def bytes(self) -> bytes:
        """The whole file."""
        return bytes(self.pdf.output())

