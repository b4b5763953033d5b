"""Long work of a panel: run beside the notebook's loop, its progress told, stopped at the reader's word.

Conventions: what was stopped leaves nothing behind; one piece of work at a time, a newer one takes its place, but never
that of work that writes. A new step is told at once, how far it is at most three times a second.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import Any

from readaid.core.errors import ReadaidError
from readaid.core.progress import Progress
from readaid.core.texts import wording
from readaid.piece.surfaces import Step
from readaid.widgets.panel import Part

EVERY = 0.3  # seconds between two tellings of one step
#: What comes of work that was stopped.
_LEFT = object()


class Stopped(Exception):
    """The reader stopped the work."""


def shares(step: Step, words: str) -> Progress:
    """The progress of a lower room (done, of all) told as one step of long work."""
    return lambda done, of: step(words, done / max(of, 1))


class LongWork(Part):
    """Held by the panel whose work it is; its state shows ``busy``."""

    busy: dict[str, Any] | None = None
    _turn = 0
    _writing = False
    _dropped: Callable[[], None] | None = None
    _told = 0.0

    def run(self, label: str, work: Callable[[Step], Any], done: Callable[[Any], None], writes: bool = False) -> None:
        """Run ``work(step)`` beside the loop; ``done`` gets its result unless the reader stopped it.

        ``writes``: something is kept when the work ends. A stop is then told once the work has let go; where it came
        after the last step, what is written is told as written.
        """
        self.wait_for_writing()
        self._turn += 1
        self._writing, self._dropped = writes, None
        mine = self._turn
        self._show(label, None)
        self.refresh()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            loop = None

        def tell(words: str, share: float) -> None:
            if mine == self._turn:
                self._show(words, share)
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
                return _LEFT
            except BaseException:
                if mine == self._turn or writes:
                    self.busy, self._writing = None, False
                raise

        def finish(result: Any) -> None:
            if writes:
                self._writing = False
            elif mine != self._turn or result is _LEFT:
                return
            self.busy = None
            self.refresh()
            if result is _LEFT:
                self.say(wording("Stopped; nothing was changed."))
            else:
                done(result)

        self.panel.later(beside, finish)

    def wait_for_writing(self) -> None:
        """Refuse anything new while something is being written: it would look stopped and be half there."""
        if self._writing:
            raise ReadaidError("Something is being written already", cure="wait until it has ended, or stop it")

    def coming(self, words: str, share: float, dropped: Callable[[], None]) -> None:
        """Show what comes part by part from the browser; ``dropped`` is called where the reader stops it."""
        first, self._dropped = self._dropped is None, dropped
        if not first and time.monotonic() - self._told < EVERY:
            return
        self._told = time.monotonic()
        self._show(words, share)
        self.refresh()

    def came(self) -> None:
        """All parts are there."""
        self.busy, self._dropped = None, None

    def _show(self, words: str, share: float | None, stoppable: bool = True) -> None:
        self.busy = {"label": words if words.endswith("…") else f"{words} …", "share": share, "stoppable": stoppable}

    def do_stop(self) -> None:
        """Let long work go; nothing of it is kept."""
        self._turn += 1
        if self._writing:
            self._show(wording("Stopping"), None, stoppable=False)
            self.refresh()
            return
        dropped, self._dropped = self._dropped, None
        if dropped is not None:
            dropped()
        self.busy = None
        self.refresh()
        self.say(wording("Stopped; nothing was changed."))
