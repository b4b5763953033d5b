"""One gesture, one moment: what it reads comes from one state of the register, what it saves is checked against it.

Conventions
-----------
* ``once`` takes the newest state, does the work on it, and begins anew from the next state when somebody else's change
  came between look and save; so the work must be done from what it reads, and save once.
* Each thread has its own moment. Outside of a gesture the newest state is read.
* What the user looked at may be older still: a record passed in says by its own values what it was when they saw it
  (see ``Holding.change``).
"""

from __future__ import annotations

import functools
import threading
from collections.abc import Callable
from dataclasses import fields
from typing import Any, TypeVar, cast

from readaid.core.contents import Contents, Record
from readaid.core.errors import OvertakenError

T = TypeVar("T")
F = TypeVar("F", bound=Callable[..., Any])
#: How often a gesture is begun anew. Three writers without a pause needed four at most (tests/bench/register.py).
TRIES = 60


class Moment:
    """The state in which the running gesture of this thread reads; None outside of one."""

    def __init__(self, newest: Callable[[], Contents]) -> None:
        self._newest = newest
        self._here = threading.local()
        self._indexed: tuple[Contents, dict[str, Record]] | None = None

    @property
    def contents(self) -> Contents | None:
        """All records as they stood when the gesture began."""
        found: Contents | None = getattr(self._here, "contents", None)
        return found

    def record(self, id: str) -> Record | None:
        """The record as it stood when the gesture began; None if it did not, or outside of a gesture."""
        contents = self.contents
        return None if contents is None else self.index(contents).get(id)

    def index(self, contents: Contents) -> dict[str, Record]:
        """The records of some contents by their ids."""
        # Made when the first record is asked for, and kept for the gestures that look at the same contents.
        held = self._indexed
        if held is None or held[0] is not contents:
            held = self._indexed = (contents, {r.id: r for r in everything(contents)})
        return held[1]

    def once(self, work: Callable[[], T]) -> T:
        """Do ``work`` in one moment; a gesture within another one is part of it."""
        # A gesture that uses another one (draw columns draws zones) is one act to the reader and one revision.
        if self.contents is not None:
            return work()
        for left in range(TRIES - 1, -1, -1):
            self._here.contents = self._newest()
            try:
                return work()
            except OvertakenError:
                if not left:
                    raise
            finally:
                self._here.contents = None
        raise AssertionError("unreachable")  # pragma: no cover


def everything(contents: Contents) -> list[Record]:
    """Every record of the contents, the piece's own first."""
    found: list[Record] = [contents.piece]
    for field in fields(contents):
        value = getattr(contents, field.name)
        if isinstance(value, tuple) and field.name != "faults":
            found += value
    return found


def gesture(method: F) -> F:
    """A method of one who holds a piece as ``_piece``, done as one gesture (see ``Holding.once``)."""

    @functools.wraps(method)
    def done(self: Any, *args: Any, **kwargs: Any) -> Any:
        return self._piece.once(lambda: method(self, *args, **kwargs))

    return cast(F, done)
