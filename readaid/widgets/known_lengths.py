"""Known lengths on a photograph: the scale, and the second length that checks it.

Conventions: points in full-size pixels, lengths in millimetres, written as ``script.lengths`` reads them.
"""

from __future__ import annotations

import dataclasses
from typing import Any

from readaid.core.photo import Photo, Scale
from readaid.core.piece import Piece
from readaid.script.lengths import length


def with_length(photo: Photo, points: list[list[float]], text: str, what: str, which: str) -> Scale:
    """The photo's scale from a new length (``which`` "scale"), or checked with a second one ("check")."""
    a, b = ((float(p[0]), float(p[1])) for p in points)
    mm = length(text)
    if which == "check" and photo.scale is not None:
        return dataclasses.replace(photo.scale, check_a=a, check_b=b, check_millimetres=mm, check_what=what)
    return Scale(a, b, mm, what)


def scale_words(photo: Photo, piece: Piece) -> dict[str, Any] | None:
    """The scale in words for the screen, with a warning where two lengths do not agree."""
    scale = photo.scale
    if scale is None:
        return None
    words = f"1 mm is {1 / scale.mm_per_pixel:.1f} pixels, from {scale.millimetres:.4g} mm" + (
        f" ({scale.what})." if scale.what else "."
    )
    off = scale.disagreement
    if off is None:
        words += " Check it with a second length you know."
    else:
        words += f" The second length ({scale.check_what or 'unnamed'}, {scale.check_millimetres:g} mm) comes out " + (
            "the same." if abs(off) < 0.005 else f"{abs(off):.1%} {'longer' if off > 0 else 'shorter'}."
        )
    from readaid.photo.scale import warnings

    return {
        "a": scale.a,
        "b": scale.b,
        "millimetres": scale.millimetres,
        "mm_per_pixel": scale.mm_per_pixel,
        "check_a": scale.check_a,
        "check_b": scale.check_b,
        "check_millimetres": scale.check_millimetres,
        "words": words,
        "warning": " ".join(warnings(photo, piece)),
    }
