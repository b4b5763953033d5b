"""The piece panel: everything about the piece that is entered once, for register and report.

Conventions: lengths in millimetres, weight in grams; each field that is left
is one revision.
"""

from __future__ import annotations

from typing import Any

from readaid.core.character import Inscription, Text
from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Evidence, Photo
from readaid.core.piece import SIGNED, Piece
from readaid.core.texts import told, wording
from readaid.script.lengths import length, weight
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.zone_rows import inscription_title

#: (field, label, "text" | "number" | "long" | "choice")
FIELDS = (
    ("title", "What it is called", "text"),
    ("inventory", "Inventory number", "text"),
    ("subject", "Subject or design", "text"),
    ("kind", "What sort of object", "text"),
    ("maker", "Maker, as signed", "text"),
    ("signed", "Signed or unsigned", "choice"),
    ("attributed", "Attributed to", "text"),
    ("attributed_by", "Attributed by whom", "text"),
    ("made_when", "Period", "text"),
    ("material", "Material", "text"),
    ("technique", "Technique", "text"),
    ("width", "Width in mm", "number"),
    ("height", "Height in mm", "number"),
    ("depth", "Depth in mm", "number"),
    ("weight", "Weight in g", "number"),
    ("reader", "Reader", "text"),
    ("rights", "Rights to text and photographs", "text"),
    ("place_kept", "Where it is kept (left out of reports unless asked)", "text"),
    ("condition", "Condition", "long"),
    ("provenance", "Provenance (left out of reports unless asked)", "long"),
    ("exhibited", "Exhibitions, one a line", "long"),
    ("literature", "Literature, one a line", "long"),
    ("treat", "What is to be treated", "long"),
    ("leave", "What is to be left alone", "long"),
    ("translation", "Translation", "long"),
    ("commentary", "Commentary", "long"),
    ("not_read", "What was not read", "long"),
    ("notes", "Notes", "long"),
)
SENSITIVE = ("lacquer", "textile", "paint", "paper", "ivory", "blade", "flaking surface")
SOURCES = ("box inscription", "certificate", "rubbing", "old catalogue", "literature", "hearsay")
_PHOTO = ("title", "surface", "light", "evidence", "rights")
_PLACE = ("title", "surface", "place", "technique", "order_note", "note")


class PiecePanel(Panel):
    """The form for the desk's piece."""

    _esm = module_text("piece_panel.js")
    _css = style_text("piece_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        super().__init__()
        self.refresh()
        desk.listen(lambda what: self.refresh() if what == "records" else None)

    def refresh(self) -> None:
        """Show the piece as it is now."""
        c = self.desk.contents
        piece = c.piece
        self.state = {
            "fields": [
                {
                    "name": n,
                    "label": told(label),
                    "number": kind == "number",
                    "long": kind == "long",
                    "choices": signed_choices(piece.signed) if kind == "choice" else [],
                    "value": ""
                    if getattr(piece, n) is None
                    else (f"{getattr(piece, n):g}" if kind == "number" else getattr(piece, n)),
                }
                for n, label, kind in FIELDS
            ],
            "sensitive": [[s, s in piece.sensitive, told(s)] for s in dict.fromkeys((*SENSITIVE, *piece.sensitive))],
            "evidence": [[e.value, told(e.value)] for e in Evidence],
            "source_kinds": [[s, told(s)] for s in SOURCES],
            "photos": [
                {
                    "id": p.id,
                    "file": p.file,
                    **{n: str(getattr(p, n)) for n in _PHOTO},
                    "words": wording(
                        " {0} × {1} pixels",
                        p.width,
                        p.height) + (wording(", taken {0}", p.taken) if p.taken else ""),
                }
                for p in c.photos
            ],
            "kinds": [[k.value, told(k.value)] for k in Text],
            "inscriptions": [
                {
                    "id": i.id,
                    "words": inscription_title(i, n),
                    "kind": i.kind.value,
                    **{f: getattr(i, f) for f in _PLACE},
                }
                for n, i in enumerate(c.inscriptions)
            ],
            "sources": [{"kind": told(s.kind), "citation": s.citation, "weight": told(s.weight)} for s in c.sources],
            "notes": [{"text": n.text} for n in c.notes if n.about == piece.id],
        }

    # --- asked -----------------------------------------------------------------------
    def do_describe(self, name: str, text: str) -> None:
        """Change one field of the piece."""
        kinds = {n: kind for n, _, kind in FIELDS}
        if name not in kinds:
            raise unknown_option("piece field", name, kinds)
        value: Any = text.strip()
        if kinds[name] == "number":  # nothing written is no measure, not a measure of nothing
            value = (weight if name == "weight" else length)(text) if value else None
        if name == "title" and not value:
            raise OptionError("The piece needs a name", cure="write what it is called, such as 'tobacco box, inv. 12'")
        self.desk.gesture(wording("{0} changed", name), lambda: self.desk.piece.describe(**{name: value}))
        if name == "reader" and value:
            self.desk.piece.reader = value
        self.say(wording("Saved."))

    def do_sensitive(self, name: str) -> None:
        """Mark a sensitive part of the piece, or take the mark away."""
        piece: Piece = self.desk.contents.piece
        held = tuple(s for s in piece.sensitive if s != name) if name in piece.sensitive else (*piece.sensitive, name)
        self.desk.gesture(wording("sensitive parts"), lambda: self.desk.piece.describe(sensitive=held))

    def do_photo(self, id: str, name: str, text: str) -> None:
        """Change what is said about a photograph."""
        if name not in _PHOTO:
            raise unknown_option("photo field", name, _PHOTO)
        record = self.desk.find(Photo, id)
        if record is not None:
            value: Any = Evidence(text) if name == "evidence" else text.strip()
            self.desk.gesture(
                wording("photograph described"),
                lambda: self.desk.piece.change(record, reason="photo described", **{name: value}),
            )
            self.say(wording("Saved."))

    def do_place(self, id: str, name: str, text: str) -> None:
        """Change what is said about an inscription."""
        if name not in (*_PLACE, "kind"):
            raise unknown_option("inscription field", name, (*_PLACE, "kind"))
        value = Text(text) if name == "kind" else text.strip()
        record = self.desk.find(Inscription, id)
        if record is not None:
            self.desk.gesture(
                wording("inscription described"),
                lambda: self.desk.piece.change(record, reason="inscription described", **{name: value}),
            )
            self.say(wording("Saved."))

    def do_source(self, kind: str, citation: str) -> None:
        """Add evidence beside the piece."""
        if not citation.strip():
            raise OptionError("The evidence says nothing yet", cure="write what it says and where it is")
        self.desk.gesture(wording("evidence added"), lambda: self.desk.piece.add_source(kind, citation.strip()))
        self.say(wording("Saved."))

    def do_note(self, text: str) -> None:
        """Add a note about the piece."""
        if text.strip():
            self.desk.gesture(wording(
                "note added"), lambda: self.desk.piece.add_note(self.desk.contents.piece.id, text.strip()))
            self.say(wording("Saved."))


def signed_choices(now: str) -> list[list[str]]:
    """What may be said of a signature, each with its words; the reader's own words stay among them."""
    return [[s, told(s) if s else told("not stated")] for s in dict.fromkeys((*SIGNED, now))]
