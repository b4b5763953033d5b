"""The report panel: choose, write, look, save a copy.

Conventions: the report is written into ``exports/`` of the piece folder; the
page gets its bytes, so that looking and saving need no address.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from readaid.core import texts
from readaid.core.character import Inscription
from readaid.core.condition import ADVICE, CAUSES, LAYERS, Region
from readaid.core.entry import Entry
from readaid.core.errors import unknown_option
from readaid.core.photo import Photo
from readaid.piece import entry_lines
from readaid.piece.surfaces import Step
from readaid.report.terms import said, word
from readaid.widgets.desk import Desk
from readaid.widgets.long_work import LongWork, shares
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.register_states import EntryField, EntryRow

_MIME = {
    "html": "text/html",
    "csv": "text/csv",
    "md": "text/markdown",
    "xml": "application/xml",
    "json": "application/json",
}
_LOOKS = {"html": "html", "csv": "text", "md": "text", "xml": "text", "json": "text"}
_SETTINGS = ("format", "edition", "language", "part", "private", "blind")
#: Which heading of the report's table names a field of the entry, where it is not the field's own name.
_HEADS = {"romanised": "romaji", "translations": "translation", "picture": "picture_text", "not_read": "not_read_why",
          "allusions": "known_verse"}


class ReportPanel(Panel):
    """Reports of the desk's piece."""

    _esm = module_text("report_panel.js")
    _css = style_text("report_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.format, self.edition = "html", "leiden"
        self.language = ""  # that of the screen until one is chosen
        self.private = self.blind = False
        self.part = "full"
        self.proposed: Entry | None = None
        self.work = LongWork(self)
        self.parts = (self.work,)
        self.written: Path | None = None
        super().__init__()
        self.refresh()

    def refresh(self) -> None:
        """Show the choices."""
        from readaid.report import FORMATS

        self.state = {
            "formats": [[name, f"{name.upper()}: {texts.told(f.purpose)}"] for name, f in FORMATS.items()],
            "busy": self.work.busy,
            "regions": [
                {"id": r.id, "words": self._region_words(r), "cause": r.cause, "advice": r.advice, "note": r.note}
                for r in self.desk.contents.regions
            ],
            "causes": [[c, said("cause", c, texts.language())] for c in CAUSES],
            "advices": [[a, said("advice", a, texts.language())] for a in ADVICE],
            "layers": [f"{said('layer', x.kind, texts.language())}: {x.text}" for x in self.desk.contents.layers],
            "layer_kinds": [[k, said("layer", k, texts.language())] for k in LAYERS],
            "entries": [self._entry(i) for i in self.desk.contents.inscriptions],
            **self._settings(),
        }

    def _settings(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in _SETTINGS} | {"language": self.language or texts.language()}

    def _entry(self, target: Inscription) -> EntryRow:
        """The form of one inscription's entry: what stands there, and what is proposed where nothing does."""
        held = self.desk.contents.entry(target.id)
        offered = self.proposed if self.proposed is not None and self.proposed.inscription == target.id else None
        fields: list[EntryField] = []
        for name, long in entry_lines.FIELDS:
            value = entry_lines.shown(held, name)
            offer = entry_lines.shown(offered, name) if offered is not None and not value else ""
            label = word(_HEADS.get(name, name), texts.language())
            fields.append({"name": name, "label": label, "long": long, "value": value, "offer": offer})
        return {"id": target.id, "words": target.title or texts.told(target.kind.value), "fields": fields}

    def _region_words(self, region: Region) -> str:
        """Which photograph a region lies on, and how many signs it touches."""
        photo = self.desk.find(Photo, region.photo)
        touched = len(self.desk.piece.survey.touched(region))
        signs = texts.plural(touched, "{0} sign touched", "{0} signs touched")
        return f"{(photo.title or photo.file) if photo else ''}: {signs}"

    def do_region(self, id: str, name: str, text: str) -> None:
        """Say a marked region's cause, advice or note."""
        if name not in ("cause", "advice", "note"):
            raise unknown_option("field of a region", name, ("cause", "advice", "note"))
        change = {name: text.strip()}
        self.desk.gesture(texts.wording("region described"), lambda: self.desk.piece.survey.change(id, **change))
        self.refresh()

    def do_unmark(self, id: str) -> None:
        """Take a marked region back."""
        self.desk.gesture(texts.wording("region taken back"), lambda: self.desk.piece.survey.remove(id))
        self.refresh()

    def do_layer(self, kind: str, text: str) -> None:
        """Write down a layer of the surface."""
        if text.strip():
            survey = self.desk.piece.survey
            self.desk.gesture(texts.wording("layer described"), lambda: survey.add_layer(kind, text.strip()))
            self.refresh()

    def do_entry(self, id: str, name: str, text: str) -> None:
        """Write one field of an inscription's entry."""
        value = entry_lines.taken(name, text)
        self.desk.gesture(texts.wording("entry written"), lambda: self.desk.piece.write_up.write(id, **{name: value}))
        self.refresh()

    def do_propose(self, id: str) -> None:
        """Offer what can be computed for an inscription's entry; nothing is saved until it is taken over."""
        def done(found: Entry) -> None:
            self.proposed = found
            self.refresh()

        self.work.run(texts.wording("Working out proposals"), lambda _step: self.desk.piece.write_up.propose(id), done)

    def do_set(self, name: str, value: str | bool) -> None:
        """Choose a format, an edition, a language or what is left out."""
        if name not in _SETTINGS:
            raise unknown_option("report setting", name, _SETTINGS)
        setattr(self, name, value)
        self.refresh()

    def do_write(self) -> None:
        """Write the report beside the loop and hand it to the page."""
        options = self._settings()
        words = texts.wording("Writing the report")

        def work(step: Step) -> tuple[Path, bytes]:
            path = self.desk.piece.report(**options, progress=shares(step, words))
            return path, path.read_bytes()

        def done(result: tuple[Path, bytes]) -> None:
            path, data = result
            self.written = path
            suffix = path.suffix.lstrip(".")
            size = f"{len(data) / 1e6:.1f} MB" if len(data) > 200_000 else f"{len(data) / 1e3:.0f} kB"
            self.send(
                {
                    "type": "report",
                    "name": path.name,
                    "path": str(path),
                    "size": size,
                    "mime": _MIME.get(suffix, "application/octet-stream"),
                    "look": _LOOKS.get(suffix, ""),
                },
                buffers=[data],
            )

        self.work.run(words, work, done, writes=True)
