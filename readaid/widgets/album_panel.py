"""The album panel: a school of its own on the screen, from a folder of pictures to a printed figure.

Conventions: the panel holds one ``readaid.school`` and no piece. Pictures come from the reader's disk, several at once;
makers and years that their names tell are proposed and entered only where the reader left that on. Every change is one
gesture in the school's register. Figures are shown as they will be printed, and handed over as SVG, PDF or PNG.
"""

from __future__ import annotations

import base64
import csv
import io
import os
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

from readaid.core import texts
from readaid.core.errors import OptionError, ReadaidError
from readaid.core.progress import Progress
from readaid.core.texts import wording
from readaid.piece.surfaces import Step
from readaid.schools import study_page
from readaid.schools.album import School
from readaid.schools.figures import FIGURES, figure
from readaid.schools.picture_names import told
from readaid.schools.study import Study
from readaid.widgets.form_tracing import FormTracing
from readaid.widgets.long_work import LongWork, shares
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.uploads import Batch

#: The longer side of a picture in the album, in pixels.
SMALL = 96
MIME = {"svg": "image/svg+xml", "pdf": "application/pdf", "png": "image/png", "page": "text/html"}
TITLES = {"tree": "Which forms join first", "matrix": "Likeness of all forms", "makers": "Makers and years",
          "map": "The forms on a plane", "drift": "Forms over the years", "calibration": "Calibration of odds"}


