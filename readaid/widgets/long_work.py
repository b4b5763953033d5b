"""Long work of a panel: run beside the notebook's loop, its progress told, stopped at the reader's word.

Conventions: what was stopped leaves nothing behind; one piece of work at a time, a newer one takes its place. A new
step is told at once, how far it is at most three times a second.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import Any

from readaid.core.texts import wording
from readaid.piece.surfaces import Step
from readaid.widgets.panel import Part

EVERY = 0.3  # seconds between two tellings of one step


class Stopped(Exception):
    """The reader stopped the work."""


class LongWork(Part):
    """Held by the panel whose work it is; its state shows ``busy``."""

    busy: dict[str, Any] | None = None
    _turn = 0

    def run(self, label: str, work: Callable[[Step], Any], done: Callable[[Any], None]) -> None:
        """Run ``work(step)`` beside the loop; ``done`` gets its result unless the reader stopped it."""
        self._turn += 1
        mine = self._turn
        self.busy = {"label": label, "share": None, "stoppable": True}
        self.refresh()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            loop = None

        def tell(words: str, share: float) -> None:
            if mine == self._turn:
                self.busy = {"label": f"{words} …", "share": share, "stoppable": True}
                self.panel.guarded(self.refresh)

        last: tuple[str, float] = ("", 0.0)

        def step(words: str, share: float) -> None:
            nonlocal last
            if mine != self._turn:
                raise Stopped
            if words == last[0] and time.monotonic() - last[1] < EVERY:
                return
            last = words, time.monotonic()
            if loop is None:
                tell(words, share)
            else:
                loop.call_soon_threadsafe(tell, words, share)

        def beside() -> Any:
            try:
                return work(step)
            except Stopped:
                return None
            except BaseException:
                if mine == self._turn:
                    self.busy = None
                raise

        def finish(result: Any) -> None:
            if mine != self._turn or result is None:
                return
            self.busy = None
            self.refresh()
            done(result)

        self.panel.later(beside, finish)

    def do_stop(self) -> None:
        """Let long work go; nothing of it is kept."""
        self._turn += 1
        self.busy = None
        self.refresh()
        self.say(wording("Stopped; nothing was changed."))
