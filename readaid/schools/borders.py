"""Borders of "none of these", by the number of forms a maker has, each with its rates of error.

Conventions
-----------
* Scores are log odds as in ``nearest``. *Refused* is the share of true makers that fall below a border (false
  refusal), *accepted* the share of strangers that stand above it (false acceptance), each with how many were tried.
* ``kin`` keeps out makers of the same school who are not among the forms; ``outside`` keeps out those of no kin. Where
  several forms of a maker are there the first does its work. With one form a maker it would turn away half of the true
  ones: then the second decides whether the form belongs here at all, and the first only whether one name may be told.
* Borders are measured on the forms themselves where enough makers have forms to spare, each form in turn being a
  stranger with its own maker left out; else they are general ones, of schools that were simulated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
#: Share of strangers that a border should keep out.
KEPT_OUT = 0.93
#: A border that refuses more of the true ones than this names nobody; it is told as doubt between kin, not as refusal.
BEARABLE = 1 / 3
#: So many makers with a form to spare are needed to measure a border at all.
LEAST_MAKERS = 3


@dataclass(frozen=True, slots=True)
class Rate:
    """A share told with its number: ``count`` of ``of``."""

    count: int
    of: int

    @property
    def share(self) -> float:
        """The share 0..1; 0 of nothing is 0."""
        return self.count / self.of if self.of else 0.0

    def __str__(self) -> str:
        return f"{self.count} of {self.of}"


@dataclass(frozen=True, slots=True)
class Border:
    """Borders for makers with ``forms`` forms (3 stands for three and more), with their rates of error.

    ``refused`` and ``accepted`` belong to ``kin``; ``refused_outside`` and ``accepted_outside`` to ``outside``.
    ``measured``: on these forms; else on simulated schools.
    """

    forms: int
    kin: float
    outside: float
    refused: Rate
    accepted: Rate
    refused_outside: Rate
    accepted_outside: Rate
    measured: bool

    @property
    def divides_kin(self) -> bool:
        """Whether ``kin`` leaves enough of the true ones to be a border of refusal."""
        return self.refused.share <= BEARABLE


#: Six simulated schools (seeds 300 to 305): 12 makers drawn of 20, three times each; true forms where the right maker
#: comes first, the eight makers left out as kin, 12 strangers of other schools. ``tests.bench.schools`` measures the
#: same on other seeds.
GENERAL = {
    1: Border(1, 1.63, -1.0, Rate(270, 515), Rate(11, 144), Rate(5, 515), Rate(11, 216), False),
    2: Border(2, 1.76, -1.0, Rate(251, 365), Rate(11, 144), Rate(0, 365), Rate(9, 216), False),
    3: Border(3, 1.66, -1.0, Rate(88, 200), Rate(11, 144), Rate(0, 200), Rate(8, 216), False),
}


def score(mine: Sequence[float] | Floats) -> float:
    """A maker's score from the log odds with each of the maker's forms: the mean of the two best.

    The mean of all would punish a maker whose hand changed over a life.

    >>> score([3.0, 1.0, -2.0])
    2.0
    """
    return float(np.mean(sorted(mine)[-2:]))


def border_of(odds: Floats, owner: npt.NDArray[np.int_], forms: int, rounds: int = 5, seed: int = 0) -> Border:
    """The border for makers with ``forms`` forms, measured on log odds (n, n); general where they cannot tell it.

    Each round draws ``forms`` forms of every maker that has them; every form in turn is asked, once as a stranger (its
    maker left out), and once, if its maker has forms to spare, as a true one,
    and then only where its maker comes first.
    """
    rng = np.random.default_rng(seed)
    counts = np.bincount(owner)
    if (counts > forms).sum() < LEAST_MAKERS or (counts >= forms).sum() < LEAST_MAKERS + 1:
        return GENERAL[forms]
    true: list[float] = []
    strange: list[float] = []
    who: list[int] = []
    for _ in range(rounds if forms < 3 else 1):
        for i in range(len(owner)):
            best, own = -np.inf, None
            for k in np.nonzero(counts >= forms)[0]:
                there = np.nonzero((owner == k) & (np.arange(len(owner)) != i))[0]
                if len(there) < forms:
                    continue
                if forms < 3:
                    there = rng.choice(there, forms, replace=False)
                value = score(odds[i, there])
                if k == owner[i]:
                    own = value
                else:
                    best = max(best, value)
            if np.isfinite(best):
                strange.append(best)
                who.append(int(owner[i]))
                if own is not None and own > best:
                    true.append(own)
    general = GENERAL[forms]
    if not true:
        return general
    kin = float(np.quantile(strange, KEPT_OUT))
    through = _through(np.array(strange), np.array(who))
    outside = min(general.outside, kin)
    return Border(forms, kin, outside, Rate(int(np.sum(np.array(true) < kin)), len(true)), Rate(through, len(strange)),
                  Rate(int(np.sum(np.array(true) < outside)), len(true)), general.accepted_outside, True)


def _through(strange: Floats, who: npt.NDArray[np.int_]) -> int:
    """Strangers above the border, each judged by one that was set without the forms of its own maker."""
    return sum(int(np.sum(strange[who == m] >= np.quantile(strange[who != m], KEPT_OUT)))
               for m in np.unique(who) if (who != m).any())
