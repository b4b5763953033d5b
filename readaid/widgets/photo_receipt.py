"""Photographs from the reader's disk: they come part by part, and enter the piece together or not at all.

Conventions: parts as in ``uploads``; ``share`` 0..1 is how much of all files has been sent. The reader may stop it
while the parts come and while the files are read and copied, within a large one, too; then nothing is in the piece.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from readaid.core.texts import wording
from readaid.piece import photo_intake
from readaid.piece.surfaces import Step
from readaid.widgets.long_work import shares
from readaid.widgets.panel import Part
from readaid.widgets.uploads import Batch


class PhotoReceipt(Part):
    """Held by the photo board."""

    def __init__(self, panel: Any) -> None:
        super().__init__(panel)
        self.batch = Batch()

    def do_receive(self, id: str, name: str, at: int, of: int, buffers: list[Any], last: bool = True,
                   share: float = 0.0) -> None:
        """Take one part of a photograph; the last part of the last one adds them all to the piece."""
        work = self.panel.work
        work.wait_for_writing()
        paths = self.batch.part(id, name, at, of, last, bytes(buffers[0]))
        if paths is None:
            work.coming(wording("{0}: {1} of {2} MB", name, at + 1, of), share, self.batch.forget)
            return
        work.came()
        words = wording("Copying the photographs")

        def copied(step: Step) -> photo_intake.Copied:
            try:
                return photo_intake.copied(self.panel.desk.piece, paths, shares(step, words))
            finally:
                self.batch.forget()

        self.panel.work.run(words, copied, lambda found: self._keep(found, paths), writes=True)

    def _keep(self, found: photo_intake.Copied, paths: list[Path]) -> None:
        desk = self.panel.desk
        desk.gesture(wording("photograph added"), lambda: desk.piece.keep_photos(found))
        desk.choose(photo=found.photos[-1].id)
        one = wording("{0} is in the piece now. The file itself is kept as it is.", paths[0].name)
        many = wording("{0} photographs are in the piece now. The files themselves are kept as they are.", len(paths))
        self.say(one if len(paths) == 1 else many)
