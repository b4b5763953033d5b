"""What every panel shares: one state to show, one way for the hand to ask, one place where faults are told.

Conventions: Python decides, JavaScript displays. ``state`` is JSON and whole;
the browser asks with ``{"do": name, ...}`` and gets ``{"ack": n}`` when the
asking was handled. Nothing here is saved in the notebook: the register holds
everything, and a panel rebuilds itself when its cell runs.
"""

from __future__ import annotations

import asyncio
import base64
import functools
import logging
import threading
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets as t

from readaid.core.confidence import VALUES, WORDS
from readaid.core.errors import ReadaidError
from readaid.core.places import hentaigana_font

STATIC = Path(__file__).resolve().parent / "static"
log = logging.getLogger("readaid.widgets")


@functools.cache
def module_text(name: str) -> str:
    """The panel's ESM with the shared kit as a data address, so that no server has to hand out files.

    A relative import cannot work: the notebook loads the text of a module, not its address.
    """
    text = (STATIC / name).read_text(encoding="utf-8")
    kit = base64.b64encode((STATIC / "kit.js").read_bytes()).decode("ascii")
    return text.replace('"./kit.js"', f'"data:text/javascript;charset=utf-8;base64,{kit}"')


@functools.cache
def style_text(*names: str) -> str:
    """The shared style sheet followed by the panel's own."""
    return "\n".join((STATIC / n).read_text(encoding="utf-8") for n in ("kit.css", *names))


@functools.cache
def letters_font() -> bytes:
    """The shipped font of the 286 kana letters (woff2, Noto Serif Hentaigana, SIL Open Font License)."""
    return hentaigana_font().read_bytes()


class Panel(anywidget.AnyWidget):
    """Base of all panels.

    A subclass sets ``_esm`` and ``_css``, fills ``state`` in ``refresh`` and
    answers ``{"do": "x"}`` in a method ``do_x``. A ReadaidError becomes a
    sentence on the screen; any other fault too, with its trace kept in ``fault``.
    """

    state = t.Dict().tag(sync=True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        desk = getattr(self, "desk", None)
        self.lock: threading.RLock = desk.lock if desk is not None else threading.RLock()  # type: ignore[valid-type]
        self.fault = ""
        self._tasks: set[asyncio.Task[None]] = set()
        self.on_msg(self._asked)

    # --- to the screen -------------------------------------------------
    def say(self, text: str, kind: str = "info") -> None:
        """Tell a sentence in the panel's live region ("info", "quiet") or as a fault ("error")."""
        self.send({"say": text, "kind": kind})

    def refresh(self) -> None:
        """Fill ``state`` from the piece; subclasses override."""

    # --- from the hand -------------------------------------------------
    def _asked(self, _widget: Any, content: dict[str, Any], buffers: list[Any]) -> None:
        args = {k: v for k, v in content.items() if k not in ("do", "n")}
        if buffers:
            args["buffers"] = buffers
        with_fault = self.guarded(self._dispatch, content.get("do", ""), args)
        if "n" in content:
            self.send({"ack": content["n"], "ok": not with_fault})

    def _dispatch(self, name: str, args: dict[str, Any]) -> None:
        handler = getattr(self, f"do_{name}", None)
        if handler is None:
            raise ReadaidError(f"The panel does not know '{name}'", type(self).__name__, "reload the page")
        handler(**args)

    def guarded(self, work: Callable[..., Any], *args: Any) -> bool:
        """Run ``work``; tell a fault on the screen instead of raising. True when there was one."""
        try:
            with self.lock:
                work(*args)
        except ReadaidError as error:
            self.say(str(error), "error")
            self.refresh()
            return True
        except Exception as error:
            self._tell_fault(error)
            return True
        return False

    def _tell_fault(self, error: BaseException) -> None:
        self.fault = "".join(traceback.format_exception(error))
        log.error("panel fault\n%s", self.fault)
        self.say(
            f"This step failed ({type(error).__name__}: {error}). Nothing saved is lost; try again.",
            "error",
        )

    def later(self, work: Callable[[], Any], done: Callable[[Any], None] | None = None) -> None:
        """Run ``work`` beside the notebook's own loop and hand its result to ``done`` on the loop.

        Tiles and clicks go on being answered meanwhile. Without a running loop (a
        plain script, a test) it runs at once.
        """
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.guarded(lambda: done(work()) if done else work())
            return

        async def run() -> None:
            try:
                result = await asyncio.to_thread(work)
            except ReadaidError as error:
                self.say(str(error), "error")
                self.refresh()
                return
            except Exception as error:
                self._tell_fault(error)
                return
            if done:
                self.guarded(done, result)  # takes the lock

        task = loop.create_task(run())
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    def do_font(self) -> None:
        """Hand the letters' font to the page as bytes."""
        self.send({"type": "font"}, buffers=[letters_font()])


def confidence_words() -> list[list[Any]]:
    """The words for confidences with their upper bounds, for the browser."""
    return [[word, top] for word, top in WORDS]


def confidence_values() -> dict[str, float]:
    """The number a word stands for when the reader picks the word."""
    return dict(VALUES)
