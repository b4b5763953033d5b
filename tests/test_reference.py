"""What the reference is made from: every public function of the face tells parameters, faults and an example; those of
the school and study tell theirs with shapes and units; and the reference can be made."""

import builtins
import importlib.util
import inspect
import re
from functools import cached_property
from pathlib import Path

import pytest

import readaid
from readaid.core import errors
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


METHODS = [(owner, name) for owner in (School, Study) for name, member in inspect.getmembers(owner, inspect.isfunction)
           if not name.startswith("_")]


@pytest.mark.parametrize(("owner", "name"), METHODS, ids=lambda x: getattr(x, "__name__", x))
def test_every_public_method_of_a_school_tells_parameters_and_faults(owner, name):
    method = getattr(owner, name)
    said = inspect.getdoc(method) or ""
    wanted = [p for p in inspect.signature(method).parameters if p != "self"]
    if wanted:
        told = said.partition("Parameters\n----------\n")[2].partition("\n\n")[0]
        heads = {n.strip() for line in told.splitlines() if not line.startswith(" ")
                 for n in line.partition(":")[0].split(",")}
        assert heads == set(wanted), f"{owner.__name__}.{name}"
    if name != "close":  # closing twice is allowed, so it has no fault to tell
        faults = re.findall(r"(\w+Error):", said.partition("Raises\n------\n")[2])
        assert faults, f"{owner.__name__}.{name}"
        # every fault told is one of the house or of the language: a renamed one must not stay in the text
        assert all(hasattr(errors, f) or hasattr(builtins, f) for f in faults), faults


@pytest.mark.parametrize(("owner", "name"), [
    (School, "add_picture"), (School, "nearest"), (School, "rerun"), (Study, "likeness"), (Study, "distances"),
    (Study, "to_frame"), (Study, "nearest"), (Study, "map"), (Study, "plate")], ids=lambda x: getattr(x, "__name__", x))
def test_numbers_and_pictures_are_told_with_their_shape_or_unit(owner, name):
    said = inspect.getdoc(getattr(owner, name)) or ""
    assert re.search(r"\(H, W|\(n, [n2]\)|n \(n - 1\) / 2|0 to 1|in millimetres", said)


@pytest.mark.parametrize("owner", [School, Study], ids=lambda c: c.__name__)
def test_every_property_is_told(owner):
    for name, member in inspect.getmembers(owner, lambda m: isinstance(m, (property, cached_property))):
        assert name.startswith("_") or len(inspect.getdoc(member) or "") > 20, f"{owner.__name__}.{name}"


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
