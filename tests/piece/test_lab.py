"""What the notebook server is lent, and that nothing in the piece folder runs when the piece is opened."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from readaid.core.greeting import Greeting
from readaid.core.places import share
from readaid.piece.lab import EXTENSION, LEAN, TOLD, command, lay_out, lend, notary, sign, start, surroundings

PROJECT = Path(__file__).resolve().parents[2]


def test_the_server_sees_our_extension_and_the_users_own_paths(tmp_path, monkeypatch):
    monkeypatch.setenv("JUPYTER_PATH", "/elsewhere")
    monkeypatch.delenv("JUPYTER_CONFIG_PATH", raising=False)
    given = surroundings(tmp_path, tmp_path / "piece")
    assert given["JUPYTER_PATH"].split(os.pathsep) == [str(tmp_path), "/elsewhere"]
    assert given["JUPYTER_CONFIG_PATH"] == str(tmp_path)


def test_the_extension_lies_where_jupyterlab_looks(tmp_path, monkeypatch):
    """JupyterLab's own search for installed extensions is the judge (jupyterlab_server.config)."""
    from jupyterlab_server.config import get_federated_extensions

    lend(tmp_path)
    found = get_federated_extensions([str(tmp_path / "labextensions")])
    assert found[EXTENSION]["jupyterlab"]["extension"]
    settings = json.loads((tmp_path / "labconfig" / "default_setting_overrides.json").read_text())
    assert settings["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"


def test_the_notebooks_are_the_package_s_own(tmp_path):
    """Never what lies in the piece folder: a colleague's copy once brought a notebook that was then trusted."""
    laid = lay_out(tmp_path)
    sources = sorted(share("notebooks").glob("*.ipynb"))
    assert [p.name for p in laid] == [p.name for p in sources]
    assert [p.read_bytes() for p in laid] == [p.read_bytes() for p in sources]
    assert all(p.stat().st_mode & 0o222 == 0 for p in laid)


def test_import_paths_that_mean_the_working_folder_are_not_handed_on(tmp_path, monkeypatch):
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(["", ".", "lib", str(tmp_path)]))
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", os.pathsep.join(["config", str(tmp_path)]))
    given = surroundings(tmp_path / "lent", tmp_path / "piece")
    assert given["PYTHONPATH"] == str(tmp_path)
    assert given["JUPYTER_CONFIG_PATH"].split(os.pathsep) == [str(tmp_path / "lent"), str(tmp_path)]
    assert (given["PYTHONSAFEPATH"], given["READAID_PIECE"]) == ("1", str(tmp_path / "piece"))


def test_the_bench_stands_alone_unless_notebooks_are_wanted(tmp_path):
    alone = command(tmp_path, True, None)
    assert alone[1:5] == ["-P", "-c", LEAN, "readaid.bench_window"]
    assert f"--BenchWindow.told_in={tmp_path / TOLD}" in alone
    assert "--no-browser" not in alone
    assert "--ZMQChannelsWebsocketConnection.limit_rate=False" in alone, "the server drops no tile"
    notebooks = command(tmp_path, False, 8899, tmp_path / "n.ipynb")
    assert notebooks[1:5] == ["-P", "-c", LEAN, "jupyterlab.labapp"]
    assert {"--LabApp.default_url=/doc/tree/n.ipynb", "--no-browser", "--ServerApp.port=8899",
            "--ServerApp.kernel_websocket_connection_class=readaid.bench_window.Straight"} <= set(notebooks)
    for args in (alone, notebooks):
        assert {f"--ServerApp.root_dir={tmp_path / 'notebooks'}", "--ServerApp.ip=127.0.0.1"} <= set(args)


