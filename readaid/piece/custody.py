"""What goes out of the piece folder and comes back: reader's copies, worksheets, bags; and checks of what is kept.

Conventions: nothing that leaves carries place kept, provenance, position or
serial numbers unless asked; a blind copy carries no guess.
"""

from __future__ import annotations

import dataclasses
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from readaid.core.errors import PhotoError
from readaid.core.photo import Zone
from readaid.core.progress import Progress, stretch, unheard
from readaid.piece import folder as places

if TYPE_CHECKING:
    from readaid.copies.agreement import Agreement
    from readaid.copies.calibration import Calibration
    from readaid.copies.merge import Merged
    from readaid.piece.holding import Holding
    from readaid.register.hashes import PhotoCheck
    from readaid.register.health import Health


@dataclasses.dataclass(frozen=True, slots=True)
class Check:
    """What a check of the piece found: its register and its photos."""

    register: Health
    photos: PhotoCheck

    @property
    def troubles(self) -> tuple[str, ...]:
        """One sentence each; empty when all is as it was."""
        return (*self.register.problems, *self.photos.troubles)


class Custody:
    """Copies, bags and checks of one opened piece.

    ``progress`` of each is told between its steps; where it raises, nothing half written is left.
    """

    def __init__(self, piece: Holding) -> None:
        self._piece = piece

    def copy(self, path: str | Path | None = None, blind: bool = False, photos: bool = True,
             private: bool = False, progress: Progress = unheard) -> Path:
        """Write a reader's copy (one file) for a colleague; a blind one hides guesses, fillers and known verses."""
        from readaid.copies.reader_copy import write

        name = "blind-copy.zip" if blind else "readers-copy.zip"
        target = places.outlet(Path(path) if path else self._piece.folder / places.EXPORTS / name, self._piece.folder)
        target.parent.mkdir(parents=True, exist_ok=True)
        return write(self._piece.register, target, blind=blind, photos=self._piece.folder if photos else None,
                     private=private, progress=progress)

    def merge(self, path: str | Path, progress: Progress = unheard) -> Merged:
        """Take a colleague's copy back in: nothing is lost; conflicts are listed sign by sign and ours stand."""
        from readaid.copies.reader_copy import merge

        return merge(self._piece.register, path, self._piece.reader, photos=self._piece.folder,
                     progress=progress)

    def worksheet(self, path: str | Path | None = None, language: str = "en",
                  progress: Progress = unheard) -> Path:
        """Write a sheet to print (HTML, A4) for a reader without a computer: numbered crops and blank lines."""
        from readaid.copies.worksheet import write
        from readaid.photo.file import jpeg

        def picture(zone: Zone) -> bytes | None:
            try:
                return jpeg(self._piece.crop(zone))
            except PhotoError:
                return None

        target = Path(path) if path else self._piece.folder / places.EXPORTS / "worksheet.html"
        target = places.outlet(target, self._piece.folder)
        target.parent.mkdir(parents=True, exist_ok=True)
        return write(self._piece.contents, target, picture, language=language, progress=progress)

    def archive(self, target: str | Path, veiled: bool = False, progress: Progress = unheard) -> Path:
        """Make a BagIt bag (RFC 8493) of the piece folder: a new folder, or a file ending in .zip.

        It is for keeping and holds everything, owner, place and position too. ``veiled``: one for others, with what a
        reader's copy shows and no more.
        """
        from readaid.core.veil import over
        from readaid.register.bag import make

        piece = over(self._piece.contents, private=not veiled).record(self._piece.piece)
        info = {"External-Identifier": piece.inventory} if piece.inventory else {}
        info["External-Description"] = piece.title
        if not veiled:
            return make(self._piece.folder, target, info, progress)
        from readaid.copies.reader_copy import receive

        with tempfile.TemporaryDirectory(prefix=".readaid-", dir=Path(target).resolve().parent) as place:
            copy = self.copy(Path(place) / "copy.zip", progress=stretch(progress, 0, 0.5))
            shown = receive(copy, Path(place) / "piece")
            return make(shown, target, info, stretch(progress, 0.5, 1))

    def check(self, quick: bool = False, progress: Progress = unheard) -> Check:
        """Read register and photos whole and say what is not as it was; ``quick`` trusts photos' size and time."""
        from readaid.register import hashes, health

        return Check(health.check(self._piece.register, stretch(progress, 0, 0.5)),
                     hashes.check(self._piece.folder, self._piece.contents.photos, quick=quick,
                                  progress=stretch(progress, 0.5, 1)))

    def agreement(self, readings: bool = False) -> Agreement:
        """Agreement of the readers, by character or by whole reading: Krippendorff's alpha with its interval."""
        from readaid.copies import agreement

        chosen = agreement.readings if readings else agreement.characters
        return chosen(self._piece.register)

    def calibration(self) -> list[Calibration]:
        """How sure each reader was, and how often right, on characters that have been settled."""
        from readaid.copies.calibration import readers

        return readers(self._piece.register)
