"""What a sheet holds: strokes, words and insets in millimetres, and how wide words are.

Conventions: as in ``sheet``. A mark is strokes; a hollow one is painted white inside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache

from PIL import Image, ImageFont

from readaid.core.places import label_font

Point = tuple[float, float]
#: Okabe and Ito's colours, the darkest first: printed in grey they still differ.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#444444")
#: Marks in the order in which they are used up; with hollow ones behind them there are fourteen, each with its colour.
MARKS = ("circle", "square", "triangle", "diamond", "cross", "wedge", "plus")
INK = "#1a1a1a"
#: Millimetres in a point of type.
PT = 25.4 / 72


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through ``points``, ``width`` mm wide; ``fill`` paints what it closes; ``dash`` in mm."""

    points: tuple[Point, ...]
    colour: str = INK
    width: float = 0.25
    fill: str = ""
    dash: tuple[float, ...] = ()
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """Words at a point of their base line, ``size`` points; ``anchor`` start, middle or end; ``turn`` 0 or 90 degrees
    against the clock."""

    at: Point
    text: str
    size: float = 8.0
    colour: str = INK
    anchor: str = "start"
    turn: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Inset:
    """A picture laid into the box (x, y, width, height)."""

    box: tuple[float, float, float, float]
    picture: Image.Image
    said: str = ""


@dataclass
class Page:
    """``width`` x ``height`` mm; ``title`` is what it is called, ``caption`` what stands below it in print."""

    width: float
    height: float
    title: str = ""
    caption: str = ""
    items: list[Stroke | Words | Inset] = field(default_factory=list)


def mark_at(x: float, y: float, kind: int, size: float) -> list[Stroke]:
    """The mark number ``kind`` as strokes."""
    shape, colour, r = MARKS[kind % len(MARKS)], COLOURS[kind % len(COLOURS)], size / 2
    hollow = (kind // len(MARKS)) % 2 == 1
    fill = "#ffffff" if hollow else colour

    def ring(corners: int, start: float, far: float) -> tuple[Point, ...]:
        return tuple((x + far * math.cos(start + 2 * math.pi * i / corners),
                      y + far * math.sin(start + 2 * math.pi * i / corners)) for i in range(corners))

    if shape in ("cross", "plus"):
        d = r * (0.8 if shape == "cross" else 1.1)
        ends = ((((x - d, y - d), (x + d, y + d)), ((x - d, y + d), (x + d, y - d))) if shape == "cross" else
                (((x - d, y), (x + d, y)), ((x, y - d), (x, y + d))))
        wide = 0.35 if hollow else 0.7
        return [Stroke(pair, colour, wide) for pair in ends]
    corners, start, far = {"circle": (28, 0.0, 1.0), "square": (4, math.pi / 4, 1.25), "diamond": (4, 0.0, 1.3),
                           "triangle": (3, -math.pi / 2, 1.3), "wedge": (3, math.pi / 2, 1.3)}[shape]
    points = ring(corners, start, r * far)
    return [Stroke(points, colour, 0.4, fill, closed=True)]


@cache
def face(pixels: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(label_font()), pixels)


def width_of(text: str, size: float) -> float:
    """Width of words in mm at ``size`` points.

    >>> 4 < width_of("花押", 8) < 7
    True
    """
    return float(face(100).getlength(text)) / 100 * size * PT


def broken(text: str, width: float, size: float) -> list[str]:
    """Text as lines at most ``width`` mm wide; Japanese breaks anywhere, other words at spaces."""
    rows, row = [], ""
    words: list[str] = []
    for word in text.replace("\n", " ").split(" "):
        words += [word + " "] if word.isascii() or width_of(word, size) <= width else [*word[:-1], word[-1:] + " "]
    for word in words:
        if row and width_of((row + word).rstrip(), size) > width:
            rows.append(row.rstrip())
            row = word
        else:
            row += word
    return [*rows, row.rstrip()] if row.strip() or not rows else rows


#: Written where a file format asks when it was made: the same sheet gives the same bytes.
MADE = datetime(2000, 1, 1, tzinfo=UTC)
