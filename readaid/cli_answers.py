"""What all commands share: answers as JSON objects or in words, options that many have, the example in the help.

Conventions: JSON is UTF-8, one object per answer, with the field names of the Python results.
"""

from __future__ import annotations

import dataclasses
import json
import os
from collections.abc import Callable, Iterable
from typing import Any

import click

SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 100}
as_json = click.option("--json", "json_out", is_flag=True, help="Answer as JSON, one object per answer.")


def example(text: str) -> str:
    """Epilog of a command's help with an example, one line each, as it would be typed."""
    return "\b\nExample:\n  " + text.replace("\n", "\n  ")


def answer(results: Iterable[Any], json_out: bool, show: Callable[[Any], str]) -> None:
    """Print results, as JSON objects (one a line) or as ``show`` words them."""
    for result in results:
        click.echo(json.dumps(plain(result), ensure_ascii=False) if json_out else show(result))


def plain(value: Any) -> Any:
    """A JSON-able copy of a result; dataclasses become objects with the same field names."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        shown = {f.name: getattr(value, f.name) for f in dataclasses.fields(value) if f.repr}
        return {name: plain(v) for name, v in shown.items()}
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, frozenset):
        return [plain(v) for v in sorted(value)]
    if isinstance(value, tuple | list):
        return [plain(v) for v in value]
    if hasattr(value, "tolist"):
        return value.tolist()
    if isinstance(value, os.PathLike):
        return os.fspath(value)
    return value


def reading_words(r: Any) -> str:
    """A reading with its share, lines, morae and reasons."""
    lines = "  ".join(f"{text} ({m})" for text, m in zip(r.lines, r.morae, strict=False))
    out = [f"{r.probability:6.1%}  {lines}   {r.form or ''}", f"        {r.modern}   {r.romaji}"]
    if r.reasons:
        out.append("        " + "; ".join(str(reason) for reason in r.reasons))
    if r.cut:
        out.append("        (the search was cut short: this may not be the best)")
    return "\n".join(out)


def proposal_words(p: Any) -> str:
    """A proposal read by shape: its readings, how many signs nobody has judged, what is to be told."""
    many = len(p.by_shape)
    signs = f"{many} sign{'' if many == 1 else 's'}"
    told = [f"{signs} read by shape, judged by nobody: a proposal to check."] if many else []
    return "\n".join([*(reading_words(r) for r in p.readings), *told, *p.notes])


def verse_words(v: Any) -> str:
    """A verse line by line with what is too much or too little."""
    rows = []
    for text, morae, surplus in zip(v.lines, v.morae, v.surplus or [0] * len(v.lines), strict=False):
        note = f"  {surplus:+d}" if surplus else ""
        rows.append(f"{morae:3d}{note}  {text}")
    cut = ["(the search was cut short: this may not be the best break)"] if v.cut else []
    return "\n".join([*rows, f"form: {v.form or 'none fits'}", *cut])


def dating_words(d: Any) -> str:
    """A dating: days, era, cycle name, whether they agree, notes."""
    agrees = {True: "  year and cycle agree", False: "  year and cycle do NOT agree", None: ""}[d.agrees]
    year = f"{d.year}" if d.year is not None else "?"
    notes = "".join(f"\n  {n}" for n in d.notes)
    return f"{d.first} to {d.last}  {d.era} {year} {d.cycle}{agrees}{notes}"


def match_words(m: Any) -> str:
    """A known verse: the verdict with among how many it holds, what differs, how often chance comes as near."""
    rows = [m.words] if m.verdict != "nothing near" else [m.words, f"  nearest: {m.text or m.verse}  {m.author}"]
    rows += [f"  {note}" for note in m.differences[:4]]
    rows.append(f"  {m.source or 'source not told'}; distance {m.distance:.2f}, chance of one this near {m.chance:.2g}")
    return "\n".join(rows)
