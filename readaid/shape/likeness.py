"""Likeness: how much two forms have in common once one is laid on the other.

Conventions: every part is 0..1, 1 = the same. *Outline*: agreement of where lines run and how they are directed.
*Structure*: agreement of the counts (strokes, ends, crossings, closed spaces). *Dots*: agreement of their number.
The likeness as a whole is a number for ranking forms of one kind among themselves; it is no probability, and never
evidence of who made them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from readaid.core.specimen import FormCounts
from readaid.shape.align import Limits, first_guess, refine
from readaid.shape.descriptor import vectors
from readaid.shape.form import Form
from readaid.shape.strokes import some

Matrix = npt.NDArray[np.float64]
#: What each part weighs in the whole.
WEIGHTS = {"outline": 0.9, "structure": 0.07, "dots": 0.03}


def lay(a: Form, b: Form, limits: Limits) -> tuple[Matrix, float]:
    """The change that lays b on a (2 x 3, normal units), and the agreement of their lines 0..1."""
    start, _ = first_guess(a.prepared, b.prepared)
    best, most = start, agreement(a, b, start)
    finer = refine(some(a.middles, 150), some(b.middles, 150), start, limits=limits)
    if (found := agreement(a, b, finer)) > most:
        best, most = finer, found
    return best, most


def agreement(a: Form, b: Form, matrix: Matrix) -> float:
    """Agreement of directed lines 0..1 with b changed by ``matrix``."""
    return float(a.prepared[0] @ vectors(some(b.edges, 250), matrix[None])[0])


def scaled(raw: float) -> float:
    """Agreement of lines as a likeness 0..1: unrelated signs agree to about 0.45, two printings to 0.9."""
    return float(1 / (1 + np.exp(-11 * (raw - 0.72))))


def structure(a: FormCounts, b: FormCounts) -> float:
    """Agreement of the counts 0..1.

    >>> structure(FormCounts(1.0, 3, 4, 1, 0, 0), FormCounts(1.0, 3, 4, 1, 0, 0))
    1.0
    """
    pairs = ((a.strokes, b.strokes), (a.ends, b.ends), (a.crossings, b.crossings), (a.closed_spaces, b.closed_spaces))
    far = sum(abs(x - y) / (max(x, y) + 1) for x, y in pairs) / len(pairs)
    return round(1 - far, 4)


def dots(a: FormCounts, b: FormCounts) -> float:
    """Agreement of the number of dots 0..1."""
    return 1 - abs(a.dots - b.dots) / max(a.dots, b.dots, 1)
