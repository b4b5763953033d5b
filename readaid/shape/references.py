"""Reference forms shown beside a proposal: what a character looks like in several hands.

Conventions: pictures are uint8 (48, 48), dark ink on white. Hands: "grass", "running",
"regular" (public-domain brush fonts) and "letter" (the hentaigana as Unicode charts
draw them, Noto Serif Hentaigana, OFL). A reference is a font's form, a reminder and not
evidence of period handwriting.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image

from readaid.core.errors import ShapeError, unknown_option
from readaid.shape import model
from readaid.shape.classes import FOLDER, classes, index
from readaid.shape.ink import Crop
from readaid.shape.window import values, window

HANDS = ("grass", "running", "regular", "letter")
SIZE = 48


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """One reference form: ``likeness`` -1..1 is the cosine with the crop asked about (nan if none was)."""

    character: str
    hand: str
    picture: npt.NDArray[np.uint8]
    likeness: float = float("nan")

    def png(self, scale: int = 1) -> bytes:
        """The picture as PNG bytes, each pixel ``scale`` times as large."""
        held = io.BytesIO()
        Image.fromarray(np.kron(self.picture, np.ones((scale, scale), np.uint8))).save(held, "PNG")
        return held.getvalue()

    def _repr_png_(self) -> bytes:
        return self.png(2)


@lru_cache(maxsize=1)
def _table() -> dict[str, npt.NDArray[Any]]:
    path = FOLDER / "references.npz"
    if not path.is_file():
        raise ShapeError("The reference forms are missing", path.name, "install readaid again")
    with np.load(path, allow_pickle=False) as held:
        return {k: held[k] for k in ("pictures", "numbers", "hands")}


def references(character: str) -> tuple[Reference, ...]:
    """All reference forms of a character (or hentaigana letter), grass script first; empty for an unknown one.

    >>> [r.hand for r in references("花")]
    ['grass', 'running', 'regular']
    """
    number = index().get(character)
    if number is None:
        return ()
    table = _table()
    rows = np.flatnonzero(table["numbers"] == number)
    return tuple(_made(classes()[number].character, int(i)) for i in rows[np.argsort(table["hands"][rows])])


def reference(character: str, hand: str = "grass") -> Reference:
    """One reference form. Raises OptionError for an unknown hand, ShapeError if the character has none in it."""
    if hand not in HANDS:
        raise unknown_option("hand", hand, HANDS)
    for held in references(character):
        if held.hand == hand:
            return held
    raise ShapeError("There is no reference form", f"{character}, {hand}", "ask for another hand, or draw the letter")


def closest(image: Crop, character: str) -> Reference | None:
    """The reference form of ``character`` that a crop resembles most, by the model's embedding; None if it has none.

    >>> closest(reference("花", "running").picture, "花").hand
    'running'
    """
    held = references(character)
    if not held:
        return None
    windows = [window(values(image)), *(window(r.picture.astype(np.float32) / 255) for r in held)]
    vectors = model.run(np.stack(windows)[:, None])[1]
    likeness = vectors[1:] @ vectors[0]
    best = int(np.argmax(likeness))
    return Reference(held[best].character, held[best].hand, held[best].picture, float(likeness[best]))


def _made(character: str, row: int) -> Reference:
    table = _table()
    ink = np.unpackbits(table["pictures"][row]).reshape(SIZE, SIZE)
    return Reference(character, HANDS[int(table["hands"][row])], np.where(ink > 0, 0, 255).astype(np.uint8))
