"""Counted work of a panel: many pairs, one by one beside the notebook's loop, the share done told, stopped at will.

Conventions: what was stopped leaves nothing behind. The browser gets ``progress`` with a share 0..1, at most
three a second.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

from readaid.core.errors import ReadaidError
from readaid.core.texts import refusal, wording
from readaid.widgets.panel import Part

#: Told of what is done: so many of so many.
Count = Callable[[int, int], None]
EVERY = 0.3  # seconds between two messages of progress


class StoppedError(Exception):
    """The reader let the work go."""


class CountedWork(Part):
    """Held by panels that compare every form with every other."""

    busy = False

    def __init__(self, panel: Any) -> None:
        super().__init__(panel)
        self._stop = threading.Event()

    def run(self, work: Callable[[Count], Any], done: Callable[[Any], None]) -> None:
        """Run ``work(count)`` beside the loop; ``done`` gets its result unless it was stopped or refused."""
        self.busy = True
        self._stop.clear()
        self.refresh()
        last = [0.0]

        def count(so_far: int, total: int) -> None:
            if self._stop.is_set():
                raise StoppedError
            if time.monotonic() - last[0] > EVERY:
                last[0] = time.monotonic()
                self.panel.send({"type": "progress", "share": so_far / max(total, 1)})

        def beside() -> Any:
            try:
                return work(count)
            except (StoppedError, ReadaidError) as error:
                return error
            except BaseException:
                self.busy = False
                raise

        def finish(result: Any) -> None:
            self.busy = False
            match result:
                case StoppedError():
                    self.say(wording("Stopped; nothing was changed."))
                case ReadaidError():
                    self.say(refusal(result), "error")
                case _:
                    done(result)
            self.refresh()

        self.panel.later(beside, finish)

    def do_stop(self) -> None:
        """Let the work go at the next pair."""
        self._stop.set()
