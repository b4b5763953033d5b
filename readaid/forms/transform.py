"""Alignment: which change of shape lays one form on another.

Conventions: a change maps normal units of ``b`` to normal units of ``a`` (2 x 3, row-major). Its limits are told
by ``LIMITS``: turn and shear in degrees, stretch as the ratio of height to width, shift in normal units. Scale is free,
since a photo without a scale bar has none; both forms are first brought to one size.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from readaid.forms.descriptor import vectors
from readaid.forms.stroke_points import Points

Matrix = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Limits:
    """How far alignment may go: degrees of turn and shear, stretch as a ratio, shift in mean radii."""

    turn: float = 25.0
    shear: float = 20.0
    stretch: float = 1.6
    shift: float = 0.6
    scale: float = 1.5


LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Change:
    """A change of shape in parts: ``turn`` and ``shear`` in degrees, ``stretch`` height to width, scale, shift."""

    turn: float
    shear: float
    stretch: float
    scale: float
    shift: tuple[float, float]

    def matrix(self) -> Matrix:
        """The change as a 2 x 3 matrix: first stretch and shear, then turn, then shift."""
        r, s = np.deg2rad(self.turn), np.tan(np.deg2rad(self.shear))
        turn = np.array([[np.cos(r), -np.sin(r)], [np.sin(r), np.cos(r)]])
        k = np.sqrt(self.stretch)
        linear = self.scale * turn @ np.array([[1, s], [0, 1]]) @ np.diag([1 / k, k])
        return np.hstack([linear, np.array(self.shift)[:, None]])


def parts_of(matrix: Matrix) -> Change:
    """Split a 2 x 3 matrix into turn, shear, stretch, scale and shift.

    >>> parts_of(Change(10, 5, 1.2, 0.9, (0.1, 0)).matrix()).turn.__round__(6)
    10.0
    """
    linear = matrix[:, :2]
    wide = float(np.hypot(*linear[:, 0])) or 1e-9
    turn = float(np.arctan2(linear[1, 0], linear[0, 0]))
    back = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) @ linear
    high = float(back[1, 1]) or 1e-9
    shear = float(np.rad2deg(np.arctan2(back[0, 1], high)))
    return Change(
        float(np.rad2deg(turn)),
        shear,
        abs(high) / wide,
        float(np.sqrt(abs(high) * wide)),
        (float(matrix[0, 2]), float(matrix[1, 2])),
    )


def within(matrix: Matrix, limits: Limits = LIMITS) -> Matrix:
    """The nearest change whose parts are within the limits."""
    p = parts_of(matrix)
    return Change(
        float(np.clip(p.turn, -limits.turn, limits.turn)),
        float(np.clip(p.shear, -limits.shear, limits.shear)),
        float(np.clip(p.stretch, 1 / limits.stretch, limits.stretch)),
        float(np.clip(p.scale, 1 / limits.scale, limits.scale)),
        (
            float(np.clip(p.shift[0], -limits.shift, limits.shift)),
            float(np.clip(p.shift[1], -limits.shift, limits.shift)),
        ),
    ).matrix()


#: First guesses: every turn, shear and stretch of a coarse grid (the first one is "as it stands").
GUESSES: Matrix = np.stack(
    [np.eye(2, 3)]
    + [
        Change(t, s, k, 1.0, (0, 0)).matrix()
        for t, s, k in product((-16, -8, 0, 8, 16), (-13, 0, 13), (0.75, 1.0, 1.33))
    ]
)


def inverse(matrix: Matrix) -> Matrix:
    """The change that undoes ``matrix`` (2 x 3)."""
    linear = np.linalg.inv(matrix[:, :2])
    return np.hstack([linear, -(linear @ matrix[:, 2])[:, None]])


def chain(outer: Matrix, inner: Matrix) -> Matrix:
    """The change that does ``inner``, then ``outer``."""
    return np.hstack([outer[:, :2] @ inner[:, :2], (outer[:, :2] @ inner[:, 2] + outer[:, 2])[:, None]])


def first_guess(a: Floats, b: Floats) -> tuple[Matrix, float]:
    """Best coarse change of b onto a and its agreement 0..1; ``a``, ``b``: vectors under ``GUESSES``, (46, d) each.

    A change of b is compared with a as it stands, and the undone change of a with b.
    """
    forth, back = b @ a[0], a @ b[0]
    i, j = int(forth.argmax()), int(back.argmax())
    # both ways, because the grid of guesses is coarse: what it misses forth it may hit back
    if forth[i] >= back[j]:
        return GUESSES[i], float(forth[i])
    return inverse(GUESSES[j]), float(back[j])


def refine(a: Points, b: Points, start: Matrix, rounds: int = 6, limits: Limits = LIMITS) -> Matrix:
    """Better a change of b onto a by moving each point to its nearest like-directed point, both ways.

    Iterated closest points (Besl and McKay, IEEE PAMI 14, 1992) with direction as a third and fourth coordinate.
    """
    matrix = start
    bend = 0.35  # a right angle counts as much as this share of the mean radius, twice
    a_features = np.hstack([a.at, bend * np.stack([np.cos(2 * a.angle), np.sin(2 * a.angle)], 1)])
    tree = cKDTree(a_features)
    along = np.stack([np.cos(b.angle), np.sin(b.angle)], 1)
    for _ in range(rounds):
        at = b.at @ matrix[:, :2].T + matrix[:, 2]
        moved = along @ matrix[:, :2].T
        angle = 2 * np.arctan2(moved[:, 1], moved[:, 0])
        b_features = np.hstack([at, bend * np.stack([np.cos(angle), np.sin(angle)], 1)])
        far, near = tree.query(b_features)
        # both ways: one way alone shrinks the form into a line of the other
        far_back, near_back = cKDTree(b_features).query(a_features)
        source = np.vstack([b.at, b.at[near_back]])
        target = np.vstack([a.at[near], a.at])
        distance = np.concatenate([far, far_back])
        # What lies twice as far off as usual has a fifth of the say: a stroke that the other form lacks must not
        # pull.
        trust = 1 / (1 + (distance / max(float(np.median(distance)), 1e-3)) ** 2)
        x = np.hstack([source, np.ones((len(source), 1))])
        keep = 0.02 * trust.sum() * np.diag([1, 1, 0.3])  # holds the change near the last one
        fit = np.linalg.solve(x.T @ (x * trust[:, None]) + keep, x.T @ (target * trust[:, None]) + keep @ matrix.T)
        matrix = within(fit.T, limits)
    return matrix


def prepared(points: Points) -> Floats:
    """Vectors of a form under every first guess, (46, d) float32."""
    return vectors(points, GUESSES)