def test_a_server_is_started_without_the_grammar_of_addresses(tmp_path):
    """The program named gets the arguments after its name; jsonschema then finds no rfc3987_syntax (its own rule)."""
    (tmp_path / "probe.py").write_text(
        "def main():\n    import sys, jsonschema\n"
        "    print(sys.argv[1:], sys.modules['rfc3987_syntax'], 'iri' in jsonschema.FormatChecker.checkers)\n")
    said = subprocess.run([sys.executable, "-P", "-c", LEAN, "probe", "--x=1"], capture_output=True, text=True,
                          env={**os.environ, "PYTHONPATH": str(tmp_path)}, check=True).stdout
    assert said.strip() == "['--x=1'] None False"


def test_the_window_is_told_title_reader_and_a_picture(piece, monkeypatch):
    class Server:
        """In the server's place: what it would find when it starts."""

        def __init__(self, args, cwd, env):
            (told,) = (a.partition("=")[2] for a in args if a.startswith("--BenchWindow.told_in="))
            seen.append(Greeting.read(Path(told)))

        def wait(self):
            return 0

    seen = []
    monkeypatch.setattr(subprocess, "Popen", Server)
    monkeypatch.setattr("signal.signal", lambda *_: None)
    assert start(piece.folder, browser=False) == 0
    (told,) = seen
    assert (told.title, told.reader) == (piece.contents.piece.title, piece.reader)
    assert told.still.startswith("data:image/jpeg;base64,")


def test_notebooks_are_trusted_by_what_they_hold(tmp_path):
    """nbformat's own notary is the judge."""
    import nbformat
    from nbformat.sign import NotebookNotary

    first, second, *_ = lay_out(tmp_path)
    sign(tmp_path, [first])
    judge = NotebookNotary(**notary(tmp_path))
    own = nbformat.read(first, as_version=4)
    assert judge.check_signature(own)
    assert not judge.check_signature(nbformat.read(second, as_version=4)), "one that was not named is a stranger's"
    own.cells[-2].source += " "
    assert not judge.check_signature(own)


#: Files that once ran, or that something in a notebook server looks for, and a line that tells when they do.
TRAPS = ("jupyter.py", "readaid.py", "readaid/__init__.py", "jupyterlab.py", "nbformat.py", "click.py", "numpy.py",
         "PIL.py", "json.py", "sitecustomize.py", "usercustomize.py", "jupyter_server_config.py",
         "jupyter_notebook_config.py", "jupyter_lab_config.py", "jupyter_config.py", "ipython_config.py",
         "ipython_kernel_config.py", ".jupyter/jupyter_server_config.py", ".ipython/profile_default/startup/00.py",
         "profile_default/startup/00.py", "notebooks/readaid.py", "notebooks/numpy.py", "notebooks/sitecustomize.py",
         "photos/readaid.py")


def trapped(folder, marker):
    """Lay a trap under every name, executable ones and a changed notebook too; each writes ``marker`` when it runs."""
    line = f"open({str(marker)!r}, 'a').write(__file__ if '__file__' in globals() else 'notebook')\n"
    for name in TRAPS:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.parent.name != "readaid" or name.endswith("__init__.py"):
            path.write_text(line, encoding="utf-8")
    for name in ("jupyter", "jupyter-lab", "jupyter-trust", "python", "python3"):
        (folder / name).write_text(f"#!/bin/sh\necho {name} >> {marker}\n", encoding="utf-8")
        (folder / name).chmod(0o755)
    for source in share("notebooks").glob("*.ipynb"):
        content = json.loads(source.read_text(encoding="utf-8"))
        for cell in content["cells"]:
            if cell["cell_type"] == "code":
                cell["source"] = [line, *cell["source"]]
        (folder / "notebooks" / source.name).write_text(json.dumps(content), encoding="utf-8")


