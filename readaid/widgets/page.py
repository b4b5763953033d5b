"""The pages: one call per notebook, which lays the right panels on one desk.

Conventions: ``folder`` is a piece folder, named in the notebook's first cell; without one the environment variable
READAID_PIECE counts, then the demo piece in the user's home folder, made on demand. Where the notebook lies counts
for nothing: a colleague may have sent that folder.
"""

from __future__ import annotations

import base64
import os
from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets

from readaid.core.errors import ReadaidError
from readaid.piece.folder import is_piece
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel

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
    return Desk(piece)


class Page(ipywidgets.Box):
    """Panels below one another, or side by side where there is room; a still picture where there is no kernel.

    ``rows`` holds one tuple per row with one column each; a column is a panel, or a tuple of panels below one another.
    """

    def __init__(self, title: str, desk: Desk, rows: Sequence[Sequence[Panel | tuple[Panel, ...]]]) -> None:
        self.title, self.desk = title, desk
        self.panels: list[Panel] = []
        shelves = []
        column_layout = ipywidgets.Layout(width="100%", overflow="visible")
        for columns in rows:
            row: list[Any] = []
            for column in columns:
                below = column if isinstance(column, tuple) else (column,)
                self.panels.extend(below)
                row.append(below[0] if len(below) == 1 else ipywidgets.VBox(children=below, layout=column_layout))
            if len(row) == 1:
                shelves.append(row[0])
            else:
                grid = ipywidgets.Layout(
                    display="grid",
                    width="100%",
                    grid_gap="0 14px",
                    grid_template_columns="repeat(auto-fit, minmax(min(560px, 100%), 1fr))",
                )
                shelves.append(ipywidgets.Box(children=tuple(row), layout=grid))
        if desk.piece.notices:
            told = "".join(f"<li>{escape(n)}</li>" for n in desk.piece.notices)
            shelves.insert(0, ipywidgets.HTML(
                f'<div role="alert" style="border-left:5px solid #b4451f;background:#fdf1ec;padding:8px 14px;'
                f'margin:0 0 8px;line-height:1.5"><b>Before you go on</b><ul style="margin:4px 0">{told}</ul></div>'))
        super().__init__(
            children=tuple(shelves),
            layout=ipywidgets.Layout(display="flex", flex_flow="column", width="100%", overflow="visible"),
        )
        desk.watch()

    def panel(self, kind: type[Panel]) -> Any:
        """The page's panel of a kind."""
        for panel in self.panels:
            if isinstance(panel, kind):
                return panel
        raise ReadaidError(f"This page has no {kind.__name__}", self.title)

    def summary(self) -> str:
        """What lies on the desk, in a line."""
        c = self.desk.contents
        return (
            f"{self.title}: {c.piece.title}; {_n(len(c.photos), 'photograph')}, {_n(len(c.zones), 'zone')}, "
            f"{_n(len(c.inscriptions), 'inscription')}, {_n(len(c.attempts), 'attempt')}"
        )

    def __repr__(self) -> str:
        return self.summary()

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        bundle = super()._repr_mimebundle_(**kwargs)
        data, meta = bundle if isinstance(bundle, tuple) else (bundle or {}, {})
        data = {**data, "text/plain": self.summary()}
        still = next((p.overview for p in self.panels if getattr(p, "overview", b"")), b"")
        if still:
            data["image/jpeg"] = base64.b64encode(still).decode("ascii")
        return data, meta


def _n(n: int, what: str) -> str:
    return f"{n} {what}" + ("" if n == 1 else "s")


def photo_page(folder: str | os.PathLike[str] | None = None) -> Page:
    """Photograph and zones: the board."""
    from readaid.widgets.photo_board import PhotoBoard

    desk = open_desk(folder)
    return Page("Photograph and zones", desk, [[PhotoBoard(desk)]])


def reading_page(folder: str | os.PathLike[str] | None = None) -> Page:
    """Characters and reading: a board to choose on, the chosen sign, the readings."""
    from readaid.widgets.character_panel import CharacterPanel
    from readaid.widgets.photo_board import PhotoBoard
    from readaid.widgets.reading_panel import ReadingPanel
    from readaid.widgets.tracing_panel import TracingPanel

    desk = open_desk(folder)
    if not desk.character:
        desk.step(1)
    board = PhotoBoard(desk, editing=False, height=430, title="Choose a sign")
    return Page(
        "Characters and reading", desk, [[(board, TracingPanel(desk)), CharacterPanel(desk)], [ReadingPanel(desk)]]
    )


def school_page(folder: str | os.PathLike[str] | None = None) -> Page:
    """Signature and school: who may have signed, when, and what the forms are like."""
    from readaid.widgets.compare_panel import ComparePanel
    from readaid.widgets.school_panel import SchoolPanel
    from readaid.widgets.signature_panel import SignaturePanel

    desk = open_desk(folder)
    return Page("Signature and school", desk, [[SignaturePanel(desk)], [ComparePanel(desk)], [SchoolPanel(desk)]])


def register_page(folder: str | os.PathLike[str] | None = None) -> Page:
    """Register and report: attempts and their history, the piece, the report."""
    from readaid.widgets.piece_panel import PiecePanel
    from readaid.widgets.register_panel import RegisterPanel
    from readaid.widgets.report_panel import ReportPanel
    from readaid.widgets.sharing_panel import SharingPanel

    desk = open_desk(folder)
    return Page(
        "Register and report",
        desk,
        [[RegisterPanel(desk)], [PiecePanel(desk)], [ReportPanel(desk)], [SharingPanel(desk)]],
    )
