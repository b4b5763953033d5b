"""Links in a piece folder: none may stand where the program writes.

Conventions: a piece folder may come from anybody. A link in it that bears the name of a report, a backup or a journal
would let the program write that file wherever the link leads: a journal's lines into a shell's start file, once, in a
trial. Originals are looked at when they are opened (``holding``).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from readaid.core.errors import ReadaidError
from readaid.piece.folder import EXPORTS, PHOTOS, REGISTER

BACKUPS = "backups"


def refuse(folder: Path) -> None:
    """Raise ReadaidError where a link stands in the place of the register, of a folder we write into, or in one."""
    for path in _written(folder):
        if path.is_symlink():
            raise ReadaidError("A link stands in the piece folder where the program writes",
                               f"{path.relative_to(folder)} leads to {os.readlink(path)}",
                               "put the file or folder itself there, or remove the link")


def _written(folder: Path) -> Iterator[Path]:
    yield from (folder / name for name in (REGISTER, f"{REGISTER}-journal", PHOTOS))
    for name in (EXPORTS, BACKUPS):
        yield folder / name
        for place, folders, files in os.walk(folder / name):  # does not follow links
            yield from (Path(place) / one for one in (*folders, *files))
