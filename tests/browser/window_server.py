"""The window's own server for tests: it takes any piece and any code, and keeps a kernel for each piece.

Conventions: page, handler and kernel are the product's; only which piece is meant comes with the address.
"""

from __future__ import annotations

import os
from typing import Any

from tornado import web

from readaid.bench_window import BenchWindow, PageHandler, laid, page
from readaid.core.errors import ReadaidError
from readaid.core.greeting import Greeting
from readaid.core.preference import preferred
from readaid.piece.lab import still
from readaid.piece.open_piece import OpenPiece


def told(folder: str) -> Greeting:
    """What the launcher would write of a piece; nothing where there is none."""
    try:
        with OpenPiece(folder) as piece:
            return Greeting(piece.contents.piece.title, piece.reader, still(piece))
    except ReadaidError:
        return Greeting()


class AnyHandler(PageHandler):
    """The page on the piece that the address names (``?folder=&stage=&code=``)."""

    @web.authenticated
    async def get(self) -> None:
        """The page."""
        folder = self.get_argument("folder")
        known = told(folder)
        code = self.get_argument("code", "") or laid(self.get_argument("stage"), preferred(known.reader, "language"))
        self.finish(page(known, self.base_url, await self.window.kernel_for(folder), code))  # type: ignore[attr-defined]


class AnyWindow(BenchWindow):
    """A window on many pieces; a kernel here is wanted as soon as it stands."""

    ready = "pass"

    def __init__(self, **given: Any) -> None:
        super().__init__(**given)
        self._kernels: dict[str, str] = {}

    def initialize_handlers(self) -> None:
        """The product's page and the one that takes any piece."""
        super().initialize_handlers()
        self.handlers.append(("/any", AnyHandler))

    async def kernel_for(self, folder: str) -> str:
        """The kernel of a piece; another one where it has ended."""
        self._kernel = self._kernels.get(folder, "")
        os.environ["READAID_PIECE"] = folder  # a kernel takes over what its server has when it starts
        self._kernels[folder] = await self.kernel()
        return self._kernels[folder]

    async def _start_jupyter_server_extension(self, serverapp: Any) -> None:
        """No kernel before a piece is named."""


def _jupyter_server_extension_points() -> list[dict[str, Any]]:
    return [{"module": __name__, "app": AnyWindow}]


def main() -> None:
    """Start the server with the arguments of the command line."""
    AnyWindow.launch_instance()  # type: ignore[no-untyped-call]
