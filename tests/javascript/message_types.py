"""The browser's types from Python's: ``static/messages.js`` and a file of states for each module of ``widgets.states``.

``python -m tests.javascript.message_types`` writes them, a test compares. Conventions: one typedef a panel
(``PhotoBoardAsks``): what may be asked and with which arguments, from its ``do_x`` methods; one for what is told
(``Told``), from the types in ``readaid.widgets.messages``; one typedef a typed dict of a module of states.
"""

from __future__ import annotations

import ast
import inspect
import tempfile
import typing
from pathlib import Path
from types import ModuleType
from typing import Any

from readaid.piece.open_piece import OpenPiece
from readaid.widgets import messages, states
from readaid.widgets.album_panel import album
from readaid.widgets.bench import Bench
from readaid.widgets.desk import Desk

TARGET = Path(__file__).resolve().parents[2] / "readaid" / "widgets" / "static" / "messages.js"
HEAD = """// Kinds of messages, for the type check only: `python -m tests.javascript.message_types` writes them
// from the panels' `do_x` methods and from `readaid/widgets/messages.py`; a test compares. Nothing here is loaded.
"""
PLAIN = {"Pair": "[string, string]", "Point": "[number, number]",
         "str": "string", "int": "number", "float": "number", "bool": "boolean", "Any": "unknown", "None": "null"}
LISTS = ("list", "Sequence", "Iterable")


def script(annotation: str) -> str:
    """A type of Python in the words of the browser's checker.

    >>> script("dict[str, list[float]] | None")
    'Record<string, number[]>|null'
    """
    return _script(ast.parse(annotation, mode="eval").body)


def _script(node: ast.expr) -> str:
    if isinstance(node, ast.BinOp):
        return f"{_script(node.left)}|{_script(node.right)}"
    if isinstance(node, ast.Constant):
        return "null" if node.value is None else repr(node.value).replace("'", '"')
    if isinstance(node, ast.Name):
        return PLAIN.get(node.id, node.id)
    assert isinstance(node, ast.Subscript), ast.dump(node)
    assert isinstance(node.value, ast.Name), ast.dump(node)
    inside = node.slice.elts if isinstance(node.slice, ast.Tuple) else [node.slice]
    if node.value.id in LISTS:
        inner = _script(inside[0])
        return f"({inner})[]" if "|" in inner else f"{inner}[]"
    if node.value.id == "tuple":
        return f"[{', '.join(_script(x) for x in inside)}]"
    if node.value.id in ("dict", "Mapping"):
        return f"Record<string, {_script(inside[1])}>"
    if node.value.id == "Literal":
        return "|".join(map(_script, inside))
    assert node.value.id == "NotRequired", node.value.id
    return _script(inside[0])


def arguments(signature: inspect.Signature) -> str:
    """What an asking carries: names, types, which may be left out. Bytes travel beside a message, not in it."""
    told = [f"{p.name}{'' if p.default is p.empty else '?'}: {script(p.annotation)}"
            for p in signature.parameters.values() if p.name != "buffers"]
    return f"{{{', '.join(told)}}}" if told else "{}"


def fields(kind: Any) -> str:
    """The fields of a message that is told."""
    return f"{{{', '.join(rows(kind))}}}"


def rows(kind: Any) -> list[str]:
    """Name and type of each field."""
    told = []
    for name, hint in kind.__annotations__.items():
        words = hint.__forward_arg__ if isinstance(hint, typing.ForwardRef) else str(hint)
        free = words.startswith("NotRequired") or not kind.__total__
        told.append(f"{name}{'?' if free else ''}: {script(words)}")
    return told


def made_states() -> dict[Path, str]:
    """The files of states: every typed dict of a module, a row a field or all in one; others' types are named first."""
    return {TARGET.with_name(f"{module.__name__.rpartition('.')[2]}.js"): _of_module(module)
            for module in states.MODULES}


def _of_module(module: ModuleType) -> str:
    name = module.__name__.rpartition(".")[2]
    lines = [HEAD.replace("Kinds of messages", "States of panels").replace(
        "from the panels' `do_x` methods and from `readaid/widgets/messages.py`", f"from `readaid/widgets/{name}.py`")]
    for kind in vars(module).values():
        if not typing.is_typeddict(kind):
            continue
        if kind.__module__ != module.__name__:
            other = kind.__module__.rpartition(".")[2]
            lines.append(f'/** @typedef {{import("./{other}.js").{kind.__name__}}} {kind.__name__} */')
            continue
        short = f"/** @typedef {{{{{', '.join(rows(kind))}}}}} {kind.__name__} */"
        lines += [short] if len(short) <= 120 else [
            "/** @typedef {{", *(f" *   {x}," for x in rows(kind)), f" * }}}} {kind.__name__} */"]
    return "\n".join([*lines, "", "export {};", ""])


def made() -> str:
    """The text of ``messages.js``."""
    with tempfile.TemporaryDirectory() as folder, OpenPiece.new(Path(folder) / "piece", reader="r", title="t") as piece:
        bench = Bench(Desk(piece))
        for stage in ("school", "report"):
            bench.go(stage)
        bench.trace()
        school = album(Path(folder) / "school", title="t", reader="r")
        panels = {type(p).__name__: messages.askings((p, *p.parts)) for p in (*bench.panels, school)}
        school.school.close()
    lines = [HEAD]
    for name, asked in sorted(panels.items()):
        rows = [f" *   {a}: {arguments(s)}," for a, s in asked.items()]
        lines += ["/** @typedef {{", *rows, f" * }}}} {name}Asks */"]  # no empty lines: the linter bounds this file too
    lines.append("")
    for part in (messages.SignSaid, messages.Splice, messages.Run, messages.RowsTold):
        lines += [f"/** @typedef {{{fields(part)}}} {part.__name__} */"]
    lines += ["", "/** @typedef {{"]
    kinds = {typing.get_args(typing.get_type_hints(k)["type"])[0]: k for k in messages.TOLD
             if "type" in k.__annotations__}
    lines += [*(f" *   {n}: {fields(k)}," for n, k in sorted(kinds.items())), " * }} Told */", "", "export {};", ""]
    return "\n".join(lines)


if __name__ == "__main__":
    TARGET.write_text(made(), encoding="utf-8")
    for path, text in made_states().items():
        path.write_text(text, encoding="utf-8")
