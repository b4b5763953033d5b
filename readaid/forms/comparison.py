"""Comparison of two forms: alignment, likeness with its parts, where they differ, and a picture.

Conventions: ``compare(a, b)`` lays b on a; ``transform`` holds six numbers, a row-major 2 x 3 matrix that maps pixels
(x, y) of b's crop to pixels of a's crop. Differences are boxes (x, y, width, height) in pixels of a's crop. A likeness
(0..1) is evidence of form, never of authorship.
"""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass, field
from html import escape

import numpy as np
from PIL import Image

from readaid.core.errors import unknown_option
from readaid.forms import likeness as measures
from readaid.forms.descriptor import descriptor
from readaid.forms.form import Form, form_of, turned
from readaid.forms.one_thread import one_thread
from readaid.forms.overlay import Difference, differences, overlap, overlay
from readaid.forms.stroke_points import some
from readaid.forms.transform import LIMITS, Change, Limits, Matrix, chain, inverse, parts_of
from readaid.photo.ink import Crop

#: How the second form may be turned before it is compared.
TURNS = ("as it stands", "mirrored", "upside down")
#: From this overlap on, two inscriptions agree more closely than one hand repeats itself (common practice, no source).
COPY = 0.93
#: From this likeness on, a part below ``DISAGREES`` is told beside the headline: a close whole must not hide it.
CLOSE, DISAGREES = 0.45, 0.55
CAUTION = "A likeness is evidence of form, not of who made it; false signatures are common."


@dataclass(frozen=True)
class Comparison:
    """Two forms compared.

    ``likeness`` 0..1; ``transform`` six numbers mapping b's pixels onto a's; ``parts`` likeness 0..1 of
    outline, structure and dots; ``change`` the same transform in turn, shear, stretch; ``overlap`` share of common ink
    once laid on each other; ``differences`` where one has ink and the other none; ``notes`` sentences for the reader.
    """

    likeness: float
    transform: tuple[float, ...]
    parts: dict[str, float]
    change: Change
    overlap: float
    differences: tuple[Difference, ...]
    notes: tuple[str, ...]
    turn: str = "as it stands"
    forms: tuple[Form, Form] = field(repr=False, compare=False, default=())  # type: ignore[assignment]
    laid: Matrix = field(repr=False, compare=False, default=None)  # type: ignore

    def picture(self, side: int = 480) -> Image.Image:
        """Overlay in colours safe for colour-blind eyes (blue: a, orange: b, near black: both), differences ringed."""
        return overlay(*self.forms, self.laid, self.differences, side)

    def _repr_html_(self) -> str:
        buffer = io.BytesIO()
        self.picture(320).save(buffer, "PNG")
        picture = base64.b64encode(buffer.getvalue()).decode()
        rows = "".join(
            f"<tr><th scope='row' style='text-align:left'>{escape(name)}</th><td>{value:.2f}</td></tr>"
            for name, value in {"likeness": self.likeness, **self.parts, "overlap": self.overlap}.items()
        )
        notes = "".join(f"<li>{escape(note)}</li>" for note in self.notes)
        return (
            "<figure><img alt='Overlay: first form blue, second orange, both dark' "
            f"src='data:image/png;base64,{picture}'>"
            f"<table>{rows}</table><ul>{notes}</ul><figcaption>{escape(CAUTION)}</figcaption></figure>"
        )


@one_thread()
def compare(a: Crop | Form, b: Crop | Form, turn: str = "as it stands", limits: Limits = LIMITS) -> Comparison:
    """Compare two forms.

    ``a`` and ``b`` are a path, a Pillow image, an array (grey or RGB, dark on light or light on dark) or a form from
    ``form_of`` or ``form_of_tracing``. ``turn`` changes b first: one of ``TURNS``.
    ``limits`` bounds turn, shear, stretch and shift.
    Raises ShapeError if a crop is empty or a single dot, OptionError for an unknown turn.

    >>> page = np.full((60, 80), 240, np.uint8); page[20:24, 10:70] = 30; page[10:50, 40:44] = 30
    >>> found = compare(page, 255 - page)
    >>> found.likeness > 0.95, [round(v) for v in found.transform]
    (True, [1, 0, 0, 0, 1, 0])
    """
    if turn not in TURNS:
        raise unknown_option("turn", turn, TURNS)
    first, second = form_of(a), form_of(b)
    if turn != "as it stands":
        second = turned(second, turn)
    # Laid on each other for the picture and the differences only; the likeness does not rest on this fit.
    laid, raw = measures.lay(first, second, limits)
    odds = measures.outline(first, second)
    parts = {
        "outline": round(measures.share(odds), 4),
        "structure": measures.structure(first.counts, second.counts),
        "dots": round(measures.dots(first.counts, second.counts), 4),
    }
    whole = measures.whole(odds, parts["structure"], parts["dots"])
    common = overlap(first, second, laid)
    # In pixels of the crops as given, so that the reader can lay the photographs themselves on each other.
    to_a = np.vstack([first.frame, [0, 0, 1]]) @ np.vstack([laid, [0, 0, 1]])
    pixels = chain(to_a[:2], inverse(second.frame))
    found = tuple(differences(first, second, laid))
    return Comparison(
        round(whole, 6),
        tuple(round(float(v), 6) for v in pixels.ravel()),
        parts,
        parts_of(laid),
        round(common, 4),
        found,
        (*_notes(first, second, whole, raw, common, turn, found), *_disagreeing(whole, parts)),
        turn,
        (first, second),
        laid,
    )


def _disagreeing(whole: float, parts: dict[str, float]) -> list[str]:
    """A sentence for each part that disagrees while the whole looks close: two dots for one, a loop more."""
    return [f"The {name} {'disagree' if name == 'dots' else 'disagrees'} ({value:.2f}), though the whole looks close."
            for name, value in parts.items() if whole >= CLOSE and value < DISAGREES]


def _notes(
    a: Form, b: Form, whole: float, raw: float, common: float, turn: str, found: tuple[Difference, ...]
) -> list[str]:
    notes = []
    # Too close is a finding as well, see ``COPY``.
    if common >= COPY:
        notes.append(
            "The two lie on each other almost perfectly. One hand does not repeat itself so closely: "
            "one may be a copy of the other, or both pictures may show one form."
        )
    elif whole < 0.25:
        notes.append(
            "The two forms have little in common: they may be different signs, or a crop may hold something else."
        )
    # A rubbing read from the back shows the mirrored form; it is only said, never turned unasked.
    if turn == "as it stands" and raw < 0.85:
        for how in TURNS[1:]:
            # the guesses of a against b as it stands then: one vector instead of 46
            better = float((a.prepared @ descriptor(some(turned(b, how).edges, 250))).max())
            if better > raw + 0.06 and better > 0.68:
                notes.append(f"The second form fits better {how}: look at the photo, then compare with turn='{how}'.")
    if found and common < COPY:
        notes.append(f"They differ in {len(found)} place{'s' if len(found) > 1 else ''}, ringed in the picture.")
    return notes
