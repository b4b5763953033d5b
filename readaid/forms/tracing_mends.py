"""Mends of a tracing that the machine proposed: strokes joined, cut, taken out, put in.

Conventions: strokes are counted from 1, as on the plate; each mend gives a new tracing and leaves the former alone. A
stroke of one point is a dot.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from readaid.core.errors import OptionError

Stroke = tuple[tuple[float, float], ...]
Strokes = Sequence[Sequence[tuple[float, float]]]


def join(strokes: Strokes, first: int, second: int) -> tuple[Stroke, ...]:
    """Two strokes as one, by their nearer ends.

    >>> join([[(0, 0), (5, 0)], [(9, 0), (6, 0)]], 1, 2)
    (((0, 0), (5, 0), (6, 0), (9, 0)),)
    """
    a, b = _at(strokes, first), _at(strokes, second)
    ways = [(p, q) for p in (a, a[::-1]) for q in (b, b[::-1])]
    p, q = min(ways, key=lambda w: float(np.hypot(*np.subtract(w[0][-1], w[1][0]))))
    return tuple((*p, *q) if n == first else tuple(s) for n, s in enumerate(strokes, 1) if n != second)


def cut(strokes: Strokes, number: int, x: float, y: float) -> tuple[Stroke, ...]:
    """A stroke as two, cut at its point nearest to (x, y); raises OptionError at an end, where nothing is cut off."""
    line = _at(strokes, number)
    at = int(np.hypot(*(np.array(line, float) - (x, y)).T).argmin())
    if at in (0, len(line) - 1):
        raise OptionError(f"Stroke {number} has no point to be cut near there", f"{x:g}, {y:g}",
                          "give a place inside the stroke")
    out: list[Stroke] = []
    for n, stroke in enumerate(strokes, 1):
        out += [line[:at + 1], line[at:]] if n == number else [tuple(stroke)]
    return tuple(out)


def without(strokes: Strokes, number: int) -> tuple[Stroke, ...]:
    """The tracing without one of its strokes.

    >>> without([[(0, 0), (5, 0)], [(9, 9)]], 2)
    (((0, 0), (5, 0)),)
    """
    _at(strokes, number)
    return tuple(tuple(s) for n, s in enumerate(strokes, 1) if n != number)


def dotted(strokes: Strokes, number: int) -> tuple[Stroke, ...]:
    """The tracing with one of its strokes told as a dot, in the stroke's middle."""
    line = np.array(_at(strokes, number), float)
    middle = (float(line[:, 0].mean()), float(line[:, 1].mean()))
    return tuple((middle,) if n == number else tuple(s) for n, s in enumerate(strokes, 1))


def _at(strokes: Strokes, number: int) -> Stroke:
    if not 1 <= number <= len(strokes):
        raise OptionError(f"There is no stroke {number}", f"{len(strokes)} strokes", "count them from 1")
    return tuple(strokes[number - 1])
