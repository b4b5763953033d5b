"""What every panel shares: one state to show, one way for the hand to ask, one place where faults are told.

Conventions: Python decides, JavaScript displays. ``state`` is JSON and whole on this side; the browser gets it once and
then only what changed in it: entries by name, and of a list of rows with ids only the rows that are new. The browser
asks with ``{"do": name, ...}`` and gets ``{"ack": n}`` when the asking was handled. Nothing here is saved in the
notebook: the register holds everything, and a panel rebuilds itself when its cell runs.
"""

from __future__ import annotations

import asyncio
import contextlib
import functools
import logging
import threading
import traceback
from collections.abc import Callable, Coroutine, Iterator, Sequence
from typing import TYPE_CHECKING, Any

import anywidget
import traitlets as t

from readaid.core.confidence import VALUES, WORDS
from readaid.core.errors import ReadaidError
from readaid.core.places import hentaigana_font, text_font
from readaid.core.texts import language, refusal, told, wording
from readaid.widgets.messages import Change, RowsTold, Run, Splice, Told
from readaid.widgets.modules import module_text, style_text

if TYPE_CHECKING:
    from readaid.widgets.desk import Desk

__all__ = ["Panel", "Part", "confidence_values", "confidence_words", "module_text", "style_text"]

log = logging.getLogger("readaid.widgets")


@functools.cache
def letters_font() -> bytes:
    """The shipped font of the 286 kana letters (woff2, Noto Serif Hentaigana, SIL Open Font License)."""
    return hentaigana_font().read_bytes()


#: Rows of a list shorter than this are sent whole.
FEW = 12
#: Entries of a row that one new row changes in all that follow it: these go as one list of values.
COUNTED = ("label",)


def difference(before: dict[str, Any], now: dict[str, Any]) -> Change:
    """What the browser must be told so that ``before`` becomes ``now``: entries put, entries gone, rows of lists.

    >>> difference({"a": 1, "b": 2}, {"a": 1, "c": 3})
    {'put': {'c': 3}, 'gone': ['b'], 'rows': {}}
    """
    put = {k: v for k, v in now.items() if k not in before or (before[k] is not v and before[k] != v)}
    rows: dict[str, RowsTold] = {}
    for name, value in list(put.items()):
        former = before.get(name)
        if not (_rows(value) and _rows(former)):
            continue
        known = {r["id"]: r for r in former or ()}
        was_order, order = [r["id"] for r in former or ()], [r["id"] for r in value]
        counted = [k for k in COUNTED if k in value[0]]
        changed = [r for r in value if (was := known.get(r["id"])) is not r
                   and (was is None or (was | {k: r[k] for k in counted} if counted else was) != r)]
        if len(set(order)) == len(order) and 2 * len(changed) < len(order):
            del put[name]
            fresh = {r["id"]: r for r in changed}
            had = [fresh.get(r["id"]) or known[r["id"]] for r in value]
            told = {k: run for k in counted if (run := _run([r[k] for r in had], [r[k] for r in value]))}
            rows[name] = {"changed": changed, "order": _splice(was_order, order), "counted": told}
    return {"put": put, "gone": [k for k in before if k not in now], "rows": rows}


def _ends(before: list[Any], now: list[Any]) -> tuple[int, int]:
    """How many entries at the head and at the tail are equal; none is counted twice."""
    most = min(len(before), len(now))
    head = next((n for n in range(most) if before[n] != now[n]), most)
    tail = next((n for n in range(most - head) if before[-1 - n] != now[-1 - n]), most - head)
    return head, tail


def _splice(before: list[str], now: list[str]) -> Splice | None:
    """One sign among a thousand is one id, not a thousand.

    >>> _splice(["a", "b", "c"], ["a", "x", "c"]), _splice(["a"], ["a"])
    ({'at': 1, 'gone': 1, 'ids': ['x']}, None)
    """
    head, tail = _ends(before, now)
    if head == len(before) == len(now):
        return None
    return {"at": head, "gone": len(before) - head - tail, "ids": now[head:len(now) - tail]}


def _run(before: list[Any], now: list[Any]) -> Run | None:
    head, tail = _ends(before, now)
    return None if head == len(now) else {"at": head, "values": now[head:len(now) - tail]}


def _rows(value: Any) -> bool:
    return isinstance(value, list) and len(value) >= FEW and all(isinstance(r, dict) and "id" in r for r in value)


class Part:
    """A part of a panel's work: held by the panel, answers askings (``do_x``) as the panel does.

    ``panel`` is the one that holds it, with its desk and its other parts; each part says which panel that is.
    """

    def __init__(self, panel: Any) -> None:
        self.panel = panel

    def say(self, text: str, kind: str = "info") -> None:
        """Tell a sentence where the panel tells its own."""
        self.panel.say(text, kind)

    def refresh(self) -> None:
        """Let the panel show itself anew."""
        self.panel.refresh()


