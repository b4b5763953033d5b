"""The user's own labelled crops: they lift the ranking at once, by nearest neighbours.

Conventions: an example is the model's embedding (128 float32, unit length) of a crop and
the character the reader gave it, any string (a monogram's name too). Nothing is retrained:
each example near a crop makes its character so many times likelier, one that is far leaves it as it was.
The arrays are what the register keeps.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.glyphs import character_net
from readaid.glyphs.window import values, window
from readaid.photo.ink import Crop, Floats

#: How many times likelier an example at cosine c makes its character: exp(STEEP c - EVEN), so that it doubles at about
#: 0.4, which one of a hundred pairs of unlike signs reaches. Chosen on real kana left out for choosing (model card).
STEEP, EVEN = 25.0, 10.0
#: Below this it counts for nothing: an example far away changes nothing.
LEAST = 0.05
DIMENSIONS = 128


class Examples:
    """Labelled crops, in the order they were added.

    >>> page = np.full((40, 40), 255, np.uint8); page[18:22, 5:35] = 0
    >>> mine = Examples()
    >>> mine.add(page, "一")
    >>> len(mine), mine.characters
    (1, ('一',))
    """

    def __init__(self) -> None:
        self._vectors = np.zeros((0, DIMENSIONS), np.float32)
        self._characters: list[str] = []

    def __len__(self) -> int:
        return len(self._characters)

    @property
    def characters(self) -> tuple[str, ...]:
        """The characters given, one per example."""
        return tuple(self._characters)

    @property
    def vectors(self) -> Floats:
        """The embeddings, (n, 128) float32; a copy."""
        return self._vectors.copy()

    def add(self, image: Crop, character: str) -> None:
        """Add a crop read as ``character``. Raises ShapeError for a crop with no stroke or an empty character."""
        if not isinstance(character, str) or not character.strip():
            raise ShapeError("The example has no character", repr(character), "say which character the crop shows")
        vector = character_net.run(window(values(image))[None, None])[1]
        self._vectors = np.concatenate([self._vectors, np.asarray(vector, np.float32)])
        self._characters.append(character)

    def remove(self, number: int) -> None:
        """Take an example out again, by its place in the list."""
        if not 0 <= number < len(self):
            raise ShapeError("There is no such example", f"number {number} of {len(self)}", "count from 0")
        self._vectors = np.delete(self._vectors, number, axis=0)
        del self._characters[number]

    def evidence(self, embedding: npt.NDArray[Any]) -> dict[str, float]:
        """How many times likelier each character is for its examples, beyond once; those far away are left out.

        ``embedding`` (128,), of unit length. The examples of a character add up.
        """
        if not len(self):
            return {}
        cosine = self._vectors @ np.asarray(embedding, np.float32)
        out: dict[str, float] = {}
        for name, more in zip(self._characters, np.exp(STEEP * cosine.astype(np.float64) - EVEN), strict=True):
            out[name] = out.get(name, 0.0) + float(more)
        return {name: more for name, more in out.items() if more >= LEAST}

    def arrays(self) -> dict[str, npt.NDArray[Any]]:
        """What to keep: ``vectors`` (n, 128) float32 and ``characters`` (n,) of str."""
        return {"vectors": self.vectors, "characters": np.array(self._characters, dtype=np.str_)}

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, npt.NDArray[Any]]) -> Examples:
        """Make them again from ``arrays()``. Raises ShapeError when they are not such arrays.

        >>> len(Examples.from_arrays(Examples().arrays()))
        0
        """
        out = cls()
        try:
            vectors = np.asarray(arrays["vectors"], np.float32).reshape(-1, DIMENSIONS)
            characters = [str(c) for c in arrays["characters"]]
        except (KeyError, ValueError, TypeError) as error:
            raise ShapeError("The examples cannot be read", str(error), "add them again from their crops") from error
        if len(vectors) != len(characters) or not np.isfinite(vectors).all():
            raise ShapeError("The examples cannot be read", f"{len(vectors)} vectors, {len(characters)} characters",
                             "add them again from their crops")
        out._vectors, out._characters = vectors, characters
        return out
