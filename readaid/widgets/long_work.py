"""Long work of the board: run beside the notebook's loop, its progress told, stopped at the reader's word.

Conventions: what was stopped leaves nothing behind; one piece of work at a time, a newer one takes its place.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from readaid.core.texts import wording
from readaid.piece.surfaces import Step
from readaid.widgets.panel import Part


class Stopped(Exception):
    """The reader stopped the work."""


class LongWork(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""

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

        def step(words: str, share: float) -> None:
            if mine != self._turn:
                raise Stopped
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
