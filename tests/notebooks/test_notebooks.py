"""The four notebooks, executed without a browser, and what they must and must not hold."""

from __future__ import annotations

import ast
import json
import os
from pathlib import Path
from typing import Any

import nbclient
import nbformat
import pytest

import readaid
from readaid.core.places import share
from tests.widgets.made import demo_piece

NOTEBOOKS = sorted(share("notebooks").glob("*.ipynb"))
PROJECT = Path(__file__).resolve().parents[2]

#: Wait for the work that runs beside the notebook's loop.
WAIT = """
import asyncio
for _ in range(600):
    line = page.panel("line")
    sought = page.desk.stage == "photographs" or line.turn > 0
    if sought and not any(p._tasks or getattr(p, "busy", None) for p in page.panels):
        break
    await asyncio.sleep(0.1)
"""
#: An expression asked at the end of each notebook, and what it must give on the demo piece.
RESULTS = {
    "1": ("[len(z) for z in (page.panel('board').state['zones'], page.panel('sheet').state['columns'])]", [17, 3]),
    "2": ("[r['morae'] for r in page.panel('line').state['readings'][0]['lines']]", [5, 7, 5]),
    "3": (
        "[page.panel('signature').state['kept_dates'][0]['range'], "
        "page.panel('compare').state['result']['likeness'] > '0.5']",
        ["1829-12-26 to 1830-01-24", True],
    ),
    "4": ("[page.panel('register').state['total'], "
          "page.panel('piece').state['fields'][0]['value'].startswith('Lid')]", [2, True]),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_piece(tmp_path_factory.mktemp("notebooks") / "piece")


def test_there_are_four():
    assert [p.name[0] for p in NOTEBOOKS] == ["1", "2", "3", "4"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_runs_and_gives_its_result(path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("READAID_PIECE", str(folder))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(PROJECT), os.environ.get("PYTHONPATH", "")]))
    notebook: Any = nbformat.read(path, as_version=4)
    expression, wanted = RESULTS[path.name[0]]
    notebook.cells += [
        nbformat.v4.new_code_cell(WAIT),
        nbformat.v4.new_code_cell(f"print(repr({expression}))"),
        nbformat.v4.new_code_cell("print([p.fault for p in page.panels])"),
    ]
    client = nbclient.NotebookClient(notebook, timeout=180, kernel_name="python3", store_widget_state=False)
    client.execute()
    assert ast.literal_eval(notebook.cells[-2].outputs[0].text) == wanted
    assert set(ast.literal_eval(notebook.cells[-1].outputs[0].text)) == {""}
    assert "widgets" not in notebook.metadata
    shown = next(
        o for c in notebook.cells if c.cell_type == "code" for o in c.outputs if o.output_type == "execute_result"
    )
    with readaid.open(folder, read_only=True) as piece:
        held = piece.contents
    assert shown.data["text/plain"].endswith(
        f": {held.piece.title}; {len(held.photos)} photographs, {len(held.zones)} zones, {len(held.inscriptions)} "
        f"inscriptions, {len(held.attempts)} attempts"), "what lies on the desk, in a line"
    if path.name[0] in "12":
        assert shown.data["image/jpeg"], "a still picture for places without a kernel"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_is_kept_clean_and_locked(path: Path):
    content = json.loads(path.read_text(encoding="utf-8"))
    assert content["metadata"]["readaid"]["page"] in ("photo", "reading", "school", "register")
    assert "widgets" not in content["metadata"]
    codes = [c for c in content["cells"] if c["cell_type"] == "code"]
    assert len(codes) <= 2
    for cell in content["cells"]:
        assert cell["metadata"]["editable"] is False
        assert cell["metadata"]["deletable"] is False
    for cell in codes:
        assert cell["metadata"]["jupyter"]["source_hidden"] is True
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
    text = "".join("".join(c["source"]) for c in content["cells"])
    assert "Run All Cells" in text, "how to run it without the extension"
    assert "> **" in text, "the cautions that fit the page"


def test_cautions_name_the_usual_harms():
    """The list of the house's trade notes; common practice."""
    text = NOTEBOOKS[0].read_text(encoding="utf-8")
    for word in (
        "chalk",
        "powder",
        "breathing",
        "cleaning",
        "steel ruler",
        "taken apart",
        "gloves",
        "Ultraviolet",
        "lacquer",
        "Rubbings",
    ):
        assert word in text
    text = NOTEBOOKS[2].read_text(encoding="utf-8")
    for word in ("not an attribution", "False signatures", "copy", "appraisal body", "local law"):
        assert word in text


def test_the_demo_piece_is_made_on_demand(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    from readaid.piece.layout import Layout
    from readaid.widgets.page import photo_page, piece_folder

    monkeypatch.delenv("READAID_PIECE", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr(Layout, "propose", lambda self, photo, **options: [])
    assert piece_folder() == tmp_path / "readaid-demo"
    page = photo_page()
    assert "17" in str(len(page.panel("board").state["zones"]))


def test_a_notebook_never_takes_its_piece_from_where_it_lies(folder: Path, tmp_path: Path,
                                                             monkeypatch: pytest.MonkeyPatch):
    from readaid.widgets.page import piece_folder

    monkeypatch.delenv("READAID_PIECE", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    for place in (folder, folder / "photos"):
        monkeypatch.chdir(place)
        assert piece_folder() == tmp_path / "readaid-demo"
    assert piece_folder(folder) == folder.resolve(), "a folder named in the first cell"
    monkeypatch.setenv("READAID_PIECE", str(folder))
    assert piece_folder() == folder.resolve()
