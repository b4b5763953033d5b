"""Start JupyterLab on a piece folder's notebooks.

Conventions: the notebooks are copied into ``notebooks/`` of the piece folder
once (a user's own changes are kept) and trusted there; the server listens on
this machine only. The page extension (it starts a trusted page by itself) and
the settings (no news, no questions) are lent to this one server and stay out
of the user's own Jupyter.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from readaid.core.errors import ReadaidError
from readaid.core.places import share
from readaid.piece import folder as places
from readaid.piece.open_piece import OpenPiece

NOTEBOOKS = "notebooks"
#: JupyterLab serves an extension from a folder of the extension's own name.
EXTENSION = "readaid-page"
SETTINGS: dict[str, dict[str, object]] = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
}


def lay_out(folder: Path) -> list[Path]:
    """Copy our notebooks into the piece folder where they are missing; returns their paths in order."""
    target = folder / NOTEBOOKS
    target.mkdir(exist_ok=True)
    laid = []
    for source in sorted(share("notebooks").glob("*.ipynb")):
        path = target / source.name
        if not path.exists():
            shutil.copyfile(source, path)
        laid.append(path)
    if not laid:
        raise ReadaidError("The notebooks are missing", str(share("notebooks")), "install readaid again")
    return laid


def command(folder: Path, notebook: Path, browser: bool, port: int | None) -> list[str]:
    """The command line that starts the notebook server."""
    args = [sys.executable, "-m", "jupyter", "lab", f"--ServerApp.root_dir={folder}", "--ServerApp.ip=127.0.0.1",
            f"--LabApp.default_url=/doc/tree/{notebook.relative_to(folder).as_posix()}",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--LabApp.news_url=None",
            "--LabApp.extension_manager=readonly"]
    if not browser:
        args.append("--no-browser")
    if port is not None:
        args.append(f"--ServerApp.port={port}")
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        args.append("--allow-root")
    return args


def lend(place: Path) -> dict[str, str]:
    """Lay the page extension and our settings into ``place``; returns the variables that show them to a server."""
    shutil.copytree(Path(__file__).resolve().parents[1] / "widgets" / "labextension",
                    place / "labextensions" / EXTENSION)
    (place / "labconfig").mkdir()
    (place / "labconfig" / "default_setting_overrides.json").write_text(json.dumps(SETTINGS), encoding="utf-8")
    return {name: os.pathsep.join([str(place), *filter(None, [os.environ.get(name)])])
            for name in ("JUPYTER_PATH", "JUPYTER_CONFIG_PATH")}


def start(folder: Path, browser: bool = True, port: int | None = None) -> int:
    """Open the notebooks on ``folder``; returns the server's exit code when it ends."""
    folder = folder.expanduser().resolve()
    places.require(folder)
    try:
        notebooks = lay_out(folder)
    except PermissionError as error:
        raise ReadaidError("The piece folder cannot be written", str(folder),
                           "copy the folder to a disk on which you may write") from error
    with OpenPiece(folder) as piece:
        for notice in piece.notices:
            print(notice, file=sys.stderr)
    subprocess.run([sys.executable, "-m", "jupyter", "trust", *map(str, notebooks)], check=False,
                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    with tempfile.TemporaryDirectory(prefix="readaid-") as lent:
        env = {**os.environ, **lend(Path(lent)), "READAID_PIECE": str(folder)}
        server = subprocess.Popen(command(folder, notebooks[0], browser, port), env=env)
        signal.signal(signal.SIGTERM, lambda *_: server.terminate())  # else the server would outlive this command
        while True:
            try:
                return server.wait()
            except KeyboardInterrupt:  # the server got it too, asks, and ends by itself
                continue
