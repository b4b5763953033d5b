"""The reading log on the bench: sentences with their way back, and the notes pinned to the photograph.

Conventions: made only while it is open, since it reads every revision; a way back is a gesture like any other.
"""

from __future__ import annotations

from readaid.core.character import Character
from readaid.core.texts import plural, wording
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel, module_text, style_text


class LogPanel(Panel):
    """What was done on the desk's piece."""

    _esm = module_text("log_panel.js")
    _css = style_text("log_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.shown = False
        super().__init__()
        self.refresh()
        desk.listen(lambda what: self.refresh() if what == "records" else None)

    def refresh(self) -> None:
        """Show the log as it is now, nothing while it is closed."""
        piece = self.desk.piece
        lines = piece.log.lines() if self.shown else []
        self.state = {
            "open": self.shown,
            "locked": piece.read_only,
            "lines": [{"id": line.gesture, "when": line.made[:16].replace("T", " "), "who": line.reader,
                       "words": line.words, "character": line.character, "stands": line.stands, "back": line.way_back}
                      for line in lines],
        }

    def do_turn(self, open: bool) -> None:
        """Open or close the log."""
        self.shown = open
        self.refresh()

    def do_back(self, gesture: str) -> None:
        """Take back all of one's own that was done after a line."""
        many: list[int] = []
        self.desk.gesture(wording("back to an earlier state"),
                          lambda: many.append(self.desk.piece.log.back_to(gesture)))
        self.say(plural(many[0], "{0} step taken back; each stays in the log.",
                        "{0} steps taken back; each stays in the log."))

    def do_choose(self, character: str) -> None:
        """Show the sign a line is about."""
        if self.desk.find(Character, character) is not None:
            self.desk.choose(character=character)
