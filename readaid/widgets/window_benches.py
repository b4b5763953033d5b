"""The benches of the windows on this kernel: one for each page that asked, cleared away when its page is gone.

Conventions: a page is known by the session that its messages name. A page that comes says whose sockets stand; the
benches of all others are cleared away, each when the work under way on it has ended, since that may still be kept. A
page that comes back after its bench was cleared away lays it anew (``static/window_page.js``).
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterable

from IPython import get_ipython

from readaid.core.errors import ReadaidError
from readaid.core.texts import refusal, speak
from readaid.widgets.bench import Bench
from readaid.widgets.page import open_bench

_laid: dict[str, Bench] = {}
#: Benches that wait for the end of the work under way on them.
_leaving: set[asyncio.Task[None]] = set()


def window_bench(stage: str, language: str) -> Bench:
    """The bench for the window; a RuntimeError in ``language`` tells what keeps the piece from opening."""
    speak(language)
    try:
        bench = open_bench(stage=stage)
    except ReadaidError as error:
        raise RuntimeError(refusal(error)) from error
    page = asking()
    _leave(page)  # a page lays one bench at a time
    if page:
        _laid[page] = bench
    return bench


def clear_away(pages: Iterable[str]) -> None:
    """Clear the benches of all pages away but those of ``pages``."""
    for page in set(_laid) - set(pages):
        _leave(page)


def asking() -> str:
    """Session of the page whose asking runs now; "" where no kernel was asked."""
    kernel = getattr(get_ipython(), "kernel", None)  # type: ignore[no-untyped-call]
    return "" if kernel is None else str(kernel.get_parent().get("header", {}).get("session", ""))


def _leave(page: str) -> None:
    bench = _laid.pop(page, None)
    if bench is None:
        return
    if not bench.under_way:
        bench.close()
        return

    async def close_then() -> None:
        while tasks := bench.under_way:
            await asyncio.wait(tasks)
        bench.close()

    task = asyncio.get_running_loop().create_task(close_then())
    _leaving.add(task)
    task.add_done_callback(_leaving.discard)
