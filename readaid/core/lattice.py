"""The one lattice: positions, arcs, gaps and constraints. Built in ``lexicon``, used by all.

Conventions
-----------
* Nodes are the boundaries between signs: node 0 before the first, node n
  after the n-th; arcs run forward (end > start), so there are no loops.
* ``cost`` is in the dictionary's units: cost = -700 ln p (``COST_FACTOR``).
* A reader's confidence c becomes p = (1 - NONE) * max(c, LEAST); it is not
  renormalised when a candidate is added, so adding one never makes the best
  path dearer. NONE is the mass kept for "none of these".
* ``written`` is what stands there, ``kana`` the carver's spelling with voicing
  restored (one kana per kana written), ``text`` what the dictionary is asked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from readaid.core.errors import LatticeError

COST_FACTOR = 700.0
#: Share kept at each position for "none of these".
NONE = 0.02
#: Least probability of a candidate the reader named (confidence 0 is still named).
LEAST = 1e-4


def cost(probability: float) -> float:
    """Cost of a probability 0..1 in the dictionary's units.

    >>> round(cost(0.5))
    485
    """
    if not 0.0 < probability <= 1.0:
        raise LatticeError(f"A probability of {probability!r} has no cost",
                           cure="give a number above 0 and up to 1")
    return -COST_FACTOR * math.log(probability)


def candidate_cost(confidence: float) -> float:
    """Cost of a candidate with a reader's confidence 0..1.

    >>> candidate_cost(1.0) < candidate_cost(0.5)
    True
    """
    return cost((1.0 - NONE) * max(confidence, LEAST))


@dataclass(frozen=True, slots=True)
class Reason:
    """One departure of a reading from what stands there, or one thing that raised or lowered its cost.

    ``kind`` is a short English key of our own ("voicing", "old spelling",
    "free exchange", "repetition", "kanji as kana", "hentaigana", "old kanji",
    "left out", "restored", "line too long", ...); ``at`` the position (0-based), -1 for
    the whole; ``cost`` in dictionary units.
    """

    kind: str
    written: str = ""
    read: str = ""
    at: int = -1
    cost: float = 0.0
    note: str = ""

    def __str__(self) -> str:
        if self.written or self.read:
            return f"{self.written} read {self.read} ({self.kind})"
        return self.note or self.kind


@dataclass(frozen=True, slots=True)
class Arc:
    """One way to pass from node ``start`` to node ``end``."""

    start: int
    end: int
    text: str
    cost: float
    written: str = ""
    kana: str = ""
    reasons: tuple[Reason, ...] = ()
    source: str = "reader"  # "reader", "shape", "typed", "rule", "filler"
    #: where in a word it may stand: "any", "start", "inside" (not first), "end", "alone", "not alone"
    place: str = "any"


@dataclass(frozen=True, slots=True)
class Gap:
    """Signs lost or unread between two nodes: ``least`` to ``most`` of them, of a class of kana or any."""

    start: int
    end: int
    least: int = 1
    most: int = 1
    among: str = "kana"  # "kana", "any", or the hiragana that are possible


@dataclass(frozen=True, slots=True)
class Fixed:
    """The reader says: from ``start`` to ``end`` it certainly reads ``text``."""

    start: int
    end: int
    text: str


@dataclass(frozen=True, slots=True)
class WordEnd:
    """The reader says: a word ends at this node."""

    node: int


@dataclass(frozen=True, slots=True)
class Name:
    """The reader says: from ``start`` to ``end`` stands a name (of a place, a person)."""

    start: int
    end: int
    of: str = "place"


Constraint = Fixed | WordEnd | Name


@dataclass(frozen=True, slots=True)
class Lattice:
    """Everything the search may choose from.

    ``positions`` holds one entry per sign: the id of its character record or
    "" for typed text; ``column_ends`` the nodes where a column ends.
    """

    positions: tuple[str, ...]
    arcs: tuple[Arc, ...]
    gaps: tuple[Gap, ...] = ()
    constraints: tuple[Constraint, ...] = ()
    column_ends: tuple[int, ...] = ()
    labels: tuple[str, ...] = field(default=())  # what stands at each position as best read, for messages
    cut: bool = False  # candidates or ways to read them were left out for their number

    @property
    def last(self) -> int:
        """The last node."""
        return len(self.positions)

    def __post_init__(self) -> None:
        n = len(self.positions)
        spans = [(a.start, a.end) for a in self.arcs] + [(g.start, g.end) for g in self.gaps]
        for start, end in spans:
            if not 0 <= start < end <= n:
                raise LatticeError(f"An arc from {start} to {end} leaves the lattice of {n} signs",
                                   cure="arcs run forward between two signs")
