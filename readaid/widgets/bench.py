"""The bench: one page on which photograph, sheet, sign and reading stay in sight together.

Conventions: the bench holds its panels by name and lays them on one grid; a place of the bench (``stage``) says which
of them are in sight. ``head``, ``board``, ``sheet``, ``sign`` and ``line`` are there from the start, the others are
made when their place is first visited. Another piece on the bench is another desk: the panels are made anew.
"""

from __future__ import annotations

import asyncio
import base64
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import ipywidgets

from readaid.core.errors import ReadaidError, unknown_option
from readaid.core.texts import told
from readaid.widgets.desk import Desk
from readaid.widgets.head_panel import STAGES, HeadPanel, facts
from readaid.widgets.panel import Panel
from readaid.widgets.piece_choice import open_desk


def _makers(stage: str) -> dict[str, Callable[[Desk], Panel]]:
    """Panels of a place of the bench beyond those that are always there; imported when they are needed."""
    if stage == "school":
        from readaid.widgets.compare_panel import ComparePanel
        from readaid.widgets.school_panel import SchoolPanel
        from readaid.widgets.signature_panel import SignaturePanel

        return {"signature": SignaturePanel, "compare": ComparePanel, "school": SchoolPanel}
    if stage == "report":
        from readaid.widgets.piece_panel import PiecePanel
        from readaid.widgets.register_panel import RegisterPanel
        from readaid.widgets.report_panel import ReportPanel
        from readaid.widgets.sharing_panel import SharingPanel

        return {"register": RegisterPanel, "piece": PiecePanel, "report": ReportPanel, "sharing": SharingPanel}
    return {}


def _clear(widgets: Iterable[ipywidgets.DOMWidget]) -> None:
    """Close widgets, each with the layout that goes with it: what is not closed is held by ipywidgets for ever."""
    for widget in dict.fromkeys(widgets):
        widget.layout.close()
        widget.close()


class Bench(ipywidgets.Box):
    """The bench with a piece on it, at one of its places.

    Parameters
    ----------
    desk: the piece and what is chosen on it.
    stage: "photographs", "marks", "reading", "school" or "report".
    """

    def __init__(self, desk: Desk, stage: str = "photographs") -> None:
        if stage not in STAGES:
            raise unknown_option("place of the bench", stage, STAGES)
        super().__init__()
        self.add_class("ra-bench")
        self.held: dict[str, Panel] = {}
        self.desk = desk
        self._lay(desk, stage)

    def _lay(self, desk: Desk, stage: str) -> None:
        from readaid.widgets.character_panel import CharacterPanel
        from readaid.widgets.log_panel import LogPanel
        from readaid.widgets.photo_board import PhotoBoard
        from readaid.widgets.reading_panel import ReadingPanel
        from readaid.widgets.sheet_panel import SheetPanel

        self.desk = desk
        desk.stage = stage
        if not desk.character:
            desk.step(1)
        self.held = {"head": HeadPanel(desk, self.go, self.switch, self.speak), "board": PhotoBoard(desk),
                     "sheet": SheetPanel(desk), "sign": CharacterPanel(desk), "line": ReadingPanel(desk),
                     "log": LogPanel(desk)}
        for name, panel in self.held.items():
            panel.add_class(f"rb-{name}")
        self.held["sign"].tracer = self.trace  # type: ignore[attr-defined]
        self.children = tuple(self.held.values())
        self.go(stage)
        desk.watch()

    def go(self, stage: str) -> None:
        """Go to another place of the bench."""
        for name in STAGES:
            self.remove_class(f"ra-at-{name}")
        self.add_class(f"ra-at-{stage}")
        made = {n: make(self.desk) for n, make in _makers(stage).items() if n not in self.held}
        self.held.update(made)
        for name, panel in made.items():
            panel.add_class(f"rb-{name}")
        if made:
            box = ipywidgets.Box(children=tuple(made.values()))
            box.add_class("rb-wide").add_class(f"rb-wide-{stage}")
            self.children = (*self.children, box)
        if self.desk.stage != stage:
            self.desk.stage = stage
            self.desk.tell("choice")

    def trace(self) -> None:
        """Lay the sheet for tracing the chosen sign out."""
        from readaid.widgets.tracing_panel import TracingPanel

        if "tracing" not in self.held:
            self.held["tracing"] = TracingPanel(self.desk)
            self.held["tracing"].add_class("rb-tracing")
            self.children = (*self.children, self.held["tracing"])

    def speak(self) -> None:
        """Say everything in the language spoken now."""
        for panel in self.panels:
            panel.speak()

    def switch(self, folder: Path) -> None:
        """Lay another piece on the bench; the one that lies there stays as it is."""
        desk = open_desk(folder)
        former, lying = self.desk, (*self.panels, *self.children)
        former.close()
        self._lay(desk, "photographs" if not desk.contents.zones else former.stage)
        _clear(lying)
        former.piece.close()

    def close(self) -> None:
        """Clear the bench away with all that lies on it, in the browser too; what the register holds stays as it is."""
        if self.comm is not None:  # closed already, or never laid: Python closes what it lets go
            with self.desk.lock:
                self.desk.close()
                _clear((*self.panels, *self.children))
                self.desk.piece.close()
            self.layout.close()
        super().close()

    @property
    def under_way(self) -> set[asyncio.Task[None]]:
        """Work of the panels that has not ended."""
        return {task for panel in self.panels for task in panel.under_way}

    # --- for Python -----------------------------------------------------------------
    @property
    def panels(self) -> tuple[Panel, ...]:
        """All panels made so far."""
        return tuple(self.held.values())

    def panel(self, name: str) -> Any:
        """A panel by its name; raises ReadaidError where it was not made yet."""
        if name not in self.held:
            raise ReadaidError(f"This place of the bench has no panel '{name}'", self.desk.stage,
                               f"one of {', '.join(self.held)}")
        return self.held[name]

    def summary(self) -> str:
        """What lies on the bench, in a line."""
        counted = ", ".join(f"{n} {what}{'' if n == 1 else 's'}" for what, n in facts(self.desk).items())
        return f"{told(STAGES[self.desk.stage])}: {self.desk.contents.piece.title}; {counted}"

    def __repr__(self) -> str:
        return self.summary()

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The bench, with the photograph as a still picture for places without a kernel."""
        bundle = super()._repr_mimebundle_(**kwargs)
        data, meta = bundle if isinstance(bundle, tuple) else (bundle or {}, {})
        data = {**data, "text/plain": self.summary()}
        still = self.held["board"].overview
        if still:
            data["image/jpeg"] = base64.b64encode(still).decode("ascii")
        return data, meta
