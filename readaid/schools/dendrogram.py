"""Dendrogram: forms or makers joined step by step, with the support of each group.

Conventions: distances (n, n) as in ``matrix``; average linkage (UPGMA) by SciPy; the cophenetic correlation says how
well the tree shows the distances (below 0.8: poorly). Support 0..1 of a group is the share of resamplings in which
exactly the same forms stand together; distances are resampled by what they were measured on (``samples``: one matrix
per resampling) or, without such, by leaving out a third of the other forms (then a group's support says how far it
hangs on its company).
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
from readaid.forms.form import Form
from readaid.forms.line_net import shares
from readaid.schools.matrix import distance

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Group:
    """A group: indices of its ``members``, ``height`` at which it joins, ``support`` 0..1 or None."""

    members: tuple[int, ...]
    height: float
    support: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Dendrogram:
    """Names in drawing order (``order``), groups from the first joined to the whole, cophenetic correlation."""

    names: tuple[str, ...]
    order: tuple[int, ...]
    groups: tuple[Group, ...]
    cophenetic: float
    joins: Floats  # SciPy's linkage matrix

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
    groups = tuple(
        Group(tuple(sorted(m)), float(h), float(s) if known else None)
        for m, h, s in zip(members, joins[:, 2], support, strict=True)
    )
    return Dendrogram(tuple(names), tuple(to_tree(joins).pre_order()), groups, round(coph, 4), joins)


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
