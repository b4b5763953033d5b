"""The reader's own words for an inscription: counted beside the page's other work, kept as an attempt.

Conventions: morae are counted and told, nothing is corrected.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from readaid.core.errors import OptionError, ReadaidError
from readaid.core.reading import Verse
from readaid.core.texts import wording
from readaid.widgets.panel import Part
from readaid.widgets.reading_states import OwnLines
from readaid.widgets.verse_lines import verse_rows

#: Signs of the reader's own words that are counted at once: 3,000 take some seconds, beside the page's other work.
MOST_OWN = 5000


class ReaderWords(Part):
    """Held by :class:`readaid.widgets.reading_panel.ReadingPanel`."""


    def __init__(self, panel: Any) -> None:
        super().__init__(panel)
        self.shown: OwnLines = {"lines": [], "words": ""}
        self._own: tuple[str, str | None, Verse] | None = None  # text and form as last counted, and how it broke
        self._own_turn = 0

    def do_own(self, text: str) -> None:
        """Count the morae of the reader's own words beside the page's other work; nothing is corrected."""

        self._count(text, lambda _found: None)

    def do_keep_own(self, text: str, confidence: float, evidence: str, status: str) -> None:
        """Write the reader's own words down as an attempt."""
        if not text.strip():
            raise OptionError("There is nothing to keep", cure="write the reading first")
        if not self.panel.desk.inscription:
            raise OptionError("There is no inscription yet", cure="start one at the place Marks")
        where = self.panel.desk.inscription

        def done(counted: Verse) -> None:
            self.panel.desk.gesture(
                wording("attempt kept"),
                lambda: self.panel.desk.piece.decipherment.write_down(
                    where, text, confidence=float(confidence), evidence=evidence, status=status,
                    counted=counted if self.panel.form() else None,
                ),
            )
            self.say(wording("The attempt is saved in the register."))

        self._count(text, done)

    def _count(self, text: str, done: Callable[[Verse], None]) -> None:
        """Break and count ``text``, show it and hand it to ``done``; a later call lets go of this one."""
        from readaid.reading.verse import verse

        self._own_turn += 1
        turn, form = self._own_turn, self.panel.form()
        signs = len("".join(text.split()))
        if signs > MOST_OWN:
            raise OptionError(
                f"{signs:,} signs are more than one inscription holds", "your own reading",
                f"count at most {MOST_OWN:,} at once",
            )
        if not signs:
            self.shown = {"lines": [], "words": ""}
            self.panel.refresh()
            return
        if self._own is not None and self._own[:2] == (text, form):
            self._counted(self._own[2])
            done(self._own[2])
            return
        self.shown = {"lines": [], "words": wording("Counting {0} signs …", f"{signs:,}"), "busy": True}
        self.panel.refresh()

        def work() -> Any:
            try:
                return verse(text, form=form)
            except ReadaidError as error:
                return error

        def then(found: Any) -> None:
            if turn != self._own_turn:
                return
            if isinstance(found, ReadaidError):
                self.shown = {"lines": [], "words": ""}
                raise found
            self._own = (text, form, found)
            self._counted(found)
            done(found)

        self.panel.later(work, then)

    def _counted(self, found: Verse) -> None:
        words = wording("Counted as {0}; nothing was corrected.", found.form)
        if not found.form:
            words = wording("No verse form fits; the morae are counted line by line.")
        self.shown = {"lines": verse_rows(found), "words": words}
        self.panel.refresh()
