"""How sure each reader should have been: confidence against what was settled later.

Conventions
-----------
* Brier score = mean of (confidence - 1 if right, 0 if wrong) squared (G. W. Brier, 1950, for one event): 0 is best;
  always saying 0.5 gives 0.25.
* ``bias`` = mean confidence - share right: above 0 too sure, below 0 too timid.
* The share right in each step has a Wilson 95 % interval (E. B. Wilson, 1927).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from readaid.core.confidence import WORDS
from readaid.core.errors import RegisterError
from readaid.register.judgements import judgements, settled
from readaid.register.view import View

if TYPE_CHECKING:
    import pandas as pd


#: Steps of the reliability table: the words of the scale.
STEPS = tuple((name, low, high) for (name, high), low in zip(WORDS, (0.0, *(t for _, t in WORDS)), strict=False))


def brier(pairs: Iterable[tuple[float, bool]]) -> float:
    """Brier score of (confidence, right) pairs; nan if there are none.

    >>> brier([(1.0, True), (0.5, False)])
    0.125
    """
    found = [(c - float(right)) ** 2 for c, right in pairs]
    return sum(found) / len(found) if found else float("nan")


def wilson(right: int, of: int) -> tuple[float, float]:
    """Wilson 95 % interval of a share.

    >>> [round(x, 4) for x in wilson(8, 10)]
    [0.4902, 0.9433]
    >>> wilson(0, 0), round(wilson(1, 1)[0], 2)
    ((0.0, 1.0), 0.21)
    """
    if of == 0:
        return 0.0, 1.0
    z, share = 1.959963984540054, right / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of)) / (1 + z * z / of)
    return max(0.0, middle - half), min(1.0, middle + half)


@dataclass(frozen=True, slots=True)
class Step:
    """Judgements whose confidence lies in one step of the scale."""

    word: str
    low: float
    high: float
    count: int
    confidence: float  # mean
    right: float  # share
    right_low: float
    right_high: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """One reader's calibration over the characters that were settled."""

    reader: str
    judged: int
    brier: float
    bias: float
    steps: tuple[Step, ...]

    def frame(self) -> pd.DataFrame:
        """The reliability table as a DataFrame."""
        import pandas as pd

        return pd.DataFrame([{n: getattr(s, n) for n in Step.__slots__} for s in self.steps]).set_index("word")

    @property
    def sentence(self) -> str:
        """What the reader may learn from it."""
        if self.judged < 10:
            return f"{self.reader}: only {self.judged} settled, too few to tell."
        if abs(self.bias) < 0.05:
            return f"{self.reader}: about as sure as right (Brier score {self.brier:.3f}, {self.judged} settled)."
        word = "too sure" if self.bias > 0 else "too timid"
        return (f"{self.reader}: {word} by {abs(self.bias):.0%} on average (Brier score {self.brier:.3f}, "
                f"{self.judged} settled).")

    def svg(self, size: int = 280) -> str:
        """The reliability diagram: mean confidence across, share right upward, with intervals."""
        edge, span = 36, size - 52

        def x(value: float) -> float:
            return round(edge + value * span, 1)

        def y(value: float) -> float:
            return round(8 + (1 - value) * span, 1)

        most = max((s.count for s in self.steps), default=1)
        marks = "".join(
            f"<line x1='{x(s.confidence)}' x2='{x(s.confidence)}' y1='{y(s.right_low)}' y2='{y(s.right_high)}' "
            f"stroke='#555'/><circle cx='{x(s.confidence)}' cy='{y(s.right)}' "
            f"r='{3 + 5 * math.sqrt(s.count / most):.1f}' fill='#1f5f8b'>"
            f"<title>{s.word}: {s.count} judged, {s.right:.0%} right</title></circle>"
            for s in self.steps if s.count)
        ticks = "".join(f"<text x='{x(t)}' y='{y(0) + 14}' text-anchor='middle'>{t:g}</text>"
                        f"<text x='{edge - 5}' y='{y(t) + 3}' text-anchor='end'>{t:g}</text>" for t in (0, 0.5, 1))
        return (f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {size} {size}' width='{size}' height='{size}' "
                f"role='img' font-size='10' font-family='sans-serif'>"
                f"<title>Reliability of {escape(self.reader)}</title>"
                f"<rect x='{x(0)}' y='{y(1)}' width='{span}' height='{span}' fill='none' stroke='#999'/>"
                f"<line x1='{x(0)}' y1='{y(0)}' x2='{x(1)}' y2='{y(1)}' stroke='#999' stroke-dasharray='4 3'/>"
                f"{marks}{ticks}<text x='{x(0.5)}' y='{size - 4}' text-anchor='middle'>confidence</text>"
                f"<text transform='translate(10 {y(0.5)}) rotate(-90)' text-anchor='middle'>share right</text></svg>")

    def _repr_html_(self) -> str:
        return f"<p>{escape(self.sentence)}</p>{self.svg()}{self.frame().to_html()}"


def measure(reader: str, pairs: Iterable[tuple[float, bool]]) -> Calibration:
    """Calibration of (confidence, right) pairs.

    >>> measure("Aki", [(0.9, True), (0.9, False)]).bias
    0.4
    """
    held = list(pairs)
    steps = []
    for word, low, high in STEPS:
        here = [(c, r) for c, r in held if (low < c <= high) or (low == 0.0 and c == 0.0)]
        right = sum(r for _, r in here)
        share = right / len(here) if here else float("nan")
        mean = sum(c for c, _ in here) / len(here) if here else float("nan")
        steps.append(Step(word, low, high, len(here), mean, share, *wilson(right, len(here))))
    bias = sum(c - float(r) for c, r in held) / len(held) if held else float("nan")
    return Calibration(reader, len(held), brier(held), bias, tuple(steps))


def readers(view: View, *, piece: str | None = None) -> list[Calibration]:
    """Calibration of each reader: their last judgement of each character before it was settled.

    Raises
    ------
    RegisterError: if nothing is settled yet.
    """
    truth = settled(view, piece=piece)
    if not truth:
        raise RegisterError("Nothing is settled yet", view.where, "set an attempt to 'settled', or fix a character")
    last: dict[tuple[str, str], tuple[float, bool]] = {}
    for judged in judgements(view, piece=piece, last_only=False):
        sign, when = truth.get(judged.character, ("", ""))
        if sign and judged.sign and judged.made <= when:
            last[judged.reader, judged.character] = (judged.confidence, judged.sign == sign)
    by_reader: dict[str, list[tuple[float, bool]]] = {}
    for (reader, _), pair in last.items():
        by_reader.setdefault(reader, []).append(pair)
    return [measure(reader, pairs) for reader, pairs in sorted(by_reader.items())]
