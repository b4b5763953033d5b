"""Notes pinned to a place of the photograph: shown on it, written and taken away there.

Conventions: a place is kept in full-size pixels of the untouched photograph; what passes to and from the browser is in
pixels of the picture as it is read. A private note stays here whatever leaves (see ``core.veil``).
"""

from __future__ import annotations

from typing import Any

from readaid.core.errors import OptionError
from readaid.core.photo import Photo
from readaid.core.texts import wording
from readaid.widgets.panel import Part


class PinnedNotes(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""

    def shown(self, photo: Photo) -> list[dict[str, Any]]:
        """The notes pinned to a photograph, in the order they were written."""
        held = [n for n in self.panel.desk.contents.notes if n.about == photo.id and n.place is not None]
        turned = self.panel.showing.turned_points([list(n.place) for n in held], photo)
        return [{"id": n.id, "text": n.text, "private": n.private, "x": x, "y": y}
                for n, (x, y) in zip(held, turned, strict=True)]

    def do_pin(self, point: list[float], text: str, private: bool = False) -> None:
        """Pin a note to a place of the shown photograph."""
        words = text.strip()
        if not words:
            raise OptionError("The note says nothing yet", cure="write what is to be seen there")
        photo = self.panel.shown_photo()
        (x, y), = self.panel.showing.turned_points([point], photo)
        self.panel.desk.gesture(wording("note pinned"), lambda: self.panel.desk.piece.add_note(
            photo.id, words, place=(round(float(x), 1), round(float(y), 1)), private=private))
        self.say(wording("The note is pinned to the photograph."))

    def do_unpin(self, note: str) -> None:
        """Take a note away; it stays in the history."""
        held = next((n for n in self.panel.desk.contents.notes if n.id == note), None)
        if held is None:
            raise OptionError("That note is not there any more", note, "choose another")
        piece, before = self.panel.desk.piece, self.panel.desk.contents
        self.panel.desk.gesture(wording("note taken away"), lambda: piece.save(
            withdraw=[held.id], reason="note taken away", base=before))
        self.say(wording("The note is taken away; it stays in the history."))
