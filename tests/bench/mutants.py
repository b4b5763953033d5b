"""Mutants: small faults put into the code, one at a time; the tests of the room should notice each.

    python -m tests.bench.mutants --seed 2026 --count 30          # draw over all rooms, run, print
    python -m tests.bench.mutants --seed 2026 --count 30 --list   # only say what is drawn
    python -m tests.bench.mutants --seed 2026 --only 3 17         # these numbers of the draw again
    python -m tests.bench.mutants --seed 2026 --count 30 --near   # only tests that import the module: quicker, stricter

Conventions: rooms take turns, so that each has its share whatever its size; within a room every place that can be
changed is as likely as any other. A mutant is killed if a test of its room, or a doctest of it, fails or outlasts the
limit; a test that fails on the sound source too does not count. It survives if all pass. Annotations, decorators,
docstrings and what is only imported for types are left alone.
The draw depends on the seed and on the source: after a change of the source a number may name another place, so a
count is told with its commit. The tests run in a copy; the checkout is never touched.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LIMIT = 420  # seconds for the tests of a room
#: What stands in for a room's own folder of tests where it has none.
ELSEWHERE = {"core": ["tests/script", "tests/report", "tests/register"],
             "": ["tests/test_cli.py", "tests/test_face.py", "tests/test_bad_input.py"]}
COMPARED = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
            ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
RECKONED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
            ast.Mod: ast.Mult, ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd}
COPIED = ("readaid", "tests", "data", "notebooks", "pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE", ".ci")
LEFT_ALONE = ("annotation", "returns", "decorator_list", "type_params", "bases", "keywords")


@dataclass(frozen=True)
class Mutant:
    """A changed place: file below the root, line, what stood there and what stands there now, the whole new source."""

    file: str
    line: int
    was: str
    now: str
    source: str

    @property
    def room(self) -> str:
        parts = Path(self.file).parts
        return parts[1] if len(parts) > 2 else ""


def changed(node: ast.AST) -> ast.AST | None:
    """The node with one fault in it; None where there is nothing to change."""
    match node:
        case ast.Compare(ops=[op, *rest]) if type(op) in COMPARED:
            return ast.Compare(node.left, [COMPARED[type(op)](), *rest], node.comparators)
        case ast.BinOp(op=op) if type(op) in RECKONED and not _text(node):
            return ast.BinOp(node.left, RECKONED[type(op)](), node.right)
        case ast.BoolOp(op=op):
            return ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), node.values)
        case ast.UnaryOp(op=ast.Not()):
            return node.operand
        case ast.If(test=test) if not isinstance(test, ast.Compare | ast.BoolOp):
            return ast.If(ast.UnaryOp(ast.Not(), test), node.body, node.orelse)
        case ast.IfExp():
            return ast.IfExp(node.test, node.orelse, node.body)
        case ast.Constant(value=bool() as value):
            return ast.Constant(not value)
        case ast.Constant(value=int() | float() as value):
            return ast.Constant(value + 1 if isinstance(value, int) else value * 2 or 1.0)
        case ast.Return(value=value) if value is not None and not isinstance(value, ast.Constant):
            return ast.Return(ast.Constant(None))
    return None


def _text(node: ast.BinOp) -> bool:
    """Strings put together or filled in: no fault of reckoning."""
    return any(isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, str))
               for side in (node.left, node.right))


def places(tree: ast.Module) -> Iterator[tuple[ast.AST, str, int | None]]:
    """(parent, field, index) of every place that may be changed."""
    stack: list[ast.AST] = [tree]
    while stack:
        parent = stack.pop()
        for name, value in ast.iter_fields(parent):
            if name in LEFT_ALONE and not isinstance(parent, ast.Call):
                continue
            for index, child in enumerate(value) if isinstance(value, list) else ((None, value),):
                if not isinstance(child, ast.AST) or _for_types(child):
                    continue
                if changed(child) is not None:
                    yield parent, name, index
                stack.append(child)


def _for_types(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"


def mutants(seed: int, count: int) -> list[Mutant]:
    """The draw: rooms in turn, each time a random place of the room."""
    draw = random.Random(seed)
    rooms: dict[str, list[tuple[str, int]]] = {}
    for path in sorted((ROOT / "readaid").rglob("*.py")):
        file = str(path.relative_to(ROOT))
        room = Mutant(file, 0, "", "", "").room
        many = sum(1 for _ in places(ast.parse(path.read_text(encoding="utf-8"))))
        rooms.setdefault(room, []).extend((file, n) for n in range(many))
    names = sorted(rooms)
    draw.shuffle(names)
    out: list[Mutant] = []
    while len(out) < count:
        file, number = draw.choice(rooms[names[len(out) % len(names)]])
        out.append(_made(file, number))
    return out


def _made(file: str, number: int) -> Mutant:
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    parent, name, index = list(places(tree))[number]
    value = getattr(parent, name)
    old = value if index is None else value[index]
    new = changed(old)
    assert new is not None
    was, now = (_short(n) for n in (old, ast.fix_missing_locations(ast.copy_location(new, old))))
    if index is None:
        setattr(parent, name, new)
    else:
        value[index] = new
    return Mutant(file, old.lineno, was, now, ast.unparse(ast.fix_missing_locations(tree)))


def _short(node: ast.AST) -> str:
    text = ast.unparse(node).splitlines()[0]
    return text if len(text) <= 70 else text[:69] + "…"


def tests_of(mutant: Mutant, near: bool) -> list[list[str]]:
    """Paths for pytest, what is likeliest to notice first: tests that import the module, then the room's whole
    (not with ``near``)."""
    room, stem = mutant.room, Path(mutant.file).stem
    folders = ELSEWHERE.get(room) or [f"tests/{room}"]
    files = [p for f in folders for p in ([ROOT / f] if f.endswith(".py") else sorted((ROOT / f).rglob("test_*.py")))]
    name = re.compile(rf"^ *from readaid\.{room}(?:\.{stem} import| import .*\b{stem}\b)", re.MULTILINE)
    naming = [str(p.relative_to(ROOT)) for p in files
              if stem in p.stem or name.search(p.read_text(encoding="utf-8"))]
    whole = [f"readaid/{room}" if room else mutant.file, *folders]
    return [[mutant.file, *naming]] if near else [[mutant.file, *naming], whole]


def killed(mutant: Mutant, copy: Path, sick: set[str], near: bool = False) -> str:
    """The test that noticed, "time" if the limit was reached, "" if none did; ``sick``: tests that fail anyway."""
    path = copy / mutant.file
    whole = path.read_text(encoding="utf-8")
    try:
        for paths in tests_of(mutant, near):
            while True:
                path.write_text(mutant.source, encoding="utf-8")
                found = _failed(copy, [*paths, *(f"--deselect={name}" for name in sorted(sick))])
                path.write_text(whole, encoding="utf-8")
                if found and "::" in found and _failed(copy, [found]):
                    sick.add(found)
                    continue
                break
            if found:
                return found
    except subprocess.TimeoutExpired:
        return "time"
    finally:
        path.write_text(whole, encoding="utf-8")
    return ""


def _failed(copy: Path, paths: list[str]) -> str:
    """The first test that failed, "" if none did."""
    environment = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1", "CI": ""}
    done = subprocess.run([sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--no-header", *paths],
                          cwd=copy, capture_output=True, text=True, env=environment, timeout=LIMIT)
    for line in done.stdout.splitlines():
        if line.startswith(("FAILED ", "ERROR ")):
            return line.split(" - ")[0].split(" ", 1)[1]
    return "" if done.returncode in (0, 5) else f"exit {done.returncode}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--count", type=int, default=30)
    parser.add_argument("--only", type=int, nargs="*", help="numbers of the draw, from 1")
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--near", action="store_true")
    asked = parser.parse_args()
    drawn = list(enumerate(mutants(asked.seed, asked.count), start=1))
    chosen = [(n, m) for n, m in drawn if not asked.only or n in asked.only]
    survived = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in () if asked.list else COPIED:
            of = ROOT / name
            shutil.copytree(of, copy / name) if of.is_dir() else shutil.copy2(of, copy / name)
        sick: set[str] = set()
        for number, mutant in chosen:
            start = time.monotonic()
            by = "" if asked.list else killed(mutant, copy, sick, asked.near)
            survived += not by
            told = "" if asked.list else f"{by or 'SURVIVED'} ({time.monotonic() - start:.0f} s)"
            print(f"{number}\t{mutant.file}:{mutant.line}\t{mutant.was}  ->  {mutant.now}\t{told}", flush=True)
    if not asked.list:
        print(f"seed {asked.seed}: {len(chosen) - survived} of {len(chosen)} killed", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
