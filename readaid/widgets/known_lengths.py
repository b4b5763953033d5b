"""Known lengths on a photograph: the scale, and the second length that checks it.

Conventions: points in full-size pixels, lengths in millimetres, written as ``script.lengths`` reads them.
"""

from __future__ import annotations

import dataclasses
from typing import Any

from readaid.core.photo import Photo, Scale
from readaid.core.piece import Piece
from readaid.core.texts import told, wording
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
    per, whole = f"{1 / scale.mm_per_pixel:.1f}", f"{scale.millimetres:.4g}"
    words = (wording("1 mm is {0} pixels, from {1} mm ({2}).", per, whole, told(scale.what)) if scale.what
             else wording("1 mm is {0} pixels, from {1} mm.", per, whole))
    off = scale.disagreement
    if off is None:
        words += wording(" Check it with a second length you know.")
    else:
        words += wording(
            " The second length ({0}, {1} mm) comes out ",
            scale.check_what or wording("unnamed"),
            f"{scale.check_millimetres:g}") + (
            wording("the same.") if abs(off) < 0.005
            else wording("{0} longer.", f"{abs(off):.1%}") if off > 0 else wording("{0} shorter.", f"{abs(off):.1%}")
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
        "warning": " ".join(map(told, warnings(photo, piece))),
    }
