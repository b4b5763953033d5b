"""The report panel: choose, write, look, save a copy.

Conventions: the report is written into ``exports/`` of the piece folder; the
page gets its bytes, so that looking and saving need no address.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from readaid.core.errors import unknown_option
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel, module_text, style_text

_MIME = {
    "html": "text/html",
    "csv": "text/csv",
    "md": "text/markdown",
    "xml": "application/xml",
    "json": "application/json",
}
_LOOKS = {"html": "html", "csv": "text", "md": "text", "xml": "text", "json": "text"}
_SETTINGS = ("format", "edition", "language", "private", "blind")


class ReportPanel(Panel):
    """Reports of the desk's piece."""

    _esm = module_text("report_panel.js")
    _css = style_text("report_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.format, self.edition, self.language, self.private, self.blind = "html", "leiden", "en", False, False
        self.busy = False
        self.written: Path | None = None
        super().__init__()
        self.refresh()

    def refresh(self) -> None:
        """Show the choices."""
        from readaid.report import FORMATS

        self.state = {
            "formats": [[name, f"{name.upper()}: {f.purpose}"] for name, f in FORMATS.items()],
            "busy": self.busy,
            **{name: getattr(self, name) for name in _SETTINGS},
        }

    def do_set(self, name: str, value: Any) -> None:
        """Choose a format, an edition, a language or what is left out."""
        if name not in _SETTINGS:
            raise unknown_option("report setting", name, _SETTINGS)
        setattr(self, name, value)
        self.refresh()

    def do_write(self) -> None:
        """Write the report beside the loop and hand it to the page."""
        self.busy = True
        self.refresh()
        options = {name: getattr(self, name) for name in _SETTINGS}

        def work() -> tuple[Path, bytes]:
            try:
                path = self.desk.piece.report(**options)
                return path, path.read_bytes()
            finally:
                self.busy = False

        def done(result: tuple[Path, bytes]) -> None:
            path, data = result
            self.written = path
            suffix = path.suffix.lstrip(".")
            size = f"{len(data) / 1e6:.1f} MB" if len(data) > 200_000 else f"{len(data) / 1e3:.0f} kB"
            self.refresh()
            self.send(
                {
                    "type": "report",
                    "name": path.name,
                    "path": str(path),
                    "size": size,
                    "mime": _MIME.get(suffix, "application/octet-stream"),
                    "look": _LOOKS.get(suffix, ""),
                },
                buffers=[data],
            )

        self.later(work, done)
