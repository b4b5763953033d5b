"""Form: one monogram or character made ready for comparison.

Conventions: a form is made from a crop or a tracing; its points are in *normal* units: the middle of the ink is 0, the
mean distance of the points from it about 1. ``Form.frame`` maps normal units to pixels of the crop as given (2 x 3,
row-major). A form is plain arrays and can be pickled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.core.specimen import FormCounts
from readaid.forms.counts import count_ink
from readaid.forms.line_net import Seen, see
from readaid.forms.plate import Plate, plate
from readaid.forms.stroke_points import Points, edge_points, middle_points, some, thin
from readaid.forms.surroundings import Surroundings, surroundings
from readaid.forms.transform import prepared
from readaid.photo.ink import RIM, SIDE, Crop, Ink, find_ink

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Form:
    """One form: its ``ink``, thinned ``lines``, and points on middle lines and edges in normal units."""

    ink: Ink
    lines: npt.NDArray[np.bool_]
    middles: Points
    edges: Points
    frame: npt.NDArray[np.float64]
    flips: tuple[bool, bool] = (False, False)  # left and right, top and bottom changed against the crop

    @cached_property
    def counts(self) -> FormCounts:
        """Strokes, ends, crossings, closed spaces and dots, counted by machine."""
        return count_ink(self.ink, self.lines)

    @cached_property
    def seen(self) -> Seen:
        """What the trained net sees in the lines."""
        return see(self.middles)

    @cached_property
    def plates(self) -> tuple[Plate, Plate]:
        """The crop as a sheet of directed edges: as a whole, and cut close to its ink."""
        x, y = (-1 if flip else 1 for flip in self.flips)
        first, second = (plate(np.ascontiguousarray(sheet[::y, ::x])) for sheet in self.ink.sheets)
        return first, second

    @cached_property
    def density(self) -> float:
        """0 for a form of few lines, 1 for a dense figure or a grainy photo: how far to compare it as a sheet."""
        length = float(self.lines.sum()) / (SIDE - 2 * RIM)
        dense = 1 / (1 + np.exp(-(length + 100 * min(self.ink.grain, 0.025) - 5.0) / 0.5))
        dense = float(np.clip((dense - 0.12) / 0.76, 0, 1))
        # on a grainy photo thinned lines are broken and forked by chance: there both ways weigh about alike
        # (simulated schools: lines alone 95 % right, sheets alone 96 %, a third of lines and two of sheets 98 %)
        return dense + (1 - dense) * 0.6 * min(self.ink.grain / 0.015, 1.0)

    @cached_property
    def surroundings(self) -> Surroundings:
        """Some points with the lines around them, as the form stands."""
        return surroundings(self.edges, some(self.middles, 120))

    @cached_property
    def prepared(self) -> Floats:
        """Descriptors under every first guess of alignment, (46, d) float32; the first is the form as it stands."""
        return prepared(some(self.edges, 250))


def form_of(crop: Crop | Form) -> Form:
    """Make a crop ready for comparison; a form passes through.

    Raises ShapeError for an empty crop, and for one that holds a single dot.

    >>> page = np.full((60, 80), 240, np.uint8); page[20:24, 10:70] = 30
    >>> form_of(page).counts.strokes
    1
    """
    if isinstance(crop, Form):
        return crop
    ink = find_ink(crop)
    lines = thin(ink.mask)
    # A seal that fills its crop thins to a few pixels as well, and is no dot.
    if lines.sum() < 6 and ink.mask.mean() < 0.5:
        raise ShapeError("The crop holds one dot", "", "a single dot has no form to compare; crop the whole monogram")
    middles, edges = middle_points(lines), edge_points(ink.soft)
    middle = (edges.at * edges.weight[:, None]).sum(0)
    # By the spread of the edges: a box round the form would change with one long flourish.
    size = float(np.sqrt((((edges.at - middle) ** 2).sum(1) * edges.weight).sum())) / np.sqrt(2)
    to_canvas = np.array([[size, 0, middle[0]], [0, size, middle[1]], [0, 0, 1.0]])
    frame = (np.vstack([ink.place, [0, 0, 1]]) @ to_canvas)[:2]

    def normal(points: Points) -> Points:
        return Points(((points.at - middle) / size).astype(np.float32), points.angle, points.weight)

    return Form(ink, lines, normal(middles), normal(edges), frame)


def form_of_tracing(strokes: Sequence[Sequence[tuple[float, float]]], width: float = 0.0) -> Form:
    """Make a form from a tracing: one list of (x, y) points per stroke, in pixels; a stroke of one point is a dot.

    ``width`` is the pen's width in the same pixels; 0 draws a line a thirtieth of the form wide.

    >>> form_of_tracing([[(0, 0), (100, 0)], [(50, -40), (50, 60)]]).counts.crossings
    1
    """
    points = [np.asarray(stroke, float).reshape(-1, 2) for stroke in strokes if len(stroke)]
    if not points:
        raise ShapeError("The tracing holds no stroke", "", "draw at least one line")
    every = np.concatenate(points)
    low, side = every.min(0), max(float(np.ptp(every, 0).max()), 1e-6)
    # Drawn large, then found as any crop is: a tracing and a photo go one and the same way.
    scale = 300 / side
    pen = max(2, round((width or side / 30) * scale))
    shape = np.ceil(np.ptp(every, 0) * scale).astype(int) + 2 * pen + 8
    page = np.full((shape[1], shape[0]), 255, np.uint8)
    for stroke in points:
        line = np.round((stroke - low) * scale + pen + 4).astype(np.int32)
        cv2.polylines(page, [np.repeat(line, 2, 0) if len(line) == 1 else line], False, 0, pen, cv2.LINE_AA)
    form = form_of(page)
    back = np.array([[1 / scale, 0, low[0] - (pen + 4) / scale], [0, 1 / scale, low[1] - (pen + 4) / scale], [0, 0, 1]])
    return Form(form.ink, form.lines, form.middles, form.edges, (back @ np.vstack([form.frame, [0, 0, 1]]))[:2])


def turned(form: Form, how: str) -> Form:
    """The form ``mirrored`` (left and right changed) or ``upside down`` (turned by 180 degrees)."""
    flip = np.diag([-1.0, 1.0]) if how == "mirrored" else np.diag([-1.0, -1.0])
    sign = -1 if how == "mirrored" else 1

    def of(points: Points) -> Points:
        return Points(
            (points.at @ flip).astype(np.float32), np.asarray((sign * points.angle) % np.pi, np.float32), points.weight
        )

    frame = form.frame.copy()
    frame[:, :2] = frame[:, :2] @ flip
    left, top = form.flips
    flips = (not left, top) if how == "mirrored" else (not left, not top)
    return Form(form.ink, form.lines, of(form.middles), of(form.edges), frame, flips)
