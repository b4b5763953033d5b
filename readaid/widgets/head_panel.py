"""The head of the bench: which piece, whose work, at which place of the bench, that all is saved, the way back.

Conventions: places of the bench are named by ``STAGES``. Pieces that can be chosen are those beside the open one; any
other is opened by its folder. A piece made here lies beside the open one, too.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from readaid.core.errors import OptionError, unknown_option
from readaid.core.preference import prefer
from readaid.core.texts import LANGUAGES, language, speak, told, wording
from readaid.piece.folder import is_piece
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.desk import Desk
from readaid.widgets.modules import latin_face
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.stage_help import told_help

#: Places of the bench and the words for them, in the order of the work.
STAGES = {"photographs": "Photographs", "marks": "Marks", "reading": "Reading", "school": "Signature & school",
          "report": "Report"}
#: Pieces listed at most.
MOST = 60


class HeadPanel(Panel):
    """What always stands above the bench; ``go``, ``switch``, ``spoken`` tell the bench of a place, piece, language."""

    _esm = module_text("head_panel.js")
    _css = latin_face() + style_text("bench.css", "head_panel.css")

    def __init__(self, desk: Desk, go: Callable[[str], None], switch: Callable[[Path], None],
                 spoken: Callable[[], None] = lambda: None) -> None:
        self.desk, self._go, self._switch, self._spoken = desk, go, switch, spoken
        super().__init__()
        self.refresh()
        desk.listen(lambda _what: self.refresh())

    def refresh(self) -> None:
        """Show the piece and the way back as they are now."""
        desk, c = self.desk, self.desk.contents
        self.state = {
            "title": c.piece.title,
            "folder": str(desk.piece.folder),
            "reader": desk.piece.reader,
            "stages": [[k, told(words)] for k, words in STAGES.items()],
            "stage": desk.stage,
            "languages": [[k, words] for k, words in LANGUAGES.items()],
            "language": language(),
            "undo": desk.undo_words,
            "redo": desk.redo_words,
            "locked": desk.piece.read_only,
            "saved": wording("all saved, revision {0}", c.revision),
            "notices": [told(n) for n in desk.piece.notices],
            "help": told_help(desk.stage),
        }

    # --- asked ------------------------------------------------------------------------
    def do_stage(self, stage: str) -> None:
        """Go to another place of the bench."""
        if stage not in STAGES:
            raise unknown_option("place of the bench", stage, STAGES)
        self._go(stage)

    def do_language(self, name: str) -> None:
        """Speak another language from now on, on every panel; kept for the reader."""
        speak(name)
        prefer(self.desk.piece.reader, "language", name)
        self._spoken()

    def do_pieces(self) -> None:
        """Tell the pieces that lie beside this one."""
        here = self.desk.piece.folder
        rows = []
        try:
            beside = sorted(p for p in here.parent.iterdir() if p != here and p.is_dir() and is_piece(p))
        except OSError:  # the folder above may not be read
            beside = []
        for place in beside[:MOST]:
            rows.append((str(place), place.name))
        self.send({"type": "pieces", "rows": rows, "where": str(here.parent)})

    def do_open(self, folder: str) -> None:
        """Lay another piece on the bench."""
        if not folder.strip():
            raise OptionError("No folder is named", cure="choose a piece of the list, or write the folder it lies in")
        self._switch(Path(folder.strip()).expanduser())

    def do_new(self, title: str) -> None:
        """Start a piece beside this one and lay it on the bench."""
        words = title.strip()
        if not words:
            raise OptionError("The piece needs a name", cure="write what it is called, such as 'tobacco box, inv. 12'")
        name = re.sub(r"[^\w\- ]+", "", words).strip().replace(" ", "-")[:60] or "piece"
        place = self.desk.piece.folder.parent / name
        n = 2
        while place.exists():
            place = place.with_name(f"{name}-{n}")
            n += 1
        OpenPiece.new(place, reader=self.desk.piece.reader, title=words).close()
        self._switch(place)

    def do_reader(self, name: str) -> None:
        """Say who reads; written beside every revision from now on."""
        value = name.strip()
        if value and value != self.desk.piece.reader:
            self.desk.gesture(wording("reader changed"), lambda: self.desk.piece.describe(reader=value))
            self.desk.piece.reader = value
            self.refresh()


def facts(desk: Desk) -> dict[str, Any]:
    """What lies on the bench, counted."""
    c = desk.contents
    return {"photograph": len(c.photos), "zone": len(c.zones), "inscription": len(c.inscriptions),
            "attempt": len(c.attempts)}
