"""The bench alone in a browser window: one page, one kernel, no notebook around it.

Conventions: a Jupyter Server without any other extension hands out one page. The kernel is started with the server and
loads the panels while the browser is still on its way; the page speaks Jupyter's own messages with it, over the
server's channels, and draws the widgets itself (``widgets/static/window_*.js``). What to show is told in a file that
the launcher (``piece.lab``) writes (:class:`readaid.core.greeting.Greeting`). ``main`` starts it.
"""

from __future__ import annotations

import asyncio
import html
import json
from pathlib import Path
from typing import Any, ClassVar, cast

from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.extension.application import ExtensionApp
from jupyter_server.extension.handler import ExtensionHandlerMixin
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from jupyter_server.utils import ensure_async
from tornado import web
from traitlets import Unicode

from readaid.core.greeting import Greeting
from readaid.core.preference import preferred
from readaid.core.texts import wording

STATIC = Path(__file__).resolve().parent / "widgets" / "static"
#: Where the page lies on the server.
ADDRESS = "/readaid"
#: Python that clears away the benches of pages that are gone; the page adds those that stand.
CLEAR = "from readaid.widgets.window_benches import clear_away\nclear_away"
#: What the page may load: its own modules and what the kernel hands over as bytes, nothing from elsewhere.
POLICY = ("default-src 'none'; script-src 'self' blob:; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
          "font-src 'self' data: blob:; connect-src 'self' {socket}; frame-src 'self' blob: data:; form-action 'none'; "
          "base-uri 'none'; frame-ancestors 'none'")


def words(language: str) -> dict[str, str]:
    """What the page says before any panel can, by its key."""
    return {"laying": wording("Laying the piece on the bench …", into=language),
            "slow": wording("Still laying the piece on the bench. If nothing comes, load the page again; nothing saved "
                            "is lost.", into=language),
            "again": wording("The program behind this page starts again. Nothing saved is lost.", into=language),
            "away": wording("The program behind this page does not answer. Nothing saved is lost. If it was ended, "
                            "start it again (readaid open) and load this page anew.", into=language),
            "failed": wording("The piece could not be laid on the bench.", into=language)}


def laid(stage: str, language: str) -> str:
    """The Python that shows the bench at a place, in a language."""
    # Shown and not the value of the last line: IPython would hold that for three more of them.
    return ("from readaid.widgets.window_benches import window_bench\n"
            f"page = window_bench({stage!r}, {language!r})\ndisplay(page)")


def page(greeting: Greeting, base: str, kernel: str, code: str) -> str:
    """The page as HTML: the still picture at once, then what the kernel makes of ``code``.

    Parameters
    ----------
    greeting: what is known of the piece.
    base: address of the server's root, ending with a slash.
    kernel: id of the kernel that waits.
    code: Python to run there; it shows a widget.
    """
    language = preferred(greeting.reader, "language")
    said = words(language)
    here = {"base": base, "kernel": kernel, "code": code, "clear": CLEAR, "words": said}
    # "<" is written as an escape: no value can end the element that holds it
    given = json.dumps(here, ensure_ascii=False).replace("<", "\\u003c")
    shown = f' style="background-image:url({html.escape(greeting.still)})"' if greeting.still else ""
    return f"""<!doctype html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>{html.escape(greeting.title)} · readaid</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="{base}static/readaid/window.css">
<script type="module" src="{base}static/readaid/window_page.js"></script>
</head>
<body class="readaid-desk">
<div id="readaid-still" role="status"><div{shown}></div><p>{html.escape(said["laying"])}</p></div>
<main></main>
<div id="readaid-notice" role="alert"></div>
<script type="application/json" id="readaid-given">{given}</script>
</body>
</html>
"""


