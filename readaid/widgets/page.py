"""The pages: one call per notebook, which opens the bench at the notebook's place.

Conventions: which piece is meant stands in ``piece_choice``.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from readaid.widgets.bench import Bench
from readaid.widgets.piece_choice import open_desk, piece_folder

__all__ = ["album", "open_bench", "open_desk", "photo_page", "piece_folder", "reading_page", "register_page",
           "school_page"]

if TYPE_CHECKING:
    from readaid.widgets.album_panel import AlbumPanel


def open_bench(folder: str | os.PathLike[str] | None = None, stage: str = "photographs") -> Bench:
    """The bench with a piece on it, at one of its places (see :class:`readaid.widgets.bench.Bench`)."""
    return Bench(open_desk(folder), stage)


def album(place: str | os.PathLike[str], title: str | None = None, reader: str | None = None) -> AlbumPanel:
    """A school on the screen, without a piece; begun in ``place`` under ``title`` where there is none yet."""
    from readaid.widgets.album_panel import album as opened  # loads the room of schools: not with every piece

    return opened(place, title=title, reader=reader)


def photo_page(folder: str | os.PathLike[str] | None = None) -> Bench:
    """The bench where photographs are looked at and signs are marked."""
    return open_bench(folder, "photographs")


def reading_page(folder: str | os.PathLike[str] | None = None) -> Bench:
    """The bench where signs are made out and readings follow."""
    return open_bench(folder, "reading")


def school_page(folder: str | os.PathLike[str] | None = None) -> Bench:
    """The bench where the signature is taken apart and forms are compared."""
    return open_bench(folder, "school")


def register_page(folder: str | os.PathLike[str] | None = None) -> Bench:
    """The bench where attempts, their history and the report are."""
    return open_bench(folder, "report")