@pytest.mark.slow
@pytest.mark.parametrize(("start", "opened"), [
    (["-m", "readaid"], ["open", ".", "--no-browser"]),
    (["-c", "from readaid.cli import main; main()"], ["open", ".", "--no-browser", "--notebooks"]),
], ids=["the window, as a module", "notebooks, as a command"])
def test_nothing_in_the_piece_folder_runs_when_it_is_opened(piece, tmp_path, start, opened):
    """The real server and a real kernel, started from inside a folder full of traps; the page's own calls are made."""
    from jupyter_client.blocking.client import BlockingKernelClient

    marker, runtime = tmp_path / "it ran", tmp_path / "runtime"
    piece.close()
    trapped(piece.folder, marker)
    around = {**os.environ, "JUPYTER_RUNTIME_DIR": str(runtime), "PYTHONPATH": str(PROJECT),
              "HOME": str(tmp_path / "home"), "PATH": os.pathsep.join(["", ".", os.environ["PATH"]])}
    (tmp_path / "home").mkdir()
    if start[0] == "-c":
        around["PYTHONSAFEPATH"] = "1"  # a console script has its own folder first in the path, not the working one
    else:  # ``-m`` looks for the package itself in the working folder, before any line of ours: not to be helped
        for name in ("readaid.py", "readaid/__init__.py"):
            (piece.folder / name).unlink()
        (piece.folder / "readaid").rmdir()
    server = subprocess.Popen([sys.executable, *start, *opened], cwd=piece.folder, env=around,
                              stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    try:
        known = _server(runtime, server)
        base, token = known["url"], known["token"]
        assert known["hostname"] == "127.0.0.1"
        assert token
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(base + "api/contents", timeout=20)
        held = _ask(base, token, "api/contents")["content"]
        assert sorted(h["name"] for h in held) == sorted(p.name for p in share("notebooks").glob("*.ipynb"))
        if "--notebooks" in opened:
            first = min(h["name"] for h in held)
            assert _ask(base, token, "api/contents/" + first)["content"]["cells"][-2]["metadata"]["trusted"]
            kernel = _ask(base, token, "api/kernels", {"name": "python3", "path": first})["id"]
        else:
            with urllib.request.urlopen(f"{base}readaid?token={token}", timeout=60) as answer:
                page = answer.read().decode()
            assert "<title>Lid · readaid</title>" in page
            kernel = json.loads(page.split('id="readaid-given">')[1].split("</script>")[0])["kernel"]
        client = BlockingKernelClient(connection_file=str(runtime / f"kernel-{kernel}.json"))
        client.load_connection_file()
        client.start_channels()
        client.kernel_info(reply=True, timeout=120)  # not wait_for_ready: it takes a slow heartbeat for a dead kernel
        said = []
        client.execute_interactive(
            "import os, sys, numpy, PIL, json, readaid, readaid.widgets.page as p\n"
            "print(json.dumps([os.getcwd(), readaid.__file__, str(p.piece_folder()), sys.path]))",
            timeout=120, output_hook=lambda m: said.append(m["content"].get("text", "")))
        client.stop_channels()
        place, package, laid, paths = json.loads("".join(said))
        assert not Path(place).is_relative_to(piece.folder)
        assert Path(package).is_relative_to(PROJECT)
        assert laid == str(piece.folder)
        assert not [p for p in paths if p == "" or Path(p).is_relative_to(piece.folder)]
    finally:
        server.terminate()
        told = server.communicate(timeout=60)[1].decode()
    assert not marker.exists(), marker.read_text(encoding="utf-8")
    assert "is not opened: the notebooks come with readaid" in told


def _server(runtime, process):
    """What the running server says of itself in its runtime folder."""
    for _ in range(600):
        assert process.poll() is None, process.stderr.read().decode()[-2000:]
        for path in runtime.glob("jpserver-*.json"):
            with contextlib.suppress(ValueError):
                known = json.loads(path.read_text(encoding="utf-8"))
                with contextlib.suppress(OSError):
                    _ask(known["url"], known["token"], "api/status")
                    return known
        time.sleep(0.1)
    raise AssertionError("the server did not start")


def _ask(base, token, path, body=None):
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(base + path, data, {"Authorization": f"token {token}"})
    with urllib.request.urlopen(request, timeout=30) as answer:
        return json.loads(answer.read())
