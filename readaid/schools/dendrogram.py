"""Dendrogram: forms or makers joined step by step, with the support of each group.

Conventions: distances (n, n) as in ``matrix``; average linkage (UPGMA) by SciPy; the cophenetic correlation says how
well the tree shows the distances (below 0.8: poorly). Support 0..1 of a group is the share of resamplings in which
exactly the same forms stand together; distances are resampled by what they were measured on (``samples``: one matrix
per resampling) or, without such, by leaving out a third of the other forms (then a group's support says how far it
hangs on its company). ``chance`` is the support that a group of the same size reaches by chance: the distances are
dealt anew among the pairs, with what resampling does to each, and in one of twenty such trees a group of that size has
this support or more. Among seven forms the two nearest reach 100 % by chance; a group of three does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
import numpy.typing as npt
from scipy.cluster.hierarchy import cophenet, linkage, to_tree
from scipy.spatial.distance import squareform

from readaid.core.errors import ShapeError
from readaid.core.texts import wording
from readaid.forms.form import Form
from readaid.forms.line_net import shares
from readaid.schools.matrix import distance

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Group:
    """A group: indices of its ``members``, ``height`` at which it joins, ``support`` 0..1 or None, and the support that
    ``chance`` gives a group of its size, None if it was not asked."""

    members: tuple[int, ...]
    height: float
    support: float | None
    chance: float | None = None

    @property
    def firm(self) -> bool:
        """Whether the group has more support than chance gives, and stands in at least half of the resamplings."""
        return self.support is not None and self.chance is not None and self.support > max(self.chance, 0.5)


@dataclass(frozen=True, slots=True, eq=False)
class Dendrogram:
    """Names in drawing order (``order``), groups from the first joined to the whole, cophenetic correlation."""

    names: tuple[str, ...]
    order: tuple[int, ...]
    groups: tuple[Group, ...]
    cophenetic: float
    joins: Floats  # SciPy's linkage matrix
    rounds: int = 0

    @property
    def text(self) -> str:
        """The groups that have more support than chance gives, in words."""
        n = len(self.names)
        firm = [g for g in self.groups if g.firm and len(g.members) < n]
        shown = f"The tree shows the distances with a cophenetic correlation of {self.cophenetic:.2f}."
        if not firm:
            return (f"{shown} No group of forms stands in half of the resamplings and oftener than chance gives one of "
                    "its size.")
        told = "; ".join(wording("{0} ({1} %, by chance {2} %)", ", ".join(self.names[i] for i in g.members),
                                 round((g.support or 0) * 100), round((g.chance or 0) * 100)) for g in firm)
        return f"{shown} Groups that stand in half of the resamplings and oftener than by chance: {told}."

    def svg(self, width: int = 640, row: int = 24) -> str:
        """The tree as SVG: names left, joins to the right, support beside each join."""
        left, right = 10 + 8 * max(len(n) for n in self.names), 46
        top = max(g.height for g in self.groups) or 1.0
        n = len(self.names)
        y = {i: 16 + row * self.order.index(i) for i in range(n)}
        x = dict.fromkeys(range(n), float(left))
        parts = [
            f'<text x="{left - 6}" y="{y[i] + 4:.0f}" text-anchor="end">{escape(self.names[i])}</text>'
            for i in range(n)
        ]
        ys: dict[int, float] = {i: float(v) for i, v in y.items()}
        for k, (a, b) in enumerate(self.joins[:, :2].astype(int)):
            group = self.groups[k]
            at = left + (width - left - right) * group.height / top
            parts.append(
                f'<path d="M{x[a]:.1f} {ys[a]:.1f}H{at:.1f}V{ys[b]:.1f}H{x[b]:.1f}" fill="none" stroke="currentColor"/>'
            )
            ys[n + k], x[n + k] = (ys[a] + ys[b]) / 2, at
            if group.support is not None and len(group.members) < n:
                parts.append(
                    f'<text x="{at + 3:.1f}" y="{ys[n + k] - 3:.1f}" font-size="10">{round(group.support * 100)}</text>'
                )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {16 + row * n}" role="img" font-size="12" '
            f'font-family="sans-serif"><title>Forms joined by likeness</title>{"".join(parts)}</svg>'
        )

    def _repr_html_(self) -> str:
        return self.svg()


def dendrogram(
    distances: Floats, names: Sequence[str], samples: Sequence[Floats] | None = None, rounds: int = 100, seed: int = 0
) -> Dendrogram:
    """Join forms or makers; ``samples`` are resampled distances of the same order (see ``resampled``).

    Raises ShapeError for fewer than two names or a matrix of another size.

    >>> d = np.array([[0, 1, 5], [1, 0, 5], [5, 5, 0]], float)
    >>> dendrogram(d, ["a", "b", "c"]).groups[0].members
    (0, 1)
    """
    n = len(names)
    if n < 2:
        raise ShapeError("One form alone makes no tree", "", "add at least one more form")
    if distances.shape != (n, n):
        raise ShapeError(
            "Names and distances do not belong together", f"{n} names, {distances.shape}", "give one name per row"
        )
    flat = squareform(distances, checks=False)
    joins = linkage(flat, "average")
    coph = float(cophenet(joins, flat)[0]) if n > 2 and flat.std() > 0 else 1.0
    members = _members(joins, n)
    seen = np.zeros(len(members))
    if samples is not None:
        for sample in samples:
            found = set(_members(linkage(squareform(sample, checks=False), "average"), n))
            seen += [m in found for m in members]
        support = seen / max(len(samples), 1)
    else:
        support = _company(distances, members, rounds, seed)
    known = n > 3 and (samples is None or len(samples) > 0)
    chance = _chance(distances, samples, seed) if known and samples is not None else {}
    groups = tuple(
        Group(tuple(sorted(m)), float(h), float(s) if known else None, chance.get(len(m)))
        for m, h, s in zip(members, joins[:, 2], support, strict=True)
    )
    return Dendrogram(tuple(names), tuple(to_tree(joins).pre_order()), groups, round(coph, 4), joins,
                      len(samples) if samples is not None else rounds)


def _chance(distances: Floats, samples: Sequence[Floats], seed: int, trees: int = 40, rounds: int = 40
            ) -> dict[int, float]:
    """Support that a group of each size reaches by chance in one of twenty trees (1 where none of that size came)."""
    n = len(distances)
    rng = np.random.default_rng(seed)
    upper = np.triu_indices(n, 1)
    flat = distances[upper]
    drawn = np.stack([s[upper] for s in samples[:rounds]])
    best: dict[int, list[float]] = {size: [] for size in range(2, n)}
    for _ in range(trees):
        deal = rng.permutation(len(flat))
        members = _members(linkage(flat[deal], "average"), n)[:-1]
        seen = np.zeros(len(members))
        for sample in drawn:
            found = set(_members(linkage(sample[deal], "average"), n))
            seen += [m in found for m in members]
        top: dict[int, float] = {}
        for m, count in zip(members, seen / len(drawn), strict=True):
            top[len(m)] = max(top.get(len(m), 0.0), float(count))
        for size, values in best.items():
            values.append(top.get(size, 0.0))
    return {size: round(float(np.quantile(values, 0.95)), 4) for size, values in best.items()}


def _members(joins: Floats, n: int) -> list[frozenset[int]]:
    sets = [frozenset([i]) for i in range(n)]
    for a, b in joins[:, :2].astype(int):
        sets.append(sets[a] | sets[b])
    return sets[n:]


def _company(distances: Floats, members: list[frozenset[int]], rounds: int, seed: int) -> Floats:
    n = len(distances)
    rng = np.random.default_rng(seed)
    seen, asked = np.zeros(len(members)), np.zeros(len(members))
    for _ in range(rounds if n > 3 else 0):
        # leaving out a third: with names drawn twice two copies of one form always join, and every support is high
        keep = np.sort(rng.choice(n, max(3, n - n // 3), replace=False))
        inside = set(keep.tolist())
        found = {
            frozenset(keep[sorted(m)].tolist())
            for m in _members(linkage(squareform(distances[np.ix_(keep, keep)], checks=False), "average"), len(keep))
        }
        for i, group in enumerate(members):
            left = frozenset(group & inside)
            if len(left) > 1:
                asked[i] += 1
                seen[i] += left in found
    return np.asarray(seen / np.maximum(asked, 1))


def resampled(likenesses: Floats, forms: Sequence[Form], rounds: int = 100, seed: int = 0) -> list[Floats]:
    """Distances with the places of the forms drawn anew (bootstrap), ``rounds`` matrices (n, n).

    The part of the likeness that the net sees place by place is drawn anew from its places; the rest stays.
    """
    rng = np.random.default_rng(seed)
    n = len(forms)
    upper = np.triu_indices(n, 1)
    each = np.stack([shares(forms[int(i)].seen, forms[int(j)].seen) for i, j in zip(*upper, strict=True)])
    odds = np.log(np.clip(likenesses[upper], 1e-6, 1 - 1e-6))
    odds = odds - np.log1p(-np.exp(odds))
    out = []
    for _ in range(rounds):
        drawn = rng.multinomial(each.shape[1], np.full(each.shape[1], 1 / each.shape[1])).astype(np.float32)
        change = 12 * (each @ drawn - each.sum(1))
        square = np.eye(n)
        square[upper] = 1 / (1 + np.exp(-(odds + change)))
        out.append(distance(np.triu(square) + np.triu(square, 1).T))
    return out
