"""The sharing panel: copies to a second reader and back, agreement, checks, the archive.

Conventions: nothing that leaves carries place, owner or position; a blind copy
carries no guess. A copy comes back without loss: ours stands where both
changed the same thing, and every such place is listed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from readaid.core.confidence import Status
from readaid.core.progress import Progress
from readaid.core.texts import plural, told, wording
from readaid.widgets.desk import Desk
from readaid.widgets.long_work import LongWork, shares
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.uploads import Incoming

#: Files up to this size are handed to the page to be saved; larger ones lie in the piece folder.
HANDED = 60_000_000


class SharingPanel(Panel):
    """What goes out of the desk's piece and comes back."""

    _esm = module_text("sharing_panel.js")
    _css = style_text("sharing_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.work = LongWork(self)
        self.parts = (self.work,)
        self.where = ""
        self.incoming = Incoming()
        self.merged: dict[str, Any] | None = None
        self.agreement: list[str] = []
        self.calibration: list[list[str]] | None = None
        self.checked: list[str] | None = None
        super().__init__()
        self.refresh()

    def refresh(self) -> None:
        """Show what was done."""
        self.state = {
            "ready": True,
            "busy": self.work.busy,
            "where": self.where,
            "locked": self.desk.piece.read_only,
            "merged": self.merged,
            "agreement": self.agreement,
            "calibration": self.calibration,
            "checked": self.checked,
        }

    def _run(self, where: str, words: str, work: Callable[[Progress], Any], done: Callable[[Any], None],
             writes: bool = True) -> None:
        """Run something long beside the loop, shown with its stop in the section ``where``."""
        self.where = where

        def then(result: Any) -> None:
            done(result)
            self.refresh()

        self.work.run(words, lambda step: work(shares(step, words)), then, writes=writes)

    def _hand(self, what: str, path: Path, mime: str, where: str = "out") -> None:
        folder = self.desk.piece.folder
        inside = path.resolve().is_relative_to(folder)
        shown = wording("in the piece folder: {0}", path.resolve().relative_to(folder).as_posix()) if inside else (
            wording("beside the piece folder: {0}", path.name) if path.parent.resolve() == folder.parent else str(path))
        size = path.stat().st_size
        data = path.read_bytes() if size <= HANDED else b""
        words = f"{size / 1e6:.1f} MB" if size > 200_000 else f"{size / 1e3:.0f} kB"
        self.send(
            {"type": "file", "what": what, "name": path.name, "path": str(path), "shown": shown, "size": words,
             "mime": mime, "where": where},
            buffers=[data],
        )
        self.say(wording("{0} is written.", what))

    # --- out --------------------------------------------------------------------------
    def do_copy(self, blind: bool) -> None:
        """Write a reader's copy, blind or whole."""
        self._run(
            "out",
            wording("Packing the copy …"),
            lambda progress: self.desk.piece.custody.copy(blind=blind, progress=progress),
            lambda path: self._hand(wording("Blind copy") if blind else wording("Full copy"), path, "application/zip"),
        )

    def do_worksheet(self) -> None:
        """Write the worksheet to print."""
        self._run(
            "out",
            wording("Cutting out the signs …"),
            lambda progress: self.desk.piece.custody.worksheet(progress=progress),
            lambda path: self._hand(wording("Worksheet"), path, "text/html"),
        )

    def do_archive(self) -> None:
        """Make a BagIt archive of the whole piece folder, beside it."""
        folder = self.desk.piece.folder
        n, target = 1, folder.parent / f"{folder.name}-archive.zip"
        while target.exists():
            n += 1
            target = folder.parent / f"{folder.name}-archive-{n}.zip"
        self._run(
            "check",
            wording("Packing the archive …"),
            lambda progress: self.desk.piece.custody.archive(target, progress=progress),
            lambda path: self._hand(wording("Archive"), Path(path), "application/zip", "check"),
        )

    # --- back ---------------------------------------------------------------------------
    def do_receive(self, id: str, name: str, at: int, of: int, buffers: list[Any]) -> None:
        """Take one part of a copy; the last part merges it."""
        self.work.wait_for_writing()
        path = self.incoming.part(id, name, at, of, bytes(buffers[0]))
        if path is None:
            self.where = "back"
            words = wording("{0}: {1} of {2} MB", name, at + 1, of)
            self.work.coming(words, (at + 1) / of, lambda: self.incoming.forget(id))
            return
        self.work.came()

        def work(progress: Progress) -> Any:
            try:
                return self.desk.piece.custody.merge(path, progress)
            finally:
                self.incoming.forget(id)

        def done(result: Any) -> None:
            n = len(result.conflicts)
            who = ", ".join(result.readers) or wording("nobody else")
            self.merged = {
                "words": plural(
                    n,
                    "{1} changes by {2} taken in; {0} place where both changed the same thing.",
                    "{1} changes by {2} taken in; {0} places where both changed the same thing.",
                    result.added,
                    who),
                "conflicts": [
                    [told(c.label) or told(c.kind), told(c.field.replace("_", " ")), cell(c.base), cell(c.ours),
                     cell(c.theirs)]
                    for c in result.conflicts
                ],
                "notices": [told(n) for n in result.notices],
            }
            self.desk.changed()

        self._run("back", wording("Taking the copy in …"), work, done)

    # --- agreement, checks -----------------------------------------------------------------
    def do_agreement(self) -> None:
        """Tell how far the readers agree."""

        def work(_progress: Progress) -> list[str]:
            sharing = self.desk.piece.custody
            return [
                f"{what}: {agreement_words(found)}"
                for what, found in ((wording(
                    "Signs"), sharing.agreement()), (wording(
                    "Readings"), sharing.agreement(readings=True)))
            ]

        def done(sentences: list[str]) -> None:
            self.agreement = sentences

        self._run("agree", wording("Comparing the readers …"), work, done, writes=False)

    def do_calibration(self) -> None:
        """Tell how sure each reader was, and how often right."""

        def work(_progress: Progress) -> list[Any]:
            c = self.desk.contents
            settled = any(a.status is Status.SETTLED for a in c.attempts) or any(k.fixed for k in c.characters)
            return self.desk.piece.custody.calibration() if settled else []

        def done(found: list[Any]) -> None:
            self.calibration = [[c.reader, str(c.judged), f"{c.brier:.3f}", told(c.sentence)] for c in found]

        self._run("agree", wording("Counting …"), work, done, writes=False)

    def do_check(self) -> None:
        """Read register and photographs whole and say what is not as it was."""

        def done(found: Any) -> None:
            self.checked = [told(x) for x in found.troubles]

        self._run("check", wording("Reading everything …"),
                  lambda progress: self.desk.piece.custody.check(progress=progress), done, writes=False)


#: Upper bounds of the words for a chance-corrected agreement; 0.667 and 0.8 are the limits that Krippendorff names for
#: tentative and firm conclusions (Content Analysis, 2004, p. 241, from memory).
_AGREE = ((0.2, "hardly better than chance"), (0.667, "some agreement, too little to lean on"),
          (0.8, "fair: good enough for tentative conclusions"), (1.0, "good"))


def agreement_words(found: Any) -> str:
    """Agreement in a sentence; with many categories the chance-corrected and the plain figure lie close."""
    if not found.units:
        return wording("no two readers judged the same thing yet.")
    if not math.isfinite(found.low):  # one judged by two: there is no spread to draw from
        words = wording("The readers agree on {0} of {1} judged by two or more of {2}: too few for a figure corrected "
                        "for chance.", f"{found.plain:.0%}", found.units, wording(", ").join(found.readers))
        return words.replace("%", " %")
    word = told(next(w for top, w in _AGREE if found.alpha <= top + 1e-9))
    few = wording(" With so few the figure says little.") if found.units < 10 else ""
    return (
        wording(
            "{0}. The readers agree on {1} of {2} judged by two or more of {3}; corrected for chance, alpha {4} "
            "(95 % between {5} and {6}; 1 is full agreement, 0 what chance gives).{7}",
            word,
            f"{found.plain:.0%}",
            found.units,
            wording(', ').join(found.readers),
            f"{found.alpha:.2f}",
            f"{found.low:.2f}",
            f"{found.high:.2f}",
            few)
    ).replace("%", " %").replace("95  %", "95 %")


def cell(value: Any) -> str:
    """A value of a conflict in words."""
    if hasattr(value, "character"):
        return f"{value.character} {value.confidence:.2f}"
    if isinstance(value, (tuple, list)):
        return "、".join(cell(v) for v in value) or "–"
    return "–" if value is None or value == "" else str(value)
