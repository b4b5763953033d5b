"""Reference forms shown beside a proposal: what a character looks like in several hands.

Conventions: pictures are uint8 (48, 48), dark ink on white. Hands: "grass", "running",
"regular" (public-domain brush fonts) and "letter" (the hentaigana as Unicode charts
draw them, Noto Serif Hentaigana, OFL). A reference is a font's form, a reminder and not
evidence of period handwriting.
"""

from __future__ import annotations

import base64
import io
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from readaid.core.errors import ShapeError, unknown_option
from readaid.glyphs import character_net
from readaid.glyphs.classes import FOLDER, classes, index
from readaid.glyphs.window import values, window
from readaid.photo.ink import Crop, Floats

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

    @property
    def words(self) -> str:
        """What the picture shows, for the eye that cannot see it: "花, grass script, as a brush font draws it"."""
        how = "as the charts draw it" if self.hand == "letter" else "as a brush font draws it"
        name = {"grass": "grass script", "running": "running script", "regular": "regular script"}
        return f"{self.character}, {name.get(self.hand, 'kana letter')}, {how}"

    @property
    def address(self) -> str:
        """The picture as a data address, PNG of one bit a pixel (about 300 bytes)."""
        return _address(self.picture.tobytes())

    def _repr_png_(self) -> bytes:
        return self.png(2)


@lru_cache(maxsize=4096)
def _address(grey: bytes) -> str:
    held = io.BytesIO()
    Image.frombytes("L", (SIZE, SIZE), grey).convert("1", dither=Image.Dither.NONE).save(held, "PNG")
    return "data:image/png;base64," + base64.b64encode(held.getvalue()).decode("ascii")


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
    return closest_of(image, [character])[0]


def closest_of(image: Crop, characters: Sequence[str]) -> list[Reference | None]:
    """For each of ``characters`` the reference form that a crop resembles most, None where it has none.

    The forms of a character are first compared as they stand in the window, and only those within ``CLOSE`` of the best
    by the model's embedding: that puts the right hand first nearly as often as embedding all of them (98 % each, 169
    distorted and traced forms) and takes a third of the time. What was seen of a reference is kept: twelve kanji take
    about 30 ms when none was asked for before, and 3 ms after that.

    >>> [r.hand if r else None for r in closest_of(reference("花", "grass").picture, ["花", "no such"])]
    ['grass', None]
    """
    table, numbers = _table(), [index().get(c) for c in characters]
    crop = window(values(image))
    plain = _plain(crop)
    rows: dict[int, list[int]] = {}
    for number in {n for n in numbers if n is not None}:
        held = np.flatnonzero(table["numbers"] == number)
        if len(held):
            agree = np.array([_window(int(row))[1] @ plain for row in held])
            rows[number] = [int(row) for row in held[agree >= agree.max() - CLOSE]]
    with _LOCK:
        new = [row for every in rows.values() for row in every if row not in _SEEN]
        vectors = character_net.run(np.stack([crop, *(_window(row)[0] for row in new)])[:, None])[1]
        _SEEN.update(zip(new, vectors[1:], strict=True))
        found = {n: max((float(_SEEN[row] @ vectors[0]), -row) for row in every) for n, every in rows.items()}
    return [_best(n, *found[n]) if n is not None and n in found else None for n in numbers]


#: What the model saw of each reference asked for so far (at most 9,265 x 128 numbers, 5 MB).
_SEEN: dict[int, Floats] = {}
_LOCK = threading.Lock()
#: Agreement of pixels (cosine) by which a form may lie behind the best and still be looked at by the model.
CLOSE = 0.05


@lru_cache(maxsize=1024)
def _window(row: int) -> tuple[Floats, Floats]:
    """A reference as the model sees it, (48, 48), and as ``_plain`` of it."""
    seen = window(_ink(row).astype(np.float32))
    return seen, _plain(seen)


def _plain(seen: Floats) -> Floats:
    """A window slightly blurred, without its mean, of length 1: (2304,)."""
    soft = np.asarray(cv2.GaussianBlur(seen, (0, 0), 1.6), np.float32).ravel()
    soft = soft - soft.mean()
    return np.asarray(soft / (np.linalg.norm(soft) + 1e-9), np.float32)


def _best(number: int, likeness: float, minus_row: int) -> Reference:
    return replace(_made(classes()[number].character, -minus_row), likeness=likeness)


def _ink(row: int) -> npt.NDArray[np.uint8]:
    """Ink of one reference: (48, 48), 1 where there is some."""
    return np.unpackbits(_table()["pictures"][row]).reshape(SIZE, SIZE)


def _made(character: str, row: int) -> Reference:
    hand = HANDS[int(_table()["hands"][row])]
    return Reference(character, hand, np.where(_ink(row) > 0, 0, 255).astype(np.uint8))
