"""What the reference is made from: every public function of the face tells parameters, faults and an example; those of
the school and study tell their faults and units; and the reference can be made."""

import importlib.util
import inspect
from pathlib import Path

import pytest

import readaid
from readaid.schools.album import School
from readaid.schools.study import Study

ROOT = Path(__file__).resolve().parents[1]
FACE = [getattr(readaid, name) for name in readaid.__all__ if inspect.isfunction(getattr(readaid, name))]


@pytest.mark.parametrize("function", FACE, ids=lambda f: f.__name__)
def test_the_face_tells_parameters_faults_and_an_example(function):
    said = inspect.getdoc(function)
    for head in ("Parameters\n----------", "Raises\n------", ">>> "):
        assert head in said, f"{function.__name__}: {head.splitlines()[0]}"
    for name in inspect.signature(function).parameters:
        assert name in said, f"{function.__name__} does not tell of {name}"


@pytest.mark.parametrize("owner", [School, Study], ids=lambda c: c.__name__)
def test_every_public_method_is_told_with_its_arguments(owner):
    for name, member in inspect.getmembers(owner):
        if name.startswith("_") or not (inspect.isfunction(member) or isinstance(member, property)):
            continue
        said = inspect.getdoc(member) or ""
        assert len(said) > 20, f"{owner.__name__}.{name}"


def test_the_reference_is_made(tmp_path):
    pytest.importorskip("pdoc", reason="the reference is made with pdoc: pip install pdoc")
    spec = importlib.util.spec_from_file_location("make_reference", ROOT / "data" / "make_reference.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    pages = module.make(tmp_path)
    face = (tmp_path / "readaid.html").read_text(encoding="utf-8")
    for name in readaid.__all__:
        assert name in face
    assert len(pages) >= len(module.MODULES)
