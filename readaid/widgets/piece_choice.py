"""Which piece is laid on the desk.

Conventions: ``folder`` is a piece folder, named in the notebook's first cell; without one the environment variable
READAID_PIECE counts, then the demo piece in the user's home folder, made on demand. Where the notebook lies counts
for nothing: a colleague may have sent that folder.
"""

from __future__ import annotations

import os
from pathlib import Path

from readaid.core.preference import preferred
from readaid.core.texts import speak
from readaid.piece.folder import is_piece
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.desk import Desk

VARIABLE = "READAID_PIECE"
#: Folder of the demo piece, in the user's home folder, where no other piece is meant.
DEMO = "readaid-demo"


def piece_folder(folder: str | os.PathLike[str] | None = None) -> Path:
    """Where the piece of this page lies (see the module's conventions); makes the demo piece if there is no other."""
    named = folder if folder is not None else os.environ.get(VARIABLE)
    if named:
        return Path(named).expanduser().resolve()
    return Path.home().resolve() / DEMO


def open_desk(folder: str | os.PathLike[str] | None = None) -> Desk:
    """The desk for a page; a piece on locked media is opened for reading."""
    place = piece_folder(folder)
    if place.name == DEMO and not is_piece(place):
        from readaid.piece.demo import build

        build(place).close()
    if not place.exists() or not is_piece(place):
        return Desk(OpenPiece(place))  # raises with the cure
    piece = OpenPiece(place)
    if getattr(piece.register, "read_only", False):
        piece = OpenPiece(place, read_only=True)
    speak(preferred(piece.reader, "language"))
    return Desk(piece)
