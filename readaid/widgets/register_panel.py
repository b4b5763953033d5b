"""The register panel: tables of attempts and everything else, histories, status of an attempt.

Conventions: nothing is overwritten - a change of status is a new revision
with its reason. "As it stood on" takes the end of that day, UTC, for looking only.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import pandas as pd

from readaid.core.attempt import Attempt
from readaid.core.character import Character
from readaid.core.confidence import Status, word
from readaid.core.texts import told, wording
from readaid.widgets import register_pages
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel, confidence_values, confidence_words, module_text, style_text
from readaid.widgets.verse_lines import percent

_KINDS = [[kind, title] for kind, (title, _, _) in register_pages.TABLES.items()]
#: Fields that say nothing to a reader: vectors, hashes, ids of other records.
_SILENT = {
    "id",
    "descriptor",
    "descriptor_kind",
    "vector",
    "sha256",
    "inscription",
    "photo",
    "zone",
    "zones",
    "person",
    "teacher",
    "chosen",
    "columns",
    "source",
    "a",
    "b",
    "reference",
    "transform",
    "about",
    "outline",
    "to_reference",
}
#: Fields whose name is not a word for the screen.
_WORDS = {
    "written": "as it stands",
    "kana": "voiced, carver's spelling",
    "normal": "historical norm",
    "modern": "today's spelling",
    "romaji": "romanised",
    "form": "verse form",
    "confidence": "how sure",
    "probability": "probability among the readings",
    "made": "written down",
    "reasons": "departures",
    "alternatives": "other readings",
    "mm_per_pixel": "mm a pixel",
    "order_note": "why this order",
    "first": "from",
    "last": "to",
}


class RegisterPanel(Panel):
    """Tables of the desk's register."""

    _esm = module_text("register_panel.js")
    _css = style_text("register_panel.css")

    def __init__(self, desk: Desk, kind: str = "attempts") -> None:
        self.desk = desk
        self.kind, self.query, self.status, self.day, self.selected = kind, "", "", "", ""
        self.sort: tuple[str, int] = ("made" if kind == "attempts" else "changed", -1)
        self.start = 0
        self._frame: pd.DataFrame | None = None
        super().__init__()
        self.refresh()
        desk.listen(self._heard)

    def _heard(self, what: str) -> None:
        if what == "records":
            self._frame = None
            self.refresh()

    @property
    def view(self) -> Any:
        """The register now, or as it stood at the end of the chosen day."""
        return self.desk.piece.register.at(self.day) if self.day else self.desk.piece.register

    def refresh(self) -> None:
        """Show the page as it is now."""
        if self._frame is None:
            self._frame = register_pages.frame_of(self.view, self.kind)
        only = {"status": self.status} if self.kind == "attempts" else {}
        shown = register_pages.page(self._frame, self.kind, self.query, self.sort, self.start, only)
        self.start = shown["start"]
        self.state = {
            **shown,
            "kind": self.kind,
            "kinds": [[kind, told(title)] for kind, title in _KINDS],
            "query": self.query,
            "status": self.status,
            "moment": self.day,
            "statuses": [[s.value, told(s.value)] for s in Status],
            "sort": list(self.sort),
            "selected": self.selected,
            "nothing": (wording("Nothing fits what you look for.") if self.query or self.status
                        else told(register_pages.TABLES[self.kind][1])),
            "words": confidence_words(),
            "values": [[w, v] for w, v in confidence_values().items()],
            "locked": self.desk.piece.read_only,
            "detail": self._detail() if self.selected else None,
        }

    def _detail(self) -> dict[str, Any] | None:
        if self.kind == "changes":
            revision = next(
                (r for r in self.view.since(int(self.selected) - 1) if r.number == int(self.selected)), None
            )
            record_id = revision.record.id if revision else ""
        else:
            record_id = self.selected
        past = self.view.history(record_id) if record_id else []
        if not past:
            return None
        record = past[-1].record
        history = []
        for before, now in zip([None, *past], past, strict=False):
            history.append(
                {
                    "when": now.made[:19].replace("T", " "),
                    "reader": now.reader,
                    "reason": told(now.reason),
                    "what": wording("withdrawn") if now.withdrawn else difference(
                        before.record if before else None, now.record),
                }
            )
        detail: dict[str, Any] = {
            "id": record_id,
            "title": title(record),
            "facts": facts(record),
            "history": history[::-1],
        }
        if isinstance(record, Attempt):
            detail["attempt"] = {"status": record.status.value, "confidence": record.confidence}
        return detail

    # --- asked -------------------------------------------------------------------
    def do_query(self, text: str) -> None:
        """Look for words in every column."""
        self.query, self.start = text.strip(), 0
        self.refresh()

    def do_sort(self, column: str) -> None:
        """Sort by a column; again turns it round."""
        self.sort = (column, -self.sort[1] if column == self.sort[0] else 1)
        self.start = 0
        self.refresh()

    def do_page(self, by: int) -> None:
        """Turn the page."""
        self.start += by * register_pages.PAGE
        self.refresh()

    def do_kind(self, kind: str) -> None:
        """Show another table."""
        self.kind, self.start, self.selected, self._frame = kind, 0, "", None
        self.sort = (register_pages.TABLES[kind][2][0].name, -1)
        self.refresh()

    def do_status_filter(self, status: str) -> None:
        """Show attempts of one status only."""
        self.status, self.start = status, 0
        self.refresh()

    def do_as_of(self, day: str) -> None:
        """Show the register as it stood on a day ("" is now)."""
        self.day, self.start, self.selected, self._frame = day, 0, "", None
        self.refresh()

    def do_open(self, id: str) -> None:
        """Show one entry with its history."""
        self.selected = id
        self.refresh()

    def do_change(self, id: str, status: str, confidence: float, reason: str = "") -> None:
        """Give an attempt another status or confidence."""
        self.desk.gesture(
            wording("attempt changed"),
            lambda: self.desk.piece.decipherment.set_status(id, status, reason=reason, confidence=float(confidence)),
        )
        self.say(wording("Saved as a new revision."))


