"""Private servers for one test session, the bench's own window and a JupyterLab, and the few calls that drive them.

Conventions: the server has its own configuration, data and runtime folders, a random token and a free port, and
listens on this machine only; news and update checks are off. It runs in a process group of its own, ended as a whole.
"""

from __future__ import annotations

import ast
import contextlib
import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
from nbformat.sign import NotebookNotary

from readaid.piece.lab import LEAN

PROJECT = Path(__file__).resolve().parents[2]
EXTENSION = PROJECT / "readaid" / "widgets" / "labextension"
ARTEFACTS = PROJECT / ".artefacts"
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SETTINGS: dict[str, dict[str, Any]] = {
    "@jupyterlab/apputils-extension:notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
        "doNotDisturbMode": True,
    }
}


def chromium() -> str | None:
    """Path of a Chromium to drive: READAID_CHROMIUM, else the usual names; None if there is none."""
    for path in (
        os.environ.get("READAID_CHROMIUM"),
        shutil.which("chromium"),
        shutil.which("chromium-browser"),
        shutil.which("google-chrome"),
    ):
        if path and os.access(path, os.X_OK):
            return path
    return None


@dataclass(frozen=True)
class Lab:
    """A running server: its address, token and the folder it shows."""

    base: str
    token: str
    root: Path


def _free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


@contextlib.contextmanager
def serve(root: Path, home: Path, extension: bool = True, env: dict[str, str] | None = None) -> Iterator[Lab]:
    """Run a JupyterLab on ``root``; ``home`` holds its own state. ``extension`` installs our page extension."""
    (home / "config" / "labconfig").mkdir(parents=True, exist_ok=True)
    (home / "config" / "labconfig" / "default_setting_overrides.json").write_text(json.dumps(SETTINGS))
    if extension:
        (home / "data" / "labextensions").mkdir(parents=True)
        shutil.copytree(EXTENSION, home / "data" / "labextensions" / "readaid-page")
    else:  # it may be installed with the package, too
        (home / "config" / "labconfig" / "page_config.json").write_text(
            json.dumps({"disabledExtensions": {"readaid-page": True}}))
    with _running(["jupyterlab.labapp", "--LabApp.extension_manager=readonly",
                   "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--LabApp.news_url=None",
                   "--LabApp.expose_app_in_browser=True"], root, home, env or {}) as running:
        yield running


@contextlib.contextmanager
def windows(root: Path, home: Path) -> Iterator[Lab]:
    """Run the window's server, which here takes any piece and any code (``window_server``)."""
    with _running(["tests.browser.window_server", "--ZMQChannelsWebsocketConnection.limit_rate=False"], root, home,
                  {}) as running:
        yield running


@contextlib.contextmanager
def _running(program: list[str], root: Path, home: Path, env: dict[str, str]) -> Iterator[Lab]:
    """The program of a module, started as the launcher starts it, with its own folders, token and port."""
    port, token = _free_port(), secrets.token_hex(16)
    command = [sys.executable, "-P", "-c", LEAN, *program, "--allow-root", "--no-browser", "--ip=127.0.0.1",
               f"--port={port}", "--ServerApp.port_retries=0", f"--ServerApp.root_dir={root}"]
    with _started(command, Lab(f"http://127.0.0.1:{port}", token, root), home, env) as running:
        yield running


@contextlib.contextmanager
def opened(folder: Path, home: Path) -> Iterator[Lab]:
    """The product's own command on a piece: ``readaid open`` without a browser of its own."""
    port, token = _free_port(), secrets.token_hex(16)
    command = [sys.executable, "-m", "readaid", "open", str(folder), "--no-browser", "--port", str(port)]
    with _started(command, Lab(f"http://127.0.0.1:{port}", token, folder), home, {}) as running:
        yield running


@contextlib.contextmanager
def _started(command: list[str], server: Lab, home: Path, env: dict[str, str]) -> Iterator[Lab]:
    """A server with folders of its own for all that Jupyter keeps, ended as a whole."""
    folders = {name: home / name for name in ("config", "data", "runtime", "workspaces", "ipython")}
    for folder in folders.values():
        folder.mkdir(parents=True, exist_ok=True)
    environment = {
        **os.environ,
        "JUPYTER_CONFIG_DIR": str(folders["config"]),
        "JUPYTER_DATA_DIR": str(folders["data"]),
        "JUPYTER_RUNTIME_DIR": str(folders["runtime"]),
        "IPYTHONDIR": str(folders["ipython"]),
        "JUPYTERLAB_WORKSPACES_DIR": str(folders["workspaces"]),
        "JUPYTER_TOKEN": server.token,
        "JUPYTER_PLATFORM_DIRS": "1",
        "JUPYTER_PREFER_ENV_PATH": "0",  # the extension of this tree, not one installed beside the interpreter
        "PYTHONPATH": os.pathsep.join([str(PROJECT), *filter(None, [os.environ.get("PYTHONPATH")])]),
        **env,
    }
    with (home / "server.log").open("w") as out:
        process = subprocess.Popen(
            command, env=environment, stdout=out, stderr=subprocess.STDOUT, start_new_session=True
        )
        try:
            _wait_for(f"{server.base}/api/status?token={server.token}", process, home / "server.log")
            yield server
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGTERM)
            try:
                process.wait(15)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)


