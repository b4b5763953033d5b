"""Mantel tests: whether two matrices of distances go together, and whether they still do with a third held fast.

Conventions: matrices are (n, n), symmetrical, zero on the diagonal. The statistic is the correlation of the entries
above the diagonal (Mantel, Cancer Research 27, 1967; partial: Smouse, Long and Sokal, Systematic Zoology 35, 1986).
Rows and columns of the first matrix are shuffled together; p = (as large or larger + 1) / (shuffles + 1), one-sided
"greater" unless told otherwise. A partial test is known to give too many false alarms where both matrices are
ordered in time or place (Guillot and Rousset, Methods in Ecology and Evolution 4, 2013): read it with care.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError, unknown_option

Floats = npt.NDArray[np.float64]
SIDES = ("greater", "two-sided")


@dataclass(frozen=True, slots=True)
class Mantel:
    """Correlation ``r`` -1..1, ``p`` 0..1, number of objects, of shuffles, and whether every shuffle was tried."""

    r: float
    p: float
    n: int
    shuffles: int
    complete: bool
    partial: bool = False


def _above(matrix: Floats) -> Floats:
    return np.asarray(matrix[np.triu_indices(len(matrix), 1)])


def _standard(values: Floats) -> Floats | None:
    spread = float(values.std())
    return None if spread < 1e-12 else (values - values.mean()) / spread


def _checked(*matrices: Floats) -> list[Floats]:
    out = [np.asarray(m, float) for m in matrices]
    n = len(out[0])
    if any(m.shape != (n, n) for m in out):
        raise ShapeError(
            "The matrices are not of one size", str([m.shape for m in out]), "give one row per maker in each"
        )
    if any(not np.allclose(m, m.T) for m in out):
        raise ShapeError("A matrix of distances is not symmetrical", "", "give distances in both directions alike")
    if n < 3:
        raise ShapeError(
            "A test needs at least three makers", f"{n} given", "add makers, or describe the likeness in words"
        )
    return out


def mantel(
    x: Floats, y: Floats, z: Floats | None = None, shuffles: int = 999, seed: int = 0, side: str = "greater"
) -> Mantel:
    """Test whether distances ``x`` and ``y`` go together; with ``z``, whether they do once z is held fast.

    Up to six objects every shuffle is tried once; then p is exact. Raises ShapeError for matrices that do not fit,
    are not symmetrical, or are smaller than 3.

    >>> far = np.abs(np.subtract.outer([0, 1, 4, 9], [0, 1, 4, 9])).astype(float)
    >>> mantel(far, far).r
    1.0
    """
    if side not in SIDES:
        raise unknown_option("side", side, SIDES)
    matrices = _checked(x, y) if z is None else _checked(x, y, z)
    n = len(matrices[0])
    fixed = _standard(_above(matrices[1]))
    held = _standard(_above(matrices[2])) if z is not None else None
    first = _standard(_above(matrices[0]))
    partial = z is not None
    if first is None or fixed is None:
        return Mantel(0.0, 1.0, n, 0, False, partial)

    def correlation(values: Floats) -> float:
        plain = float(values @ fixed) / len(values)
        if held is None:
            return plain
        xz, yz = float(values @ held) / len(values), float(fixed @ held) / len(values)
        below = math.sqrt(max((1 - xz**2) * (1 - yz**2), 1e-12))
        return (plain - xz * yz) / below

    complete = math.factorial(n) <= 1000
    rng = np.random.default_rng(seed)
    orders = itertools.permutations(range(n)) if complete else (rng.permutation(n) for _ in range(shuffles))
    found = correlation(first)
    square = np.zeros((n, n))
    square[np.triu_indices(n, 1)] = first
    square += square.T
    values = []
    for order in orders:
        at = np.asarray(order)
        values.append(correlation(_above(square[np.ix_(at, at)])))
    null = np.abs(values) if side == "two-sided" else np.array(values)
    reached = float(np.sum(null >= (abs(found) if side == "two-sided" else found) - 1e-12))
    p = reached / len(null) if complete else (reached + 1) / (len(null) + 1)
    return Mantel(round(found, 10), p, n, len(null), complete, partial)
