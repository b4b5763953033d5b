"""Start the bench on a piece: alone in a browser window, or as notebooks in JupyterLab.

Conventions: the piece folder gives photographs and records and nothing else. The server and its kernels live in a
folder of their own, made for this one start: it holds our notebooks as the package has them and, for JupyterLab, the
page extension (it starts a trusted page by itself), quiet settings (no news, no questions) and the trust in these
notebooks, by the hash of what they hold. Nothing is imported, configured or opened from the piece folder, which a
colleague may have sent; nothing of the user's own Jupyter is touched. The server listens on this machine only and asks
for its token.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from readaid.core.errors import ReadaidError
from readaid.core.greeting import Greeting
from readaid.core.places import share
from readaid.core.preference import prefer
from readaid.piece.open_piece import OpenPiece

#: Folder of the lent place that the server shows and in which its kernels work.
NOTEBOOKS = "notebooks"
#: Starts the program of the module named first. jsonschema takes rfc3987_syntax in where it is there, which builds a
#: grammar for two to five seconds, to judge addresses with signs beyond ASCII; no server of ours asks for that.
#: None means "not there".
LEAN = ("import importlib, sys; sys.modules['rfc3987_syntax'] = None; "
        "importlib.import_module(sys.argv.pop(1)).main()")
#: File of the lent place in which the window finds what it is told.
TOLD = "told.json"
#: JupyterLab serves an extension from a folder of the extension's own name.
EXTENSION = "readaid-page"
SETTINGS: dict[str, dict[str, object]] = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False,
                                                    "doNotDisturbMode": True},
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},  # the register holds everything
}


def lay_out(place: Path) -> list[Path]:
    """Write the package's notebooks into ``place``, for reading only; returns their paths in order."""
    target = place / NOTEBOOKS
    target.mkdir()
    laid = []
    for source in sorted(share("notebooks").glob("*.ipynb")):
        path = target / source.name
        # Written and not linked: what a user changes here must never change the package.
        path.write_bytes(source.read_bytes())
        path.chmod(0o444)  # what is changed here goes with the place: the page says so instead of losing it
        laid.append(path)
    if not laid:
        raise ReadaidError("The notebooks are missing", str(share("notebooks")), "install readaid again")
    return laid


def notary(place: Path) -> dict[str, str]:
    """Where the trust in notebooks is kept: in ``place``, apart from what the user's own Jupyter trusts."""
    return {"db_file": str(place / "trust.db"), "secret_file": str(place / "secret")}


def sign(place: Path, notebooks: list[Path]) -> None:
    """Trust these notebooks by the hash of what they hold: one that differs by one sign opens untrusted."""
    import nbformat
    from nbformat.sign import NotebookNotary

    held = NotebookNotary(**notary(place))
    for path in notebooks:
        held.sign(nbformat.read(path, as_version=4))


def command(place: Path, browser: bool, port: int | None, notebook: Path | None = None) -> list[str]:
    """The command line that starts the server; ``-P``: nothing is imported from the working folder.

    Parameters
    ----------
    place: the folder lent for this start.
    browser: whether the server opens the browser.
    port: port of the server; None: the first that is free.
    notebook: the notebook that JupyterLab shows first; None: the bench alone in the window.
    """
    if notebook is None:
        started = ["readaid.bench_window", f"--BenchWindow.told_in={place / TOLD}",
                   "--ZMQChannelsWebsocketConnection.limit_rate=False"]  # tiles come many at once and are all wanted
    else:
        started = ["jupyterlab.labapp", f"--LabApp.default_url=/doc/tree/{notebook.name}",
                   *(f"--NotebookNotary.{name}={where}" for name, where in notary(place).items()),
                   "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--LabApp.news_url=None",
                   "--LabApp.extension_manager=readonly",
                   "--ServerApp.kernel_websocket_connection_class=readaid.bench_window.Straight"]
    args = [sys.executable, "-P", "-c", LEAN, *started, f"--ServerApp.root_dir={place / NOTEBOOKS}",
            "--ServerApp.ip=127.0.0.1", "--ServerApp.allow_remote_access=False"]
    if not browser:
        args.append("--no-browser")
    if port is not None:
        args.append(f"--ServerApp.port={port}")
    # In a container there is often nobody else, and Jupyter would refuse to start.
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        args.append("--allow-root")
    return args


def still(piece: OpenPiece) -> str:
    """A small picture of the piece as a data address, shown until its kernel is there; "" where there is none."""
    for photo in piece.contents.photos[:1]:
        try:
            held = piece.pyramid(photo).overview
        except (ReadaidError, OSError):  # its file has gone: the bench will say so
            return ""
        return f"data:image/jpeg;base64,{base64.b64encode(held).decode('ascii')}"
    return ""


def lend(place: Path) -> None:
    """Lay the page extension and our settings for JupyterLab into ``place``."""
    shutil.copytree(Path(__file__).resolve().parents[1] / "widgets" / "labextension",
                    place / "labextensions" / EXTENSION)
    (place / "labconfig").mkdir()
    (place / "labconfig" / "default_setting_overrides.json").write_text(json.dumps(SETTINGS), encoding="utf-8")


def surroundings(place: Path, folder: Path) -> dict[str, str]:
    """The variables of server and kernels: the piece, what is lent, and a safe import path (``-P`` for all of them)."""
    lent = {name: os.pathsep.join([str(place), *_absolute(os.environ.get(name, ""))])
            for name in ("JUPYTER_PATH", "JUPYTER_CONFIG_PATH")}
    return {**os.environ, **lent, "PYTHONPATH": os.pathsep.join(_absolute(os.environ.get("PYTHONPATH", ""))),
            "READAID_PIECE": str(folder), "PYTHONSAFEPATH": "1"}


def _absolute(paths: str) -> list[str]:
    """The entries that mean the same from any working folder: an empty or relative one would be the piece folder."""
    return [p for p in paths.split(os.pathsep) if os.path.isabs(p)]


def start(folder: Path, browser: bool = True, port: int | None = None, language: str | None = None,
          notebooks: bool = False) -> int:
    """Open the bench on ``folder``, or the ``notebooks``; returns the server's exit code when it ends."""
    folder = folder.expanduser().resolve()
    with tempfile.TemporaryDirectory(prefix="readaid-") as lent:  # for this user's eyes only
        place = Path(lent).resolve()
        with OpenPiece(folder) as piece:
            for notice in piece.notices:
                print(notice, file=sys.stderr)
            if language is not None:
                prefer(piece.reader, "language", language)
            Greeting(piece.contents.piece.title, piece.reader, still(piece)).write(place / TOLD)
        if any((folder / NOTEBOOKS).glob("*.ipynb")):
            print(f"What lies in {folder / NOTEBOOKS} is not opened: the notebooks come with readaid.", file=sys.stderr)
        laid = lay_out(place)
        if notebooks:
            lend(place)
            sign(place, laid)
        server = subprocess.Popen(command(place, browser, port, laid[0] if notebooks else None),
                                  cwd=place / NOTEBOOKS, env=surroundings(place, folder))
        signal.signal(signal.SIGTERM, lambda *_: server.terminate())  # else the server would outlive this command
        while True:
            try:
                return server.wait()
            except KeyboardInterrupt:  # the server got it too, asks, and ends by itself
                continue
