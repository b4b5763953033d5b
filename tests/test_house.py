"""The house: import ranks and third-party doors, read from the source."""

import ast
import sys
from collections import Counter
from datetime import date
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "readaid"
RANKS = {"core": 0, "script": 1, "photo": 1, "lexicon": 2, "glyphs": 2, "forms": 2, "reading": 3, "register": 3,
         "copies": 4, "schools": 4, "report": 4, "piece": 5, "widgets": 6, "": 7}
DOORS = {
    "core": set(),
    "script": set(),
    "photo": {"PIL", "numpy", "scipy", "cv2", "pi_heif"},
    "lexicon": {"fugashi", "unidic_lite", "numpy"},
    "glyphs": {"numpy", "cv2", "PIL", "onnxruntime"},
    "forms": {"numpy", "scipy", "cv2", "PIL", "fpdf", "fontTools", "threadpoolctl"},
    "schools": {"numpy", "scipy", "PIL", "pandas", "dask", "distributed"},
    "copies": {"numpy", "pandas", "sqlalchemy"},
    "reading": {"numpy"},
    "register": {"pandas", "sqlalchemy", "cattrs", "openpyxl", "pyarrow", "numpy"},
    "report": {"lxml", "docx", "PIL", "numpy", "pandas", "fpdf", "fontTools"},
    "piece": {"numpy", "PIL", "nbformat"},
    "widgets": {"ipywidgets", "anywidget", "traitlets", "IPython", "pandas", "numpy", "PIL"},
    "": {"click", "jupyter_server", "tornado", "traitlets"},
}
#: Packages with exactly one door module in their room.
ONE_DOOR = {"openpyxl", "pyarrow", "dask", "distributed", "fugashi", "onnxruntime"}
FILES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else ""


@cache
def tree(path: Path) -> ast.Module:
    """The parsed module: kept, since every door and rank reads all of them again."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports(path: Path) -> list[str]:
    """Dotted names of imported modules, also of imports inside functions."""
    found = []
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            found += [a.name for a in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: relative import; write the whole name"
            module = node.module or ""
            found += [f"{module}.{a.name}" if module == "readaid" else module for a in node.names]
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_ranks_and_doors(path):
    room = room_of(path)
    assert room in RANKS, f"{room} is not a room of the house"
    for name in imports(path):
        head, *rest = name.split(".")
        if head == "readaid":
            other = rest[0] if rest and (PACKAGE / rest[0]).is_dir() else ""
            if other == "" and rest[:1] == ["_version"]:
                continue
            assert other == room or RANKS[other] < RANKS[room], f"{path.name} ({room}) imports {name}"
        elif head not in sys.stdlib_module_names:
            assert head in DOORS[room], f"{path.name} ({room}) imports {head}: not a door of this room"


@pytest.mark.parametrize("package", sorted(ONE_DOOR))
def test_one_door_module_each(package):
    doors = {p.relative_to(PACKAGE) for p in FILES if any(n.split(".")[0] == package for n in imports(p))}
    assert len(doors) <= 1, f"{package} is imported in {doors}"


def test_core_and_face_are_light():
    """``import readaid`` loads neither NumPy nor pandas (they cost 0.1 and 0.5 s)."""
    import subprocess

    code = ("import sys, readaid, readaid.core.contents;"
            "print([m for m in ('numpy', 'pandas', 'PIL') if m in sys.modules])")
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert out.stdout.strip() == "[]"


def test_top_level_is_exactly_the_card():
    import subprocess

    files = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True)
    if files.returncode:
        pytest.skip("not a git checkout")
    top = {f.split("/")[0] for f in files.stdout.split("\0") if f}
    assert {t for t in top if not t.startswith(".")} == {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "readaid", "notebooks", "data", "tests", "LICENSE"}


def test_no_two_modules_bear_one_name():
    """One name, one meaning: a stranger who reads ``classes`` need not ask which."""
    names = Counter(p.stem for p in FILES if not p.stem.startswith("__"))
    assert [name for name, n in names.items() if n > 1] == []


def test_no_imports_run_in_a_circle():
    """Also imports inside functions and for type checking: parts are held and values passed instead."""
    modules = {".".join(p.relative_to(PACKAGE.parent).with_suffix("").parts): p for p in FILES}
    wants: dict[str, set[str]] = {}
    for module, path in modules.items():
        named = {n for node in ast.walk(tree(path)) if isinstance(node, ast.ImportFrom)
                 for a in node.names for n in (node.module, f"{node.module}.{a.name}")}
        wants[module] = {n for n in named if n in modules}
    done: set[str] = set()

    def follow(module: str, way: tuple[str, ...]) -> None:
        assert module not in way, f"a circle: {' -> '.join((*way[way.index(module):], module))}"
        if module not in done:
            for other in sorted(wants[module]):
                follow(other, (*way, module))
            done.add(module)

    for module in sorted(modules):
        follow(module, ())


def test_decisions_are_dated_records():
    records = [p for p in (ROOT / "data" / "decisions").glob("*.md") if p.name != "README.md"]
    assert records
    for record in records:
        day = record.name[:10]
        assert date.fromisoformat(day)
        assert record.read_text(encoding="utf-8").splitlines()[0].endswith(day), f"{record.name}: title without its day"


def test_modules_stay_small():
    lines = {str(p.relative_to(PACKAGE)): len(p.read_text(encoding="utf-8").splitlines()) for p in FILES}
    big = {name: n for name, n in lines.items() if n > 400}
    assert not big, f"modules over 400 lines: {big}"
