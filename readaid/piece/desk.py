"""Start JupyterLab on a piece folder's notebooks.

Conventions: the notebooks are copied into ``notebooks/`` of the piece folder
once (a user's own changes are kept) and trusted there; the server listens on
this machine only.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from readaid.core.errors import ReadaidError
from readaid.core.places import share
from readaid.piece import folder as places

NOTEBOOKS = "notebooks"


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


def start(folder: Path, browser: bool = True, port: int | None = None) -> int:
    """Open the notebooks on ``folder``; returns the server's exit code when it ends."""
    folder = folder.expanduser().resolve()
    places.require(folder)
    try:
        notebooks = lay_out(folder)
    except PermissionError as error:
        raise ReadaidError("The piece folder cannot be written", str(folder),
                           "copy the folder to a disk on which you may write") from error
    subprocess.run([sys.executable, "-m", "jupyter", "trust", *map(str, notebooks)], check=False,
                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    env = {**os.environ, "READAID_PIECE": str(folder)}
    return subprocess.call(command(folder, notebooks[0], browser, port), env=env)
