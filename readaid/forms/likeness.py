"""Likeness: how much two forms have in common once one is laid on the other.

Conventions: every part is 0..1, 1 = the same. *Outline*: agreement of where lines run and how they are directed.
*Structure*: agreement of the counts (strokes, ends, crossings, closed spaces). *Dots*: agreement of their number.
Forms of few lines are compared line by line, dense figures and grainy photos as sheets of edges (``Form.density``).
The likeness as a whole ranks forms of one kind among themselves; it is no probability, and never evidence of who
made them.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from readaid.core.specimen import FormCounts
from readaid.forms import line_net, plate, surroundings
from readaid.forms.descriptor import vectors
from readaid.forms.form import Form
from readaid.forms.stroke_points import some
from readaid.forms.transform import GUESSES, LIMITS, Limits, first_guess, refine

Matrix = npt.NDArray[np.float64]
#: What structure and dots add to the outline, in units of log odds.
STRUCTURE, DOTS = 0.5, 0.2


def outline(a: Form, b: Form) -> float:
    """Agreement of two forms as log odds: 0 is the border between one sign and two, unrelated signs -3, one sign 3."""
    dense = (a.density + b.density) / 2
    total = 0.0
    # dense figures are not followed line by line: their thinned lines fork by chance
    if dense < 0.98:
        total += (1 - dense) * _lines(a, b)
    if dense > 0.02:
        # As cropped and cut close to the ink: a careless margin moves the first, a stray speck the second.
        far = min(plate.distance(p, q) for p, q in zip(a.plates, b.plates, strict=True))
        total += dense * 2.2 * (2.2 - far)
    return total


def _lines(a: Form, b: Form) -> float:
    """Agreement of lines as log odds: what the net sees, and the surroundings of points after a coarse alignment."""
    forth, back = b.prepared @ a.prepared[0], a.prepared @ b.prepared[0]
    i, j = int(forth.argmax()), int(back.argmax())
    if forth[i] >= back[j]:
        laid = surroundings.surroundings(b.edges, some(b.middles, 120), GUESSES[i])
        far = surroundings.distance(a.surroundings, laid)
    else:
        laid = surroundings.surroundings(a.edges, some(a.middles, 120), GUESSES[j])
        far = surroundings.distance(laid, b.surroundings)
    seen = line_net.likeness(a.seen, b.seen)
    return 12 * (seen - 4 * far + 0.2 * float(forth[i] + back[j]) - 0.93)


def whole(log_odds: float, structure: float, dots: float) -> float:
    """The likeness 0..1 from its parts."""
    return share(log_odds + STRUCTURE * (structure - 0.8) + DOTS * (dots - 0.8))


def share(log_odds: float) -> float:
    """Log odds as a number 0..1."""
    return float(1 / (1 + np.exp(-log_odds)))


def likeness(a: Form, b: Form) -> float:
    """The likeness of two forms 0..1, without a picture (a few milliseconds once both forms are prepared)."""
    return whole(outline(a, b), structure(a.counts, b.counts), dots(a.counts, b.counts))


def lay(a: Form, b: Form, limits: Limits = LIMITS) -> tuple[Matrix, float]:
    """The change that lays b on a (2 x 3, normal units), and the agreement of their lines 0..1."""
    start, _ = first_guess(a.prepared, b.prepared)
    best, most = start, agreement(a, b, start)
    # for the overlay only: closest points before scoring made 18 % of drawn signs wrong instead of 16.5,
    # since freedom to move helps the wrong pairs more
    finer = refine(some(a.middles, 150), some(b.middles, 150), start, limits=limits)
    # Closest points may run into a neighbouring line; the coarse answer stays where the fine one is no better.
    if (found := agreement(a, b, finer)) > most:
        best, most = finer, found
    return best, most


def agreement(a: Form, b: Form, matrix: Matrix) -> float:
    """Agreement of directed lines 0..1 with b changed by ``matrix``."""
    return float(a.prepared[0] @ vectors(some(b.edges, 250), matrix[None])[0])


def structure(a: FormCounts, b: FormCounts) -> float:
    """Agreement of the counts 0..1.

    >>> structure(FormCounts(1.0, 3, 4, 1, 0, 0), FormCounts(1.0, 3, 4, 1, 0, 0))
    1.0
    """
    pairs = ((a.strokes, b.strokes), (a.ends, b.ends), (a.crossings, b.crossings), (a.closed_spaces, b.closed_spaces))
    # against the larger count: 1 and 2 crossings differ more than 11 and 12
    far = sum(abs(x - y) / (max(x, y) + 1) for x, y in pairs) / len(pairs)
    return round(1 - far, 4)


def dots(a: FormCounts, b: FormCounts) -> float:
    """Agreement of the number of dots 0..1."""
    return 1 - abs(a.dots - b.dots) / max(a.dots, b.dots, 1)