def _wait_for(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + 90
    while True:
        if process.poll() is not None:
            raise RuntimeError(f"the server ended with {process.returncode}: {log.read_text()[-2000:]}")
        try:
            urllib.request.urlopen(address, timeout=2).read()
            return
        except (urllib.error.URLError, OSError):
            if time.monotonic() > end:
                raise
            time.sleep(0.1)


def trust(home: Path, notebook: Path) -> None:
    """Sign a notebook in the server's own store, as the launcher does for ours."""
    NotebookNotary(data_dir=str(home / "data")).sign(nbformat.read(notebook, as_version=4))


#: The tool bar shows "idle" while there is no kernel, and cells run then are lost: ask the session.
_READY = """async () => {
  const app = window.jupyterapp; await app.restored;
  for (let i = 0; i < 900; i++) {
    const w = app.shell.currentWidget;
    if (w && w.sessionContext && w.context) {
      await w.context.ready; await w.sessionContext.ready;
      const k = w.sessionContext.session?.kernel;
      if (k && k.status === 'idle' && k.connectionStatus === 'connected') return k.name;
    }
    await new Promise((r) => setTimeout(r, 50));
  }
  throw new Error('no idle kernel');
}"""


def open_notebook(page: Any, lab: Lab, name: str, wait: bool = True) -> None:
    """Show one notebook by itself and wait for its kernel."""
    page.goto(f"{lab.base}/doc/tree/{name}?reset&token={lab.token}", wait_until="domcontentloaded")
    page.wait_for_function("window.jupyterapp && window.jupyterapp.shell")
    if wait:
        page.evaluate(_READY)


def run_all(page: Any) -> None:
    """Run every cell; returns when the last has finished."""
    page.evaluate("() => window.jupyterapp.commands.execute('notebook:run-all-cells')")


def open_window(page: Any, server: Lab, folder: Path, stage: str = "photographs", code: str = "") -> None:
    """Show the bench of a piece at a place, or what ``code`` makes, and wait until it is laid."""
    asked = {"token": server.token, "folder": str(folder), "stage": stage, "code": code}
    page.goto(f"{server.base}/any?{urllib.parse.urlencode(asked)}", wait_until="domcontentloaded")
    page.wait_for_selector("main[data-readaid-run=done]", state="attached")


def end(page: Any, server: Lab) -> None:
    """End the kernel behind a page of the window."""
    given = page.locator("#readaid-given")
    if given.count():
        _order(server, "DELETE", f"api/kernels/{json.loads(given.text_content())['kernel']}")


def restart(page: Any, server: Lab) -> None:
    """Let the kernel behind a page of the window start again."""
    _order(server, "POST", f"api/kernels/{json.loads(page.locator('#readaid-given').text_content())['kernel']}/restart")


def _order(server: Lab, method: str, path: str) -> None:
    request = urllib.request.Request(f"{server.base}/{path}", method=method,
                                     headers={"Authorization": f"token {server.token}"})
    with contextlib.suppress(urllib.error.HTTPError):  # the kernel may have gone before
        urllib.request.urlopen(request, timeout=60).read()


def evaluate(page: Any, expression: str) -> Any:
    """Value of a Python expression in the page's kernel, of the window or of a notebook."""
    reply = page.evaluate(
        """async (expression) => {
        const here = document.querySelector('main')?.kernel;
        if (here) return (await here.run('', () => {}, { value: expression })).user_expressions.value;
        const kernel = window.jupyterapp.shell.currentWidget.sessionContext.session.kernel;
        const asked = kernel.requestExecute({code: '', silent: true, store_history: false,
                                             user_expressions: {value: expression}});
        return (await asked.done).content.user_expressions.value; }""",
        expression,
    )
    if reply["status"] != "ok":
        raise RuntimeError(f"{reply['ename']}: {reply['evalue']}")
    return ast.literal_eval(reply["data"]["text/plain"])


def cells(page: Any) -> int:
    """Number of cells of the notebook's model (not of what happens to be drawn)."""
    return int(page.evaluate("() => window.jupyterapp.shell.currentWidget.content.model.cells.length"))


def keep_picture(page: Any, name: str) -> Path:
    """Save a screenshot where CI picks it up; git ignores the folder."""
    ARTEFACTS.mkdir(exist_ok=True)
    path = ARTEFACTS / f"{name}.png"
    page.screenshot(path=path)
    return path
