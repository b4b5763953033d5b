"""What the notebook server is lent: our page extension and quiet settings, and nothing of the user's own is touched."""

from __future__ import annotations

import json
import os

from readaid.piece.lab import EXTENSION, lend


def test_the_server_sees_our_extension_and_the_users_own_paths(tmp_path, monkeypatch):
    monkeypatch.setenv("JUPYTER_PATH", "/elsewhere")
    monkeypatch.delenv("JUPYTER_CONFIG_PATH", raising=False)
    given = lend(tmp_path)
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
