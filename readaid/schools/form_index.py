"""Search: stored descriptors, so that a new form against a hundred thousand is one product of matrices.

Conventions: a descriptor is float32 (704,) of length 1: what the trained net sees in the lines (128), and the sheet
of edges in coarse cells (8 x 8 x 9), weighed by the form's density. Stored as float16. The search gives a short
list; ``comparison`` then looks closely.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.forms.form import Form, form_of
from readaid.forms.plate import CELLS, TURNS
from readaid.photo.ink import Crop

Floats = npt.NDArray[np.float32]
LENGTH = 128 + (CELLS // 2) ** 2 * TURNS
#: Kept beside stored descriptors; those of another kind are never compared.
KIND = "form-704-1"


def descriptor_of(crop: Crop | Form) -> Floats:
    """The descriptor of a form, float32 (704,), length 1; fits ``core.specimen.Specimen.descriptor`` with ``KIND``.

    >>> page = np.full((60, 80), 240, np.uint8); page[20:24, 10:70] = 30; page[10:50, 40:44] = 30
    >>> descriptor_of(page).shape
    (704,)
    """
    form = form_of(crop)
    dense = form.density
    sheet = np.zeros((CELLS // 2) ** 2 * TURNS, np.float32)
    if dense > 0:
        middle = form.plates[1].cells.reshape(CELLS, CELLS, 9, TURNS)[:, :, 4]
        coarse = middle.reshape(CELLS // 2, 2, CELLS // 2, 2, TURNS).mean((1, 3)).ravel()
        sheet = coarse / (np.linalg.norm(coarse) + 1e-9)
    lines = form.seen.whole if dense < 1 else np.zeros(128, np.float32)
    out = np.concatenate([np.sqrt(1 - dense) * lines, np.sqrt(dense) * sheet])
    return np.asarray(out / (np.linalg.norm(out) + 1e-9), np.float32)


class FormIndex:
    """Names and descriptors of stored forms.

    >>> index = FormIndex(); index.add(["a"], np.eye(1, LENGTH)); index.nearest(np.eye(1, LENGTH)[0], 1)
    [('a', 1.0)]
    """

    def __init__(self) -> None:
        self._names: list[str] = []
        self._blocks: list[npt.NDArray[np.float16]] = []

    def __len__(self) -> int:
        return len(self._names)

    def add(self, names: Sequence[str], descriptors: npt.ArrayLike) -> None:
        """Store descriptors (n, 704) under their names; raises ShapeError for another shape."""
        block = np.atleast_2d(np.asarray(descriptors, np.float16))
        if block.shape != (len(names), LENGTH):
            raise ShapeError(
                "The descriptors are of another making",
                f"shape {block.shape}, kind {KIND}",
                "make them anew from the crops",
            )
        self._names += list(names)
        self._blocks.append(block)

    def nearest(self, form: Crop | Form | Floats, k: int = 50) -> list[tuple[str, float]]:
        """The ``k`` nearest names with their cosine (-1..1), nearest first; ``form`` may be a descriptor."""
        is_vector = isinstance(form, np.ndarray) and form.ndim == 1
        wanted = np.asarray(form, np.float32) if is_vector else descriptor_of(form)  # type: ignore[arg-type]
        if len(wanted) != LENGTH:
            raise ShapeError(
                "The descriptor is of another making", f"length {len(wanted)}, wanted {LENGTH}", "make it anew"
            )
        if not self._names:
            return []
        parts = []
        for block in self._blocks:
            for start in range(0, len(block), 8192):  # a float32 copy of a hundred thousand at once would need 280 MB
                parts.append(block[start : start + 8192].astype(np.float32) @ wanted)
        cosine = np.concatenate(parts)
        k = min(k, len(cosine))
        first = np.argpartition(-cosine, k - 1)[:k]
        first = first[np.argsort(-cosine[first], kind="stable")]
        return [(self._names[i], round(float(cosine[i]), 5)) for i in first]