class AlbumPanel(Panel):
    """A school: pictures in, makers beside them, one comparison, figures out."""

    _esm = module_text("album_panel.js")
    _css = style_text("album_panel.css", "tracing_panel.css")

    def __init__(self, school: School) -> None:
        self.school = school
        self.batch = Batch()
        self.work = LongWork(self)
        self.parts = (self.work,)
        self.study: Study | None = None
        self.shown = "tree"
        self.sentence = ""
        self.tracing: FormTracing | None = None
        self._drawn: dict[str, tuple[Study, dict[str, str]]] = {}
        self._thumbs: dict[str, str] = {}
        super().__init__()
        self.refresh()

    def refresh(self) -> None:
        """Show the school as it is now."""
        specimens, makers = self.school.specimens, self.school.makers
        if self.study is not None and {e.specimen.id for e in self.study.entries} != set(specimens.index):
            self.study = None
        whole = specimens.astype(object).where(specimens.notna(), None)
        traced = {t.zone for t in self.school.register.all("tracing") if t.by == "reader"}
        rows = [{"id": str(i), "maker": r.maker_name or "", "year": str(r.year or ""), "thumb": self._thumb(r.picture),
                 "traced": i in traced}
                for i, r in whole.iterrows()]
        several = sum(int(n) >= 3 for n in makers["forms"])
        self.state = {
            "tracing": self.tracing.model_id if self.tracing is not None else "",
            "ready": True, "title": self.school.record.title, "folder": str(self.school.folder), "busy": self.work.busy,
            "forms": rows, "makers": [[name, int(n)] for name, n in zip(makers["name"], makers["forms"], strict=True)],
            "words": wording(
                "{0} forms of {1} makers; {2} makers have three forms or more (odds are told from eight such "
                "makers on).",
                len(rows),
                len(makers),
                several),
            "figures": [[k, texts.told(TITLES[k])] for k in FIGURES if self.study is not None],
            "shown": self.shown, "figure": self._figure(), "sentence": self.sentence,
            "sentences": list(self.study.sentences()) if self.study is not None else [],
        }

    def _thumb(self, picture: str) -> str:
        if picture not in self._thumbs:
            small = Image.fromarray(self.school.images.pixels(picture)).convert("RGB")
            small.thumbnail((SMALL, SMALL))
            buffer = io.BytesIO()
            small.save(buffer, "JPEG", quality=80)
            self._thumbs[picture] = base64.b64encode(buffer.getvalue()).decode("ascii")
        return self._thumbs[picture]

    def _figure(self) -> dict[str, str] | None:
        of, shown = self._drawn.get(self.shown, (None, None))
        return shown if of is self.study else None

    @staticmethod
    def _dated(study: Study) -> str | None:
        """The maker with most dated forms, for the drift."""
        names = [e.maker.name for e in study.entries if e.maker is not None and e.specimen.year is not None]
        return max(dict.fromkeys(names), key=names.count, default=None)

    # --- asked -------------------------------------------------------------------------
    def do_picture(self, id: str, name: str, at: int, of: int, last: bool, named: bool,
                   buffers: list[Any] | None = None, share: float = 0.0) -> None:
        """Take a part of a picture; after the last part of the last picture all enter the school as one gesture."""
        self.work.wait_for_writing()
        files = self.batch.part(id, name, at, of, last, bytes((buffers or [b""])[0]))
        if files is None:
            self.work.coming(wording("{0}: {1} of {2} MB", name, at + 1, of), share, self.batch.forget)
            return
        self.work.came()
        words, before = wording("Taking the pictures in"), len(self.school.specimens)

        def taken_in(step: Step) -> int:
            try:
                return self._take_in(files, named, shares(step, words))
            finally:
                self.batch.forget()

        def done(after: int) -> None:
            self.refresh()
            self.say(wording("{0} pictures came in; {1} were there already.", after - before,
                             len(files) - after + before))

        self.work.run(words, taken_in, done, writes=True)

    def _take_in(self, files: list[Path], named: bool, progress: Progress) -> int:
        """Bring the files in with what their names tell; returns how many forms the school has now."""
        rows = [("file", "maker", "year")]
        with tempfile.TemporaryDirectory(prefix="readaid-album-") as place:
            folder = Path(place)
            for n, path in enumerate(files):
                inside = folder / f"{n}"
                inside.mkdir()
                path.replace(inside / path.name)  # two folders may hold files of one name
                maker, year = told(path.name) if named else ("", None)
                rows.append((f"{n}/{path.name}", maker, "" if year is None else str(year)))
            table = folder / "table.csv"
            with table.open("w", encoding="utf-8", newline="") as stream:
                csv.writer(stream).writerows(rows)
            makers = dict.fromkeys(r[1] for r in rows[1:] if r[1])
            return len(self.school.add_folder(folder, table, makers, progress))

    def do_assign(self, ids: list[str], maker: str) -> None:
        """Say whose the chosen forms are; a new name becomes a maker, an empty one takes the maker off."""
        if not ids:
            raise OptionError("No form is chosen", cure="click the pictures first")
        name = maker.strip()
        if name and name not in set(self.school.makers["name"]):
            self.school.add_maker(name)
        self.school.assign(ids, name or None)
        self.refresh()
        self.say(wording("{0} forms: {1}.", len(ids), name or wording('maker not known')))

    def do_makers(self, text: str) -> None:
        """Take makers with teachers and years from the text of a CSV table."""
        self.school.add_makers(text if "\n" in text else text + "\n")
        self.refresh()
        self.say(wording("Makers taken in."))

    def do_compare(self) -> None:
        """Compare every form with every other beside the loop, and keep the study."""

        words = wording("Comparing all forms")

        def compared(step: Step) -> Study:
            study = self.school.study(progress=shares(step, words))
            _ = study.likeness
            step(wording("Working the study out"), 1.0)
            _ = study.sentences()
            return study

        def keep(study: Study) -> None:
            self.study = study
            self.school.keep(study)
            self.refresh()
            self.say(wording("All forms are compared; the study is kept in the school."))
            self._draw()

        self.work.run(words, compared, keep)

    def _draw(self) -> None:
        """Draw the figure shown beside the loop, once: the tree of a large school takes seconds."""
        study, kind = self.study, self.shown
        if study is None or self._drawn.get(kind, (None,))[0] is study:
            self.refresh()
            return

        def drawn(step: Step) -> dict[str, str]:
            step(wording("Drawing the figure"), 0.0)
            try:
                sheet = figure(study, kind, self._dated(study))
            except ReadaidError as error:
                return {"svg": "", "title": str(error)}
            return {"svg": base64.b64encode(sheet.svg().encode("utf-8")).decode("ascii"), "title": sheet.title}

        def lay(shown: dict[str, str]) -> None:
            self._drawn[kind] = (study, shown)
            self.refresh()

        self.work.run(wording("Drawing the figure"), drawn, lay)

    def do_show(self, figure: str) -> None:
        """Show one of the figures."""
        if figure not in FIGURES:
            raise OptionError("There is no such figure", figure, "choose one of the list")
        self.shown = figure
        self._draw()

    def do_nearest(self, id: str) -> None:
        """Whose forms stand nearest to one of the school's, that one left out."""
        if self.study is None:
            raise OptionError("Nothing is compared yet", cure="compare all forms first")
        self.sentence = self.study.nearest(id).text
        self.refresh()

    def do_trace(self, id: str) -> None:
        """Lay a form on the tracing sheet; no id puts the sheet away."""
        if id and self.tracing is None:
            self.tracing = FormTracing(self.school, id, self.refresh)
        elif id and self.tracing is not None:
            self.tracing.lay(id)
        else:
            self.tracing = None
        self.refresh()

    def do_print(self, ending: str) -> None:
        """Hand the figure shown over as a file, and keep it beside the school; "page" is the whole study as a page."""
        if self.study is None or ending not in MIME:
            raise OptionError("There is no figure to hand over", ending, "compare all forms, then choose a figure")
        # A file goes out of the house: under the veil, since a label may say from whom a piece was bought.
        study, kind, folder = self.study.under(self.school.veil()), self.shown, self.school.folder / "exports"
        words = wording("Writing the study") if ending == "page" else wording("Drawing the figure")

        def written(step: Step) -> Path:
            if ending == "page":
                return study_page.write(study, folder / "study.html", shares(step, words))
            sheet = figure(study, kind, self._dated(study))
            step(words, 0.5)
            return sheet.save(folder / f"{kind}.{ending}")

        def hand(path: Path) -> None:
            self.send({"type": "file", "name": path.name, "mime": MIME[ending]}, buffers=[path.read_bytes()])
            self.say(wording("{0} is written.", path))

        self.work.run(words, written, hand, writes=True)

    def do_undo(self) -> None:
        """Take the last gesture in the school back."""
        undone = self.school.register.undo(reader=self.school.reader)
        if self.tracing is not None:  # it may be the tracing on the sheet that was taken back
            self.tracing.lay(self.tracing.specimen)
        self.refresh()
        self.say(wording("Taken back.") if undone else wording("Nothing to take back."))

    def do_redo(self) -> None:
        """A school has no way forward again; said rather than left without an answer."""
        self.say(wording("Nothing to do again."))


def album(place: str | os.PathLike[str], title: str | None = None, reader: str | None = None) -> AlbumPanel:
    """A school on the screen; see ``widgets.album``. Raises ReadaidError where there is none and no title is given."""
    return AlbumPanel(School(os.fspath(place), title=title, reader=reader))
