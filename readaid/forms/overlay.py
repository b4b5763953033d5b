"""Overlay: two forms laid on each other as a picture, and the places where they differ.

Conventions: colours are from the palette of Okabe and Ito (2008), made to be told apart by colour-blind eyes: blue for
the first form, orange for the second, near black where both have ink. Boxes are (x, y, width, height)
in pixels of a's crop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from readaid.forms.form import Form
from readaid.forms.transform import Matrix, chain, inverse

BLUE, ORANGE, BOTH, RING = (0, 114, 178), (230, 159, 0), (40, 40, 48), (204, 121, 167)
#: Lines this far apart (share of the mean radius) still count as lying on each other.
TOLERANCE = 0.16


@dataclass(frozen=True, slots=True)
class Difference:
    """A place where only one form has lines: ``only`` is "first" or "second", ``length`` in mean radii."""

    only: str
    box: tuple[float, float, float, float]
    length: float


def _canvas_change(form: Form, target: Matrix) -> Matrix:
    """Change from canvas pixels of ``form`` to the target, which is told from normal units."""
    crop_to_normal = inverse(form.frame)
    return chain(target, chain(crop_to_normal, form.ink.place))


def _drawn(form: Form, target: Matrix, shape: tuple[int, int]) -> npt.NDArray[np.float32]:
    return np.asarray(cv2.warpAffine(form.ink.soft, _canvas_change(form, target), shape, flags=cv2.INTER_LINEAR))


def overlap(a: Form, b: Form, laid: Matrix) -> float:
    """Share of common ink 0..1 (common over all), with b laid on a."""
    target = np.array([[20.0, 0, 64], [0, 20.0, 64]])
    first, second = _drawn(a, target, (128, 128)), _drawn(b, chain(target, laid), (128, 128))
    return float(np.minimum(first, second).sum() / max(float(np.maximum(first, second).sum()), 1e-6))


def differences(a: Form, b: Form, laid: Matrix) -> list[Difference]:
    """Places where one form has lines and the other none near, longest first."""
    moved = b.middles.at @ laid[:, :2].T + laid[:, 2]
    found: list[Difference] = []
    cells = 96
    target = np.array([[cells / 6, 0, cells / 2], [0, cells / 6, cells / 2]])
    for only, here, there in (("first", a.middles.at, moved), ("second", moved, a.middles.at)):
        ground = np.ones((cells, cells), np.uint8)
        at = np.clip((there @ target[:, :2].T + target[:, 2]).round().astype(int), 0, cells - 1)
        ground[at[:, 1], at[:, 0]] = 0
        far = cv2.distanceTransform(ground, cv2.DIST_L2, 5) * 6 / cells
        spot = np.clip((here @ target[:, :2].T + target[:, 2]).round().astype(int), 0, cells - 1)
        lone = far[spot[:, 1], spot[:, 0]] > TOLERANCE
        page = np.zeros((cells, cells), np.uint8)
        page[spot[lone, 1], spot[lone, 0]] = 1
        count, labels = cv2.connectedComponents(cv2.dilate(page, np.ones((3, 3), np.uint8)))
        label = labels[spot[:, 1], spot[:, 0]]
        for i in range(1, count):
            points = here[lone & (label == i)]
            length = float(np.hypot(*np.ptp(points, 0)))
            # Shorter than what counts as lying on each other: the end of a stroke, not a difference.
            if length < TOLERANCE:
                continue
            pixels = points @ a.frame[:, :2].T + a.frame[:, 2]
            low, size = pixels.min(0), np.ptp(pixels, 0)
            found.append(
                Difference(
                    only,
                    (
                        round(float(low[0]), 1),
                        round(float(low[1]), 1),
                        round(float(size[0]), 1),
                        round(float(size[1]), 1),
                    ),
                    round(length, 3),
                )
            )
    return sorted(found, key=lambda d: -d.length)


def overlay(a: Form, b: Form, laid: Matrix, found: Sequence[Difference], side: int = 480) -> Image.Image:
    """Draw b laid on a, differences ringed, with a legend below; RGB, ``side`` pixels wide."""
    corners = np.concatenate([a.edges.at, b.edges.at @ laid[:, :2].T + laid[:, 2]])
    # Both forms fill the picture together: cut to the first, what only the second has would lie outside.
    low, high = corners.min(0), corners.max(0)
    scale = 0.86 * side / float((high - low).max())
    middle = (low + high) / 2
    target = np.array([[scale, 0, side / 2 - scale * middle[0]], [0, scale, side / 2 - scale * middle[1]]])
    first, second = _drawn(a, target, (side, side)), _drawn(b, chain(target, laid), (side, side))
    both = np.minimum(first, second)[..., None]
    page = np.full((side, side, 3), 255.0)
    for ink, colour in ((first[..., None], BLUE), (second[..., None], ORANGE), (np.clip(both * 1.2, 0, 1), BOTH)):
        page = page * (1 - ink) + np.array(colour) * ink
    picture = Image.new("RGB", (side, side + 26), "white")
    picture.paste(Image.fromarray(page.round().astype(np.uint8)), (0, 0))
    draw = ImageDraw.Draw(picture)
    to_page = chain(target, inverse(a.frame))
    for place in found:
        x, y, w, h = place.box
        ends = np.array([[x, y], [x + w, y + h]]) @ to_page[:, :2].T + to_page[:, 2]
        (x0, y0), (x1, y1) = ends.min(0) - 9, ends.max(0) + 9
        draw.ellipse((x0, y0, x1, y1), outline=RING, width=2)
    left = 8
    for colour, text in ((BLUE, "first"), (ORANGE, "second"), (BOTH, "both"), (RING, "differs")):
        draw.rectangle((left, side + 7, left + 12, side + 19), fill=colour)
        draw.text((left + 17, side + 7), text, fill=(30, 30, 30))
        left += 30 + int(draw.textlength(text))
    return picture
