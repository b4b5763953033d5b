"""The example notebooks run as they are, by public names, and come to what they say."""

import ast
import os
from pathlib import Path

import nbclient
import nbformat
import pytest

from readaid.core.places import share
from tests.widgets.made import demo_piece

PROJECT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((share("notebooks") / "examples").glob("*.ipynb"))
#: Asked at the end of each: an expression, and what it must give.
RESULTS = {
    "a_study_of_a_school": ("[len(pairs), round(found.population), study.odds.makers, sorted(p.suffix for p in "
                            "place.glob('*.pdf')), school_counts]", [630, 35, 12, [".pdf"] * 5, 2]),
    "a_register_with_pandas": ("[len(attempts) >= 2, bool((margin >= 0).all()), 'piece started' in set(history.reason)]",
                               [True, True, True]),
}


def run(path):
    notebook = nbformat.read(path, as_version=4)
    expression, wanted = RESULTS[path.stem]
    if "school_counts" in expression:  # the frame of counts is the notebook's last result
        cell = next(c for c in notebook.cells if "tracings.counts" in c.source)
        cell.source = f"school_counts = len({cell.source})"
    notebook.cells.append(nbformat.v4.new_code_cell(f"print(repr({expression}))"))
    nbclient.NotebookClient(notebook, timeout=240, kernel_name="python3").execute()
    assert ast.literal_eval(notebook.cells[-1].outputs[0].text) == wanted
    return notebook


def test_there_are_two_and_they_are_kept_without_outputs():
    assert [p.stem for p in EXAMPLES] == sorted(RESULTS)
    for path in EXAMPLES:
        for cell in nbformat.read(path, as_version=4).cells:
            assert not cell.get("outputs")


def test_a_study_of_a_school(monkeypatch):
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(PROJECT), os.environ.get("PYTHONPATH", "")]))
    path = EXAMPLES[1]
    notebook = run(path)
    study = next(c.source for c in notebook.cells if "readaid.school(" in c.source)
    lines = [line for line in study.splitlines() if line.strip()]
    assert len(lines) <= 20, "a study of twelve makers with tree and figures"
    assert not any("import" in line and line != "import readaid" for line in lines), "public names only"


def test_a_register_with_pandas(tmp_path, monkeypatch):
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(PROJECT), os.environ.get("PYTHONPATH", "")]))
    monkeypatch.setenv("READAID_PIECE", str(demo_piece(tmp_path / "piece")))
    run(EXAMPLES[0])
