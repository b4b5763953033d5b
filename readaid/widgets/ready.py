"""What a kernel does before the page asks for the bench: the panels and the tables behind them are loaded."""

from __future__ import annotations

import contextlib

from readaid.core.errors import ReadaidError
from readaid.widgets.page import open_bench


def get_ready() -> None:
    """Lay the piece on a bench that nobody sees and clear it away again: all that is loaded at first use is loaded.

    A piece that cannot be opened is passed over here: the page will be told why.
    """
    with contextlib.suppress(ReadaidError):
        open_bench().close()
