"""A reader's own labelled crops, which draw proposals by shape towards them.

Conventions: nobody else's count: what a first reader confirmed would draw a second reader's proposals the same way. A
vector means something beside vectors of the same model only.
"""

from __future__ import annotations

import hashlib
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from readaid.glyphs.examples import Examples
    from readaid.piece.holding import Holding


def mine(piece: Holding) -> Examples | None:
    """The crops that the piece's present reader labelled, None if there are none that this model made."""
    import numpy as np

    from readaid.glyphs.examples import Examples

    kept = [e for e in piece.contents.examples
            if e.model == model_name() and _maker(piece, e.id) == piece.reader]
    if not kept:
        return None
    return Examples.from_arrays({"vectors": np.array([e.vector for e in kept], np.float32),
                                 "characters": np.array([e.character for e in kept])})


def _maker(piece: Holding, example: str) -> str:
    """Who labelled an example last."""
    last = piece.register.last(example)
    return last.reader if last else ""


@cache
def model_name() -> str:
    """Which model made a vector, by its file: vectors of another model cannot be compared."""
    from readaid.glyphs.character_net import FILE

    return f"{FILE.stem} {hashlib.sha256(FILE.read_bytes()).hexdigest()[:12]}"