class Panel(anywidget.AnyWidget):
    """Base of all panels.

    A subclass sets ``_esm`` and ``_css``, fills ``state`` in ``refresh`` and answers ``{"do": "x"}`` in a method
    ``do_x``, its own or that of one of the ``parts`` it holds. A ReadaidError becomes a sentence on the screen; any
    other fault too, with its trace kept in ``fault``.
    """

    desk: Desk
    state = t.Dict().tag(sync=True)
    #: Counts the states told; a browser that missed one asks for the whole again.
    told = t.Int(0).tag(sync=True)
    #: The language the panel speaks; another one and the browser lays the panel anew.
    spoken = t.Unicode("en").tag(sync=True)

    def __init__(self, **kwargs: Any) -> None:
        self._before: dict[str, Any] | None = None
        super().__init__(spoken=language(), **kwargs)
        desk = getattr(self, "desk", None)
        self.lock: threading.RLock = desk.lock if desk is not None else threading.RLock()  # type: ignore[valid-type]
        self.fault = ""
        self.parts: tuple[Any, ...] = getattr(self, "parts", ())
        self._tasks: set[asyncio.Task[None]] = set()
        self.on_msg(self._asked)

    # --- to the screen -------------------------------------------------
    def send(self, content: Told, buffers: Sequence[bytes | memoryview] | None = None) -> None:
        """Send a message of a known kind to the browser, bytes beside it."""
        super().send(content, list(buffers or []))

    def say(self, text: str, kind: str = "info") -> None:
        """Tell a sentence in the panel's live region ("info", "quiet") or as a fault ("error")."""
        self.send({"say": text, "kind": kind})

    def refresh(self) -> None:
        """Fill ``state`` from the piece; subclasses override."""

    def _should_send_property(self, key: str, value: Any) -> bool:
        if key == "told":
            return False
        if key != "state":
            return bool(super()._should_send_property(key, value))
        before, self._before = self._before, value
        if before is not None:
            self.told += 1
            changed = difference(before, value)
            self.send({"type": "state", "n": self.told, "put": changed["put"], "gone": changed["gone"],
                       "rows": changed["rows"]})
        return False

    def get_state(self, *args: Any, **kwargs: Any) -> Any:
        """The whole state for a page that opens; from then on only what changes is sent."""
        self._before = self.state
        return super().get_state(*args, **kwargs)

    def do_whole(self, told: int) -> None:
        """Send everything to a page that missed something (what is sent before it listens is lost)."""
        if told != self.told:
            self.send({"type": "state", "n": self.told, "whole": self._before})

    # --- from the hand -------------------------------------------------
    def _asked(self, _widget: Any, content: dict[str, Any], buffers: list[Any]) -> None:
        args = {k: v for k, v in content.items() if k not in ("do", "n")}
        if buffers:
            args["buffers"] = buffers
        with_fault = self.guarded(self._dispatch, content.get("do", ""), args)
        if "n" in content:
            self.send({"ack": content["n"], "ok": not with_fault})

    @contextlib.contextmanager
    def _gathered(self) -> Iterator[None]:
        """What one step changes is told to the panels once, when it is done; no other step comes between."""
        desk = getattr(self, "desk", None)
        with self.lock, desk.gathered() if desk is not None else contextlib.nullcontext():
            yield

    def _dispatch(self, name: str, args: dict[str, Any]) -> None:
        holder = next((h for h in (self, *self.parts) if hasattr(h, f"do_{name}")), None)
        if holder is None:
            raise ReadaidError(f"The panel does not know '{name}'", type(self).__name__, "reload the page")
        getattr(holder, f"do_{name}")(**args)

    def guarded(self, work: Callable[..., Any], *args: Any) -> bool:
        """Run ``work``; tell a fault on the screen instead of raising. True when there was one."""
        try:
            with self._gathered():
                work(*args)
        except ReadaidError as error:
            self.say(refusal(error), "error")
            self.refresh()
            return True
        except Exception as error:
            self._tell_fault(error)
            return True
        return False

    def _tell_fault(self, error: BaseException) -> None:
        self.fault = "".join(traceback.format_exception(error))
        log.error("panel fault\n%s", self.fault)
        self.say(wording("This step failed ({0}: {1}). Nothing saved is lost; try again.", type(error).__name__, error),
                 "error")

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
                self.say(refusal(error), "error")
                self.refresh()
                return
            except Exception as error:
                self._tell_fault(error)
                return
            if done:
                self.guarded(done, result)  # takes the lock

        self.beside(run(), loop)

    def beside(self, work: Coroutine[Any, Any, None], loop: asyncio.AbstractEventLoop | None = None) -> None:
        """Let a coroutine run on the loop, held until it ends; raises RuntimeError where no loop runs."""
        try:
            task = (loop or asyncio.get_running_loop()).create_task(work)
        except RuntimeError:
            work.close()
            raise
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    @property
    def under_way(self) -> frozenset[asyncio.Task[None]]:
        """Work beside the loop that has not ended."""
        return frozenset(self._tasks)

    # --- what every panel answers ----------------------------------------
    def do_undo(self) -> None:
        """Take the last step of this page back."""
        words = self.desk.undo()
        self.say(wording("Taken back: {0}.", words) if words else wording("Nothing to take back."))

    def do_redo(self) -> None:
        """Do the last step taken back again."""
        words = self.desk.redo()
        self.say(wording("Done again: {0}.", words) if words else wording("Nothing to do again."))

    def speak(self) -> None:
        """Show everything in the language spoken now."""
        self.refresh()
        self.spoken = language()

    def do_step(self, by: int) -> None:
        """Go to the next or an earlier sign."""
        self.desk.step(by)

    def do_face(self) -> None:
        """Hand the text face to the page as bytes."""
        self.send({"type": "face"}, buffers=[text_font().read_bytes()])

    def do_font(self) -> None:
        """Hand the letters' font to the page as bytes."""
        self.send({"type": "font"}, buffers=[letters_font()])


def confidence_words() -> list[list[Any]]:
    """The words for confidences with their upper bounds, for the browser."""
    return [[told(word), top] for word, top in WORDS]


def confidence_values() -> dict[str, float]:
    """The number a word stands for when the reader picks the word."""
    return {told(word): value for word, value in VALUES.items()}