def title(record: Any) -> str:
    """A record in a few words."""
    if isinstance(record, Attempt):
        return "　".join(record.lines) or record.kana or record.written
    if isinstance(record, Character):
        return wording("Sign: ") + (register_pages.candidates(record.candidates) or wording("not read"))
    for name in ("title", "name", "text", "citation", "file"):
        if getattr(record, name, ""):
            return str(getattr(record, name))
    return told(type(record).__name__)


def shown(value: Any) -> str:
    """A field's value in words."""
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        if value and hasattr(value[0], "character"):
            return register_pages.candidates(value)
        text = "、".join(shown(v) for v in value)
        return text if len(text) < 160 else wording("{0} entries", len(value))
    return "" if value is None else told(str(value))


def facts(record: Any) -> list[list[str]]:
    """The fields of a record that say something, in the words of the other panels."""
    rows = []
    for f in dataclasses.fields(record):
        value = getattr(record, f.name)
        if f.name in _SILENT or value in (None, "", (), False):
            continue
        rows.append([field_words(f.name), _value(f.name, value)])
    return rows


def _value(name: str, value: Any) -> str:
    if name == "confidence":
        return f"{told(word(value))} {value:.2f}"
    if name == "probability":
        return percent(value)
    if name == "made":
        return wording("{0} UTC", value[:16].replace("T", " "))
    if name in ("reasons", "alternatives") and isinstance(value, tuple):
        return "\n".join(dict.fromkeys(shown(v) for v in value))
    return shown(value)


def difference(before: Any, now: Any) -> str:
    """What changed between two values of a record, in words."""
    if before is None:
        return wording("entered|change")
    changed = [f.name for f in dataclasses.fields(now) if getattr(before, f.name) != getattr(now, f.name)]
    if not changed:
        return wording("as before")
    told = []
    for name in changed:
        old, new = shown(getattr(before, name)), shown(getattr(now, name))
        told.append(
            f"{field_words(name)}: {old or wording('empty')} → {new or wording('empty')}"
            if len(old) + len(new) < 120
            else field_words(name)
        )
    return "; ".join(told)


def field_words(name: str) -> str:
    """A field's name in words."""
    return told(_WORDS.get(name, name.replace("_", " ")))
