"""Rows for the browser that are made once, and again only where what they are made from has changed.

Conventions: a row is known by its id and by its parts, the records and words it is made from. Records are compared as
objects (contents keep those that did not change), words and numbers by value. Among 1,000 zones a gesture then makes
two rows and not a thousand; and a row that is the same object needs no comparing when the browser is told.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from readaid.core.texts import language

PLAIN = (str, int, float, tuple, frozenset, type(None))


class KeptRows:
    """The rows of one list.

    >>> rows, made = KeptRows(), []
    >>> for _ in range(2):
    ...     row = rows.row("a", ("1", 2.5), lambda: made.append(1) or {"id": "a"})
    >>> len(made)
    1
    """

    def __init__(self) -> None:
        self._rows: dict[str, tuple[tuple[Any, ...], dict[str, Any]]] = {}
        self._spoken = language()

    def row(self, id: str, parts: tuple[Any, ...], make: Callable[[], dict[str, Any]], **counted: Any
            ) -> dict[str, Any]:
        """The row of this id; made anew where ``parts`` are others than those it was made from.

        ``counted``: entries that one new row changes in all that follow it, such as a number; laid over the row.
        """
        if self._spoken != (spoken := language()):  # a row holds words: another language makes all anew
            self._rows, self._spoken = {}, spoken
        held = self._rows.get(id)
        made = held[1] if held is not None and same(held[0], parts) else make()
        if any(made.get(k) != v for k, v in counted.items()):
            made = {**made, **counted}
        if held is None or held[1] is not made:
            self._rows[id] = (parts, made)
        return made

    def only(self, ids: set[str]) -> None:
        """Let go of rows whose records are gone, once they are many."""
        if len(self._rows) > 2 * len(ids) + 100:
            self._rows = {id: held for id, held in self._rows.items() if id in ids}


def same(a: tuple[Any, ...], b: tuple[Any, ...]) -> bool:
    """Whether two sets of parts are the same objects, or equal words and numbers."""
    if len(a) != len(b):
        return False
    for x, y in zip(a, b, strict=True):  # no generator: a thousand rows are compared at every gesture
        if x is not y and (type(x) is not type(y) or not isinstance(x, PLAIN) or x != y):
            return False
    return True
