"""Letters looked for by sound, parent kanji, part and look-alikes, for the panel of the sign.

Conventions: what was found stands in the panel's ``found``; nothing is entered by it.
"""

from __future__ import annotations

from typing import Any

from readaid.core.errors import ReadaidError
from readaid.core.texts import wording
from readaid.widgets.letter_rows import alike_rows, letter_row, part_rows
from readaid.widgets.panel import Part


class LetterSearch(Part):
    """Held by :class:`readaid.widgets.character_panel.CharacterPanel`."""


    def do_by_sound(self, sound: str) -> None:
        """Every kana letter of a sound with its parent kanji."""
        from readaid.script.hentaigana import letters

        rows = [letter_row(x) for x in letters(sound)]
        self.panel.found = {
            "by": "sound",
            "rows": rows,
            "words": wording("{0}: {1} letters, the usual ones first; below each its parent kanji.", sound, len(rows)),
        }
        self.panel.refresh()

    def do_by_parent(self, parent: str) -> None:
        """Every kana letter that came from a kanji."""
        from readaid.script.hentaigana import by_parent

        rows = [letter_row(x) for sign in parent for x in by_parent(sign)]
        rows += [
            {"character": sign, "under": wording(
                "the kanji itself"), "title": wording(
                "the kanji {0} itself",
                sign)} for sign in parent
        ]
        words = (
            wording("From {0}: {1} letters.", parent, len(rows) - len(parent))
            if len(rows) > len(parent)
            else wording(
                "No kana letter comes from {0}{1}; it may stand for itself.",
                parent[:12],
                '…' if len(parent) > 12 else '')
        )
        self.panel.found = {"by": "parent", "rows": rows, "words": words}
        self.panel.refresh()

    def do_by_part(self, part: str, place: str = "") -> None:
        """Kanji with a part that can still be seen, where it stands if that is told."""
        self.panel.found = {"by": "part", "rows": [], "words": wording("Looking through the kanji …")}
        self.panel.refresh()

        def work() -> Any:  # the first time reads a table of 3,000 files: some seconds
            try:
                return part_rows(part.strip(), place)
            except ReadaidError as error:
                return error

        def done(result: Any) -> None:
            if not self.panel.found or self.panel.found["by"] != "part":
                return
            if isinstance(result, ReadaidError):
                self.panel.found = None
                raise result
            self.panel.found = result
            self.panel.refresh()

        self.panel.later(work, done)

    def do_alike(self, character: str) -> None:
        """The characters a character is commonly confused with in cursive, with pictures."""
        self.panel.found = alike_rows(character)
        self.panel.refresh()
