"""Likeness matrix of many forms, and the distance it stands for.

Conventions: matrices are float64 (n, n), symmetrical, in the order of the forms given. A likeness is 0..1 with 1 on
the diagonal; a distance is -ln of the likeness: 0 for the same form, about 3 for unrelated ones.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from readaid.core.errors import ShapeError
from readaid.core.progress import Progress, unheard
from readaid.forms.form import Form, form_of
from readaid.forms.likeness import likeness
from readaid.forms.one_thread import one_thread
from readaid.photo.ink import Crop

Floats = npt.NDArray[np.float64]


class Executor(Protocol):
    """Anything with ``map``: a ``concurrent.futures`` pool, a Dask client's executor."""

    def map(self, fn: Callable[[Any], Any], work: Iterable[Any], /) -> Iterable[Any]: ...


def ready(crop: Crop | Form) -> Form:
    """Make a form with everything that comparison needs, so that a worker need not do it again."""
    with one_thread():
        form = form_of(crop)
        _ = form.counts, form.density
        if form.density < 0.98:
            _ = form.prepared, form.seen, form.surroundings
        if form.density > 0.02:
            _ = form.plates
    return form


def compare_block(work: tuple[Sequence[Form], Sequence[Form], bool]) -> Floats:
    """Likeness of some forms with some others (module level, so that it can be sent to another process).

    The last entry of ``work`` says that both are the same forms, so that each pair is compared once.
    """
    first, second, same = work
    out = np.ones((len(first), len(second)))
    with one_thread():
        for i, a in enumerate(first):
            for j, b in enumerate(second):
                if not same or j > i:
                    out[i, j] = likeness(a, b)
    return np.triu(out, 1) + np.triu(out, 1).T + np.eye(len(first)) if same else out


def likeness_matrix(
    forms: Sequence[Crop | Form], progress: Progress = unheard, executor: Executor | None = None
) -> Floats:
    """Likeness of every form with every other, (n, n).

    ``executor`` spreads blocks of pairs over its workers (``concurrent.futures.ProcessPoolExecutor(2)``, for one).
    Raises ShapeError if fewer than two forms are given.

    >>> page = np.full((60, 80), 240, np.uint8); page[20:24, 10:70] = 30; page[10:50, 40:44] = 30
    >>> likeness_matrix([page, page.T]).shape
    (2, 2)
    """
    if len(forms) < 2:
        raise ShapeError("One form alone cannot be compared", "", "add at least one more form to the school")
    total = len(forms) * (len(forms) - 1) // 2
    made = list(executor.map(ready, forms)) if executor is not None else [ready(f) for f in forms]
    # a prepared form is half a megabyte: blocks of forms are sent, not each form with all that follow
    size = max(1, -(-len(made) // 6)) if executor is not None else 8
    starts = range(0, len(made), size)
    blocks = [(i, j) for i in starts for j in starts if j >= i]
    work = [(made[i : i + size], made[j : j + size], i == j) for i, j in blocks]
    found = executor.map(compare_block, work) if executor is not None else map(compare_block, work)
    out, done = np.eye(len(made)), 0
    progress(0, total)
    for (i, j), block in zip(blocks, found, strict=True):
        high, wide = block.shape
        out[i : i + high, j : j + wide] = block
        out[j : j + wide, i : i + high] = block.T
        done += high * (high - 1) // 2 if i == j else high * wide
        progress(done, total)
    return out


def distance(likenesses: Floats) -> Floats:
    """Distances -ln(likeness), with 0 on the diagonal.

    >>> distance(np.array([[1, 0.5], [0.5, 1]])).round(3).tolist()
    [[0.0, 0.693], [0.693, 0.0]]
    """
    out = -np.log(np.clip(likenesses, 1e-6, 1.0))
    np.fill_diagonal(out, 0.0)
    return np.asarray((out + out.T) / 2)


def of_makers(distances: Floats, owner: Sequence[Any]) -> tuple[list[Any], Floats]:
    """Mean distances between makers (in order of first mention) from distances between their forms."""
    order = list(dict.fromkeys(owner))
    member = np.array([[o == k for o in owner] for k in order], float)
    weight = member / member.sum(1, keepdims=True)
    out = weight @ distances @ weight.T
    np.fill_diagonal(out, 0.0)
    return order, np.asarray(out)
