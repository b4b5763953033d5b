"""How far long work has come: one callback for every room, told between the steps of the work.

Conventions: ``progress(done, of)`` counts up to ``of`` in whatever the work has (files, signs, pairs). Who listens may
raise to stop; what it raises goes through, and the work takes away what it had half written, as it does for any fault.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Progress = Callable[[int, int], None]
T = TypeVar("T")

#: Parts of a whole that several stretches of work are told in.
_FINE = 1000


def unheard(done: int, of: int) -> None:
    """Nobody listens."""


def stretch(progress: Progress, begin: float, end: float) -> Progress:
    """The progress of one stretch of the work, which takes it from ``begin`` to ``end`` (shares 0..1 of the whole).

    >>> told = []
    >>> stretch(lambda done, of: told.append(done / of), 0.5, 1.0)(1, 2)
    >>> told
    [0.75]
    """
    return lambda done, of: progress(round(_FINE * (begin + (end - begin) * done / max(of, 1))), _FINE)


def counted(items: Sequence[T], progress: Progress) -> Iterator[T]:
    """The items one by one, ``progress`` told before each and after the last: a stop comes before the next is begun.

    >>> told = []
    >>> [x for x in counted("ab", lambda done, of: told.append((done, of)))], told
    (['a', 'b'], [(0, 2), (1, 2), (2, 2)])
    """
    for n, item in enumerate(items):
        progress(n, len(items))
        yield item
    progress(len(items), len(items))


class Tally:
    """Steps that are begun in several places, counted here: called before each of them.

    >>> told = []
    >>> tally = Tally(lambda done, of: told.append((done, of)), 2)
    >>> for _ in range(4):
    ...     tally()
    >>> told
    [(0, 2), (1, 2), (2, 2), (2, 2)]
    """

    def __init__(self, progress: Progress, of: int) -> None:
        self._progress, self._of, self._done = progress, max(of, 1), 0

    def __call__(self) -> None:
        """One more is begun; more than were reckoned with count as the last."""
        self._progress(min(self._done, self._of), self._of)
        self._done += 1
