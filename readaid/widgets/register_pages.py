"""Pages of the register's tables: which columns are shown, filtered, sorted, cut into pages.

Conventions: frames come from the register with declared dtypes; what goes to
the browser is text only, one page at a time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypedDict

import pandas as pd

from readaid.core.confidence import word
from readaid.core.errors import unknown_option
from readaid.core.texts import told
from readaid.widgets.register_states import TableColumn, TableRow
from readaid.widgets.verse_lines import percent

#: Rows of a page.
PAGE = 20


class TablePage(TypedDict):
    """A page of a table: rows from ``start`` of ``total``."""

    columns: list[TableColumn]
    rows: list[TableRow]
    total: int
    start: int


@dataclass(frozen=True)
class Column:
    """A column on the screen: frame column, title, how a cell is written."""

    name: str
    title: str
    write: Callable[[Any], str] = str


def moment(value: Any) -> str:
    """A time to the minute, UTC."""
    return "" if pd.isna(value) else pd.Timestamp(value).strftime("%Y-%m-%d %H:%M")


def sure(value: Any) -> str:
    """A confidence with its word."""
    return "" if pd.isna(value) else f"{told(word(float(value)))} {float(value):.2f}"


def share(value: Any) -> str:
    """A probability, as the reading panel writes it: "under 1 %", never 0 %."""
    return "" if pd.isna(value) else percent(float(value))


def plain(value: Any) -> str:
    """Any cell as text; what is missing is empty."""
    if isinstance(value, (list, tuple)):
        return "　".join(plain(v) for v in value)
    return "" if value is None or (not isinstance(value, str) and pd.isna(value)) else str(value)


def named(value: Any) -> str:
    """A word of the program: a status, a kind, a verse form."""
    return told(plain(value))


def candidates(value: Any) -> str:
    """Candidates of a sign with their confidence."""
    return "　".join(f"{c.character} {c.confidence:.2f}{f' ({c.rejected})' if c.rejected else ''}"
                    if hasattr(c, "character") else plain(c) for c in value or ())


TABLES: dict[str, tuple[str, str, tuple[Column, ...]]] = {
    "attempts": (
        "Reading attempts",
        "No attempts yet. Keep a reading at the place Reading.",
        (
            Column("made", "When", moment),
            Column("kana", "Reading", plain),
            Column("written", "As it stands", plain),
            Column("form", "Form", named),
            Column("confidence", "Confidence", sure),
            Column("status", "Status", named),
            Column("rejected", "Why not", plain),
            Column("probability", "Probability", share),
            Column("reader", "Reader", plain),
            Column("evidence", "Evidence", plain),
        ),
    ),
    "characters": (
        "Signs",
        "No signs yet.",
        (
            Column("changed", "Changed", moment),
            Column("candidates", "Candidates", candidates),
            Column("damage", "Survives", named),
            Column("fixed", "Held fast", plain),
            Column("changed_by", "Reader", plain),
            Column("note", "Note", plain),
        ),
    ),
    "persons": (
        "People",
        "Nobody entered yet.",
        (
            Column("changed", "Changed", moment),
            Column("name", "Name", plain),
            Column("readings", "Readings", plain),
            Column("school", "School", plain),
            Column("generation", "Generation", plain),
            Column("changed_by", "Reader", plain),
        ),
    ),
    "dates": (
        "Dates",
        "No dates yet.",
        (
            Column("changed", "Changed", moment),
            Column("text", "As it stands", plain),
            Column("first", "From", plain),
            Column("last", "To", plain),
            Column("cycle", "Cycle", plain),
            Column("changed_by", "Reader", plain),
        ),
    ),
    "comparisons": (
        "Comparisons",
        "Nothing compared yet.",
        (
            Column("changed", "Changed", moment),
            Column("likeness", "Likeness of form", lambda v: f"{float(v):.2f}"),
            Column("population", "Among", plain),
            Column("note", "Note", plain),
            Column("changed_by", "Reader", plain),
        ),
    ),
    "photos": (
        "Photographs",
        "No photographs yet.",
        (
            Column("changed", "Added", moment),
            Column("title", "Title", plain),
            Column("file", "File", plain),
            Column("width", "Width", plain),
            Column("height", "Height", plain),
            Column("evidence", "Kind", named),
            Column("rights", "Rights", plain),
        ),
    ),
    "changes": (
        "Every change",
        "Nothing was changed yet.",
        (
            Column("entered", "When", moment),
            Column("number", "No.", plain),
            Column("kind", "What", named),
            Column("reason", "Why", named),
            Column("reader", "Reader", plain),
            Column("withdrawn", "Withdrawn", lambda v: told("yes") if v else ""),
        ),
    ),
}


def frame_of(view: Any, kind: str) -> pd.DataFrame:
    """The frame behind a table; raises OptionError for an unknown one."""
    if kind not in TABLES:
        raise unknown_option("table", kind, TABLES)
    if kind == "changes":
        from readaid.register.frames import revisions

        found = list(view.since(0))
        table = revisions(view, found)
        return table.assign(number=table.index)
    return getattr(view, kind)  # type: ignore[no-any-return]


def page(
    frame: pd.DataFrame,
    kind: str,
    query: str = "",
    sort: tuple[str, int] = ("", 1),
    start: int = 0,
    only: dict[str, str] | None = None,
    size: int = PAGE,
) -> TablePage:
    """One page as text.

    ``query`` is looked for in every shown column, letters and words as they are
    shown; ``sort`` is (column, 1 or -1); ``only`` keeps rows whose column equals a value.
    """
    columns = TABLES[kind][2]
    shown = frame
    for name, value in (only or {}).items():
        if value:
            shown = shown[shown[name].astype("string") == value]
    if query:
        words = query.casefold().split()
        text = pd.Series("", index=shown.index, dtype="object")
        for c in columns:
            text = text + "\n" + shown[c.name].map(c.write).astype("object")
        text = text.str.casefold()
        for w in words:
            text = text[text.str.contains(w, regex=False)]
        shown = shown.loc[text.index]
    if sort[0] and sort[0] in shown.columns and len(shown):
        keys = shown[sort[0]]
        if keys.dtype == "object":
            keys = keys.map(plain)
        shown = shown.loc[keys.sort_values(ascending=sort[1] > 0, kind="stable").index]
    total = len(shown)
    start = min(max(start, 0), max(total - 1, 0) // size * size)
    part = shown.iloc[start : start + size]
    rows: list[TableRow] = [
        {
            "id": str(id),
            "cells": [
                c.write(v) or "–" if i == 0 else c.write(v)
                for i, (c, v) in enumerate(zip(columns, values, strict=True))
            ],
        }
        for id, values in zip(part.index, part[[c.name for c in columns]].itertuples(index=False), strict=True)
    ]
    return {
        "columns": [{"name": c.name, "title": told(c.title)} for c in columns],
        "rows": rows,
        "total": total,
        "start": start,
    }
