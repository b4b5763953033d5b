"""The house in figures: modules, comments beside the code by room, tests to code, imports across rooms.

Conventions: a statement is what Python's parser calls one (docstrings and imports too); a comment is one line that
holds one, wherever it stands, ``#:`` for a constant among them; lines are those of the file, empty ones too. Nothing
is run, so the figures are those of the source and the same on any machine.
"""

from __future__ import annotations

import ast
import io
import statistics
import tokenize
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
Row = tuple[str, float | int | str, str, str]


def statements(source: str) -> int:
    """How many statements a source has.

    >>> statements('x = 1\\nif x:\\n    y = 2\\n')
    3
    """
    return sum(isinstance(node, ast.stmt) for node in ast.walk(ast.parse(source)))


def comments(source: str) -> int:
    """How many lines hold a comment; a # in a text is none.

    >>> comments('x = 1  # one\\n#: two\\ny = "# none"\\n')
    2
    """
    return sum(token.type == tokenize.COMMENT for token in tokenize.generate_tokens(io.StringIO(source).readline))


def room(path: Path) -> str:
    """The room of a module of the package; "face" for what lies at its top.

    >>> room(ROOT / "readaid" / "core" / "veil.py"), room(ROOT / "readaid" / "cli.py")
    ('core', 'face')
    """
    parts = path.relative_to(ROOT / "readaid").parts
    return parts[0] if len(parts) > 1 else "face"


def across(path: Path, source: str) -> int:
    """How many import statements of a module name another room."""
    names = [node.module for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ImportFrom) and node.module]
    rooms = [n.split(".")[1] for n in names if n.startswith("readaid.") and n.count(".") > 1]
    return sum(r != room(path) for r in rooms)


def bench() -> list[Row]:
    code = {p: p.read_text(encoding="utf-8") for p in sorted((ROOT / "readaid").rglob("*.py"))}
    tests = [p.read_text(encoding="utf-8") for p in sorted((ROOT / "tests").rglob("*.py"))]
    lines = {p: len(s.splitlines()) for p, s in code.items()}
    said, done = Counter[str](), Counter[str]()
    for path, source in code.items():
        said[room(path)] += comments(source)
        done[room(path)] += statements(source)
    rows: list[Row] = [
        ("modules", len(code), "", ""), ("median module", statistics.median(lines.values()), "lines", "80 to 250"),
        ("longest module", max(lines.values()), "lines", "400 at most"),
        ("import statements across rooms", sum(across(p, s) for p, s in code.items()), "", ""),
        ("lines of tests to a line of code", sum(len(t.splitlines()) for t in tests) / sum(lines.values()), "", ""),
        ("comments per 100 statements", 100 * said.total() / done.total(), "", "10")]
    return rows + [(f"comments per 100 statements: {name}", 100 * said[name] / done[name], f"of {done[name]}", "10")
                   for name in sorted(done)]
