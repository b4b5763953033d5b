"""Rows for the browser that are made once, and again only where what they are made from has changed.

Conventions: a row is known by its id and by its parts, the records and words it is made from. Contents keep the records
that did not change, so comparing parts is comparing objects; a record that came anew and says the same gives the same
row. Among 1,000 zones a gesture then makes two rows and not a thousand; and a row that is the same object needs no
comparing when the browser is told.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any, TypeVar

from readaid.core.texts import language

#: A row: a dict, or a typed one.
Row = TypeVar("Row", bound=Mapping[str, Any])


class KeptRows:
    """The rows of one list.

    >>> rows, made = KeptRows(), []
    >>> for _ in range(2):
    ...     row = rows.row("a", ("1", 2.5), lambda word, n: made.append(n) or {"id": "a"})
    >>> made
    [2.5]
    """

    def __init__(self) -> None:
        self._rows: dict[str, tuple[tuple[Any, ...], Any]] = {}
        self._spoken = language()

    def row(self, id: str, parts: tuple[Any, ...], make: Callable[..., Row], label: str | None = None) -> Row:
        """The row of this id; made anew, ``make(*parts)``, where ``parts`` are others than those it was made from.

        ``label``: the number that one new row changes in all that follow it; laid over the row.
        """
        if self._spoken != (spoken := language()):  # a row holds words: another language makes all anew
            self._rows, self._spoken = {}, spoken
        made: Any
        held = self._rows.get(id)
        if held is not None and held[0] == parts:
            made = held[1]
            if label is None or made["label"] == label:
                return made  # type: ignore[no-any-return]
        else:
            made = make(*parts)
        if label is not None:
            made = {**made, "label": label}
        self._rows[id] = (parts, made)
        return made  # type: ignore[no-any-return]

    def only(self, ids: Collection[str]) -> None:
        """Let go of rows whose records are gone, once they are many."""
        if len(self._rows) > 2 * len(ids) + 100:
            self._rows = {id: held for id, held in self._rows.items() if id in ids}
