"""A private JupyterLab for one test session, and the few calls that drive it.

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
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
from nbformat.sign import NotebookNotary

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
def serve(
    root: Path, home: Path, extension: bool = True, env: dict[str, str] | None = None, patience: float = 90,
    desk: bool = True, still: str = "",
) -> Iterator[Lab]:
    """Run a server on ``root``; ``home`` holds its own state.

    ``extension`` installs our page extension; ``desk`` says, as the launcher does, that the bench is alone in the
    window, and ``still`` is the picture it lends.
    """
    port, token = _free_port(), secrets.token_hex(16)
    folders = {name: home / name for name in ("config", "data", "runtime", "workspaces", "ipython")}
    for folder in folders.values():
        folder.mkdir(parents=True, exist_ok=True)
    (folders["config"] / "labconfig").mkdir(exist_ok=True)
    (folders["config"] / "labconfig" / "default_setting_overrides.json").write_text(json.dumps(SETTINGS))
    (folders["config"] / "labconfig" / "page_config.json").write_text(
        json.dumps({"readaidDesk": desk, "readaidStill": still}))
    if extension:
        (folders["data"] / "labextensions").mkdir()
        shutil.copytree(EXTENSION, folders["data"] / "labextensions" / "readaid-page")
    else:  # it may be installed with the package, too
        (folders["config"] / "labconfig" / "page_config.json").write_text(
            json.dumps({"disabledExtensions": {"readaid-page": True}}))
    environment = {
        **os.environ,
        "JUPYTER_CONFIG_DIR": str(folders["config"]),
        "JUPYTER_DATA_DIR": str(folders["data"]),
        "JUPYTER_RUNTIME_DIR": str(folders["runtime"]),
        "IPYTHONDIR": str(folders["ipython"]),
        "JUPYTERLAB_WORKSPACES_DIR": str(folders["workspaces"]),
        "JUPYTER_TOKEN": token,
        "JUPYTER_PLATFORM_DIRS": "1",
        "JUPYTER_PREFER_ENV_PATH": "0",  # the extension of this tree, not one installed beside the interpreter
        "PYTHONPATH": os.pathsep.join([str(PROJECT), *filter(None, [os.environ.get("PYTHONPATH")])]),
        **(env or {}),
    }
    command = [
        sys.executable,
        "-m",
        "jupyter",
        "lab",
        "--allow-root",
        "--no-browser",
        "--ip=127.0.0.1",
        f"--port={port}",
        "--ServerApp.port_retries=0",
        f"--ServerApp.root_dir={root}",
        "--LabApp.extension_manager=readonly",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.news_url=None",
        "--LabApp.expose_app_in_browser=True",
    ]
    with (home / "server.log").open("w") as out:
        process = subprocess.Popen(
            command, env=environment, stdout=out, stderr=subprocess.STDOUT, start_new_session=True
        )
        base = f"http://127.0.0.1:{port}"
        try:
            _wait_for(f"{base}/api/status?token={token}", process, home / "server.log", patience)
            yield Lab(base, token, root)
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGTERM)
            try:
                process.wait(15)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)


def _wait_for(address: str, process: subprocess.Popen[bytes], log: Path, patience: float) -> None:
    end = time.monotonic() + patience
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


def evaluate(page: Any, expression: str) -> Any:
    """Value of a Python expression in the notebook's kernel."""
    reply = page.evaluate(
        """async (expression) => {
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