class PageHandler(ExtensionHandlerMixin, JupyterHandler):
    """Hands out the page to who is known to the server."""

    @property
    def content_security_policy(self) -> str:
        """Stricter than the server's own: see POLICY."""
        return POLICY.format(socket=f"{'wss' if self.request.protocol == 'https' else 'ws'}://{self.request.host}")

    @web.authenticated
    async def get(self) -> None:
        """The page at a place of the bench (``?stage=reading``)."""
        stage = self.get_argument("stage", "photographs")
        if not stage.isalpha():
            raise web.HTTPError(404)
        greeting = self.window.greeting()
        self.set_header("Cache-Control", "no-store")
        self.finish(page(greeting, self.base_url, await self.window.kernel(),
                         laid(stage, preferred(greeting.reader, "language"))))

    @property
    def window(self) -> BenchWindow:
        """The program this handler belongs to."""
        return cast("BenchWindow", self.extensionapp)


class StandingHandler(ExtensionHandlerMixin, JupyterHandler):
    """Says which pages stand before a kernel."""

    @web.authenticated
    async def get(self) -> None:
        """Sessions whose sockets are open, as JSON (``?kernel=`` id)."""
        wanted = self.get_argument("kernel")
        self.set_header("Content-Type", "application/json")
        self.finish(json.dumps(sorted({s.session_id for s in Straight.standing if s.kernel_id == wanted})))


class Straight(ZMQChannelsWebsocketConnection):
    """The kernel's channels without delay: what the kernel says goes out at once, each message by itself.

    ``standing`` are those of pages whose sockets are open.

    By default the system holds a small message back until the browser has acknowledged the one before, which it does
    up to 40 ms later; a gesture is answered by several small messages one after the other.
    """

    standing: ClassVar[set[Straight]] = set()

    def connect(self) -> Any:
        """The page's socket stands: it waits for no acknowledgement."""
        self.websocket_handler.set_nodelay(True)
        self.standing.add(self)
        return super().connect()  # type: ignore[no-untyped-call]

    def disconnect(self) -> Any:
        """The page has gone, or its socket has fallen."""
        self.standing.discard(self)
        return super().disconnect()  # type: ignore[no-untyped-call]


class BenchWindow(ExtensionApp):
    """The server of the window."""

    name = "readaid"
    default_url = Unicode(ADDRESS)
    load_other_extensions = False
    serverapp_config: ClassVar[dict[str, Any]] = {  # type: ignore[misc]
        "kernel_websocket_connection_class": Straight}
    #: What a kernel has done before it is asked for anything: the panels are loaded, the words and signs with them.
    ready = "import readaid.widgets.ready as _ready; _ready.get_ready(); del _ready"
    #: Path of the file that the launcher wrote; without one the page bears the program's name and no picture.
    told_in = Unicode("", help="File in which the launcher tells title, reader and picture.").tag(config=True)

    def __init__(self, **given: Any) -> None:
        super().__init__(**given)
        self.static_paths = [str(STATIC)]
        self._kernel = ""
        self._starting = asyncio.Lock()

    def initialize_handlers(self) -> None:
        """One page, and who stands there; the kernel's channels are the server's own."""
        self.handlers += [(ADDRESS, PageHandler), (f"{ADDRESS}/standing", StandingHandler)]

    @classmethod
    def get_extension_package(cls) -> str:
        """The module itself and not the package: importing the package would not tell the server of the window."""
        return cls.__module__

    def greeting(self) -> Greeting:
        """What the launcher wrote."""
        return Greeting.read(Path(self.told_in)) if self.told_in else Greeting()

    async def kernel(self) -> str:
        """Id of the kernel of this window; started where there is none yet, or where it has ended."""
        kernels = self.serverapp.kernel_manager  # type: ignore[union-attr]
        async with self._starting:
            if self._kernel not in kernels or not await ensure_async(kernels.is_alive(self._kernel)):
                self._kernel = await kernels.start_kernel(
                    kernel_name="python3", extra_arguments=[f"--IPKernelApp.exec_lines={self.ready}"])
        return self._kernel

    async def _start_jupyter_server_extension(self, serverapp: Any) -> None:
        """The server listens: the kernel gets ready while the browser opens."""
        await self.kernel()


def _jupyter_server_extension_points() -> list[dict[str, Any]]:
    """What the server asks a module for that it is to load."""
    return [{"module": __name__, "app": BenchWindow}]


def main() -> None:
    """Start the server with the arguments of the command line."""
    BenchWindow.launch_instance()  # type: ignore[no-untyped-call]
