"""Odds that were measured: how much oftener a likeness falls to the right maker than to another, in one population.

Conventions
-----------
* A score is a maker's log odds of likeness as in ``nearest``; a likelihood ratio is told as log10: 1 is ten to one.
* *Same*: each form against its own maker, itself left out. *Other*: each form against every other maker.
* The line from score to log ratio is a logistic regression in which both kinds weigh the same (calibration by logistic
  regression: Brümmer and du Preez, Computer Speech and Language 20, 2006). How far it can be trusted is measured on
  makers it was not fitted on: one maker after another is left out, as asked and as answer.
* No ratio goes beyond the number of forms asked: 24 forms cannot tell a thousand to one.
* Such odds are of the *form* in this population; they are no odds of authorship, and of no other school.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError

Floats = npt.NDArray[np.float64]
#: From so many makers with so many forms each on odds are told at all; below, rank and number are.
MAKERS, FORMS = 8, 3
#: Bins of the calibration curve hold at least this many of each kind, or are joined to the next: with fewer the
#: observed ratio of a bin is chance (five of five and one of two hundred both happen).
LEAST = 8
#: Weight that holds the slope near its start where the two kinds do not overlap at all; its ratio would be endless.
HOLD = 0.02


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One bin of a calibration curve: mean log10 ratio as ``stated`` and as ``observed``, and how many lie in it."""

    stated: float
    observed: float
    same: int
    other: int


@dataclass(frozen=True, slots=True)
class Odds:
    """The measured line from score to likelihood ratio, with the population it was measured in.

    ``slope`` and ``intercept`` give the natural log of the ratio; ``most`` bounds its log10 both ways. ``error`` is the
    mean difference of stated and observed log10 along the ``curve``, bins weighed by what lies in them (None where the
    two kinds overlap too little to draw one); ``cost`` is
    the log-likelihood-ratio cost (0: perfect, 1: no better than a coin), both on makers left out.
    """

    slope: float
    intercept: float
    most: float
    makers: int
    forms: int
    same: int
    other: int
    curve: tuple[CurvePoint, ...]
    error: float | None
    cost: float

    def log10(self, score: float) -> float:
        """The log10 likelihood ratio of a score, within what the population can bear."""
        return float(np.clip((self.slope * score + self.intercept) / np.log(10), -self.most, self.most))

    @property
    def text(self) -> str:
        """The odds in words, with population and calibration."""
        told = (f"measured on {self.forms} forms of {self.makers} makers ({self.same} comparisons with the own maker, "
                f"{self.other} with others), each maker judged by the rest")
        if self.error is None:
            return f"The odds were {told}; the two kinds overlap too little to draw a calibration curve."
        return (f"The odds were {told}: what was stated and what was seen differ by {self.error:.2f} on the scale of "
                f"log10 (a factor of {10 ** self.error:.1f}).")


def fit(same: Floats, other: Floats) -> tuple[float, float]:
    """Slope and intercept of the natural log ratio, both kinds weighing the same; raises ShapeError if one is empty.

    >>> slope, intercept = fit(np.array([1.0, 2.0, 3.0, 0.5]), np.array([-1.0, -2.0, 0.8, -3.0]))
    >>> slope > 0, round(-intercept / slope, 1)
    (True, 0.4)
    """
    if not len(same) or not len(other):
        raise ShapeError("Odds need forms compared with their own maker and with others", "",
                         "add forms of makers that are there already")
    x = np.concatenate([same, other])
    y = np.concatenate([np.ones(len(same)), np.zeros(len(other))])
    weight = np.where(y == 1, 0.5 / len(same), 0.5 / len(other))
    middle, spread = float(x.mean()), max(float(x.std()), 1e-6)
    u = np.stack([(x - middle) / spread, np.ones(len(x))], 1)
    hold = np.diag([HOLD, 0.0]) / max(len(same), 1)
    b = np.array([1.0, 0.0])
    for _ in range(100):
        p = 1 / (1 + np.exp(-u @ b))
        slope = u.T @ (weight * (y - p)) - hold @ b
        step = np.linalg.solve((u * (weight * p * (1 - p))[:, None]).T @ u + hold + 1e-9 * np.eye(2), slope)
        b = b + np.clip(step, -3, 3)
        if np.abs(step).max() < 1e-9:
            break
    return float(b[0] / spread), float(b[1] - b[0] * middle / spread)


