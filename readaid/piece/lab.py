"""Start JupyterLab on a piece.

Conventions: the piece folder gives photographs and records and nothing else. The server and its kernels live in a
folder of their own, made for this one start: it holds our notebooks as the package has them, the page extension (it
starts a trusted page by itself) and quiet settings (no news, no questions). Trust is kept there, too: only these
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
from readaid.core.places import share
from readaid.core.preference import prefer
from readaid.piece.open_piece import OpenPiece

#: Folder of the lent place that the server shows and in which its kernels work.
NOTEBOOKS = "notebooks"
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


def command(place: Path, notebook: Path, browser: bool, port: int | None) -> list[str]:
    """The command line that starts the notebook server; ``-P``: nothing is imported from the working folder."""
    # Not ``-m jupyter lab``: that looks along the path for a program named jupyter-lab.
    args = [sys.executable, "-P", "-m", "jupyterlab", f"--ServerApp.root_dir={place / NOTEBOOKS}",
            "--ServerApp.ip=127.0.0.1", "--ServerApp.allow_remote_access=False",
            *(f"--NotebookNotary.{name}={where}" for name, where in notary(place).items()),
            f"--LabApp.default_url=/doc/tree/{notebook.name}",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate", "--LabApp.news_url=None",
            "--LabApp.extension_manager=readonly"]
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


def lend(place: Path, picture: str = "") -> dict[str, str]:
    """Lay the page extension and our settings into ``place``; returns the variables that show them to a server.

    The settings say that the bench is alone in the window (the notebook's own bars and questions are not shown), and
    hold the ``picture`` that stands there first.
    """
    shutil.copytree(Path(__file__).resolve().parents[1] / "widgets" / "labextension",
                    place / "labextensions" / EXTENSION)
    (place / "labconfig").mkdir()
    (place / "labconfig" / "default_setting_overrides.json").write_text(json.dumps(SETTINGS), encoding="utf-8")
    (place / "labconfig" / "page_config.json").write_text(
        json.dumps({"readaidDesk": True, "readaidStill": picture}), encoding="utf-8")
    return {name: os.pathsep.join([str(place), *_absolute(os.environ.get(name, ""))])
            for name in ("JUPYTER_PATH", "JUPYTER_CONFIG_PATH")}


def surroundings(place: Path, folder: Path, picture: str = "") -> dict[str, str]:
    """The variables of server and kernels: the piece, what is lent, and a safe import path (``-P`` for all of them)."""
    kept = {**os.environ, "PYTHONPATH": os.pathsep.join(_absolute(os.environ.get("PYTHONPATH", "")))}
    return {**kept, **lend(place, picture), "READAID_PIECE": str(folder), "PYTHONSAFEPATH": "1"}


def _absolute(paths: str) -> list[str]:
    """The entries that mean the same from any working folder: an empty or relative one would be the piece folder."""
    return [p for p in paths.split(os.pathsep) if os.path.isabs(p)]


def start(folder: Path, browser: bool = True, port: int | None = None, language: str | None = None) -> int:
    """Open the notebooks on ``folder``; returns the server's exit code when it ends."""
    folder = folder.expanduser().resolve()
    with OpenPiece(folder) as piece:
        for notice in piece.notices:
            print(notice, file=sys.stderr)
        picture = still(piece)
        if language is not None:
            prefer(piece.reader, "language", language)
    if any((folder / NOTEBOOKS).glob("*.ipynb")):
        print(f"What lies in {folder / NOTEBOOKS} is not opened: the notebooks come with readaid.", file=sys.stderr)
    with tempfile.TemporaryDirectory(prefix="readaid-") as lent:  # for this user's eyes only
        place = Path(lent).resolve()
        notebooks = lay_out(place)
        around = surroundings(place, folder, picture)
        sign(place, notebooks)
        server = subprocess.Popen(command(place, notebooks[0], browser, port), cwd=place / NOTEBOOKS, env=around)
        signal.signal(signal.SIGTERM, lambda *_: server.terminate())  # else the server would outlive this command
        while True:
            try:
                return server.wait()
            except KeyboardInterrupt:  # the server got it too, asks, and ends by itself
                continue