def curve(same: Floats, other: Floats, bins: int = 8) -> tuple[tuple[CurvePoint, ...], float | None]:
    """Calibration curve of log10 ratios that were stated for ``same`` and ``other``, and its mean error.

    Bins hold equal shares of both kinds weighed alike; the error is None where fewer than two bins can be filled.
    """
    x = np.concatenate([same, other])
    kind = np.concatenate([np.ones(len(same), bool), np.zeros(len(other), bool)])
    weight = np.where(kind, 0.5 / len(same), 0.5 / len(other))
    order = np.argsort(x, kind="stable")
    x, kind, weight = x[order], kind[order], weight[order]
    edges = np.searchsorted(np.cumsum(weight), np.linspace(0, 1, bins + 1)[1:-1])
    parts: list[list[int]] = []
    for part in np.split(np.arange(len(x)), edges):
        full = parts and min(int(kind[parts[-1]].sum()), int((~kind[parts[-1]]).sum())) >= LEAST
        if parts and not full:
            parts[-1] += part.tolist()
        else:
            parts.append(part.tolist())
    if len(parts) > 1 and min(int(kind[parts[-1]].sum()), int((~kind[parts[-1]]).sum())) < LEAST:
        last = parts.pop()
        parts[-1] += last
    points, errors, mass = [], [], []
    for at in parts:
        yes, no = int(kind[at].sum()), int((~kind[at]).sum())
        if not yes or not no:
            continue
        # what a bin states: the ratio of its mean probabilities, since ratios themselves do not average
        p = float((weight[at] / (1 + 10.0 ** -x[at])).sum() / weight[at].sum())
        stated = float(np.log10(p / (1 - p)))
        observed = float(np.log10((yes / len(same)) / (no / len(other))))
        points.append(CurvePoint(round(stated, 4), round(observed, 4), yes, no))
        errors.append(abs(stated - observed))
        mass.append(float(weight[at].sum()))
    return tuple(points), float(np.average(errors, weights=mass)) if len(points) > 1 else None


def cost(same: Floats, other: Floats) -> float:
    """Log-likelihood-ratio cost of log10 ratios (Brümmer and du Preez 2006): 0 perfect, 1 a coin.

    >>> round(cost(np.zeros(4), np.zeros(9)), 6)
    1.0
    """
    def bits(log10: Floats) -> float:
        return float(np.mean(np.log2(1 + 10.0 ** log10)))

    return (bits(-same) + bits(other)) / 2


def measured(scores: Floats, owner: Sequence[int], makers: Sequence[int]) -> Odds:
    """Odds from the scores (n forms, m makers) of each form with each maker, itself left out; NaN where none is left.

    ``owner`` is the column of each form's maker; ``makers`` the columns that have enough forms to count.
    Raises ShapeError below ``MAKERS`` makers.
    """
    if len(makers) < MAKERS:
        raise ShapeError("There are too few makers with several forms to measure odds", f"{len(makers)} makers with "
                         f"{FORMS} forms or more", f"odds are told from {MAKERS} such makers on")
    who = np.asarray(owner)
    chosen = np.nonzero(np.isin(who, makers))[0]
    mine = {int(i): float(scores[i, who[i]]) for i in chosen if np.isfinite(scores[i, who[i]])}
    pairs = [(int(i), int(k)) for i in chosen for k in makers if k != who[i] and np.isfinite(scores[i, k])]
    same, other = np.array(list(mine.values())), np.array([scores[p] for p in pairs])
    slope, intercept = fit(same, other)
    most = float(np.log10(max(len(mine), 2)))
    told_same: list[float] = []
    told_other: list[float] = []
    for m in makers:
        rest = fit(np.array([v for i, v in mine.items() if who[i] != m]),
                   np.array([scores[i, k] for i, k in pairs if m not in (who[i], k)]))

        def tell(score: float, line: tuple[float, float] = rest) -> float:
            return float(np.clip((line[0] * score + line[1]) / np.log(10), -most, most))

        told_same += [tell(v) for i, v in mine.items() if who[i] == m]
        told_other += [tell(float(scores[i, k])) for i, k in pairs if who[i] == m]
    points, error = curve(np.array(told_same), np.array(told_other))
    return Odds(slope, intercept, most, len(makers), len(mine), len(same), len(other), points, error,
                cost(np.array(told_same), np.array(told_other)))
