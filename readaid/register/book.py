"""The register as its users open it: records and revisions, frames, search and check in one object.

Conventions: the parts know nothing of this module (``view`` reads, ``store`` writes, ``frames`` and ``lookup`` answer,
``health`` checks); it only brings them together. pandas is loaded at the first frame.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from readaid.register.health import Health, check
from readaid.register.lookup import Found, search
from readaid.register.store import Store
from readaid.register.view import View

if TYPE_CHECKING:
    import pandas as pd

    from readaid.register.frames import Edited


class Questions(View):
    """What can be asked of a register, now or as it stood at a moment.

    ``.attempts``, ``.characters`` ... are DataFrames, indexed by id, with declared dtypes, also when empty.
    """

    def at(self, time: str | datetime | date) -> Questions:
        """The register as it stood at a moment (a day: at its end, UTC); for reading only."""
        return Questions(self._engine, self.where, self.piece, self.version_at(time))

    def search(self, text: str = "", **options: Any) -> Found:
        """Search; see ``readaid.register.lookup.search`` for the options."""
        return search(self, text, **options)

    def frame(self, kind: str | type, **options: Any) -> pd.DataFrame:
        """Records of a kind as a DataFrame."""
        from readaid.register.frames import frame

        return frame(self, kind, **options)

    @property
    def candidates(self) -> pd.DataFrame:
        """Candidates of the characters, one row each."""
        from readaid.register.frames import candidates

        return candidates(self)

    @property
    def pieces(self) -> pd.DataFrame:
        """Pieces, one row each."""
        return self.frame("piece")

    @property
    def photos(self) -> pd.DataFrame:
        """Photos, one row each."""
        return self.frame("photo")

    @property
    def zones(self) -> pd.DataFrame:
        """Zones, one row each."""
        return self.frame("zone")

    @property
    def views(self) -> pd.DataFrame:
        """View settings, one row each."""
        return self.frame("view")

    @property
    def tracings(self) -> pd.DataFrame:
        """Tracings, one row each."""
        return self.frame("tracing")

    @property
    def inscriptions(self) -> pd.DataFrame:
        """Inscriptions, one row each."""
        return self.frame("inscription")

    @property
    def characters(self) -> pd.DataFrame:
        """Characters (see also ``candidates``), one row each."""
        return self.frame("character")

    @property
    def attempts(self) -> pd.DataFrame:
        """Reading attempts, one row each."""
        return self.frame("attempt")

    @property
    def persons(self) -> pd.DataFrame:
        """Persons, one row each."""
        return self.frame("person")

    @property
    def roles(self) -> pd.DataFrame:
        """Roles of persons, one row each."""
        return self.frame("role")

    @property
    def signatures(self) -> pd.DataFrame:
        """Parsed signatures, one row each."""
        return self.frame("signature")

    @property
    def specimens(self) -> pd.DataFrame:
        """Specimens of monograms and name characters, one row each."""
        return self.frame("specimen")

    @property
    def comparisons(self) -> pd.DataFrame:
        """Comparisons of two specimens, one row each."""
        return self.frame("comparison")

    @property
    def examples(self) -> pd.DataFrame:
        """Examples the user labelled, one row each."""
        return self.frame("example")

    @property
    def sources(self) -> pd.DataFrame:
        """Sources beside the piece, one row each."""
        return self.frame("source")

    @property
    def notes(self) -> pd.DataFrame:
        """Notes, one row each."""
        return self.frame("note")

    @property
    def schools(self) -> pd.DataFrame:
        """Titles of schools, one row each (in the register of a school)."""
        return self.frame("school")

    @property
    def studies(self) -> pd.DataFrame:
        """Kept studies, one row each (in the register of a school)."""
        return self.frame("study")

    @property
    def judgements(self) -> pd.DataFrame:
        """What each reader judged of each character, one row each (since the register writes them down)."""
        return self.frame("judgement")

    @property
    def entries(self) -> pd.DataFrame:
        """What the catalogue entry says of each inscription, one row each."""
        return self.frame("entry")

    @property
    def layers(self) -> pd.DataFrame:
        """Layers of the surfaces, one row each."""
        return self.frame("layer")

    @property
    def regions(self) -> pd.DataFrame:
        """Marked regions, one row each."""
        return self.frame("region")

    @property
    def measures(self) -> pd.DataFrame:
        """Measured strokes, one row each."""
        return self.frame("measure")

    @property
    def dates(self) -> pd.DataFrame:
        """Dates, one row each."""
        return self.frame("date")


class Register(Questions, Store):
    """A register opened for work. Use it as a context manager, or call ``close()``.

    >>> import tempfile
    >>> from readaid.core.piece import Note, Piece
    >>> folder = tempfile.mkdtemp()
    >>> with Register.open(folder) as register:
    ...     saved = register.save(Piece("sword guard", id="p"), reader="Aki")
    ...     saved = register.save(Note("p", "worn at the rim"), reader="Aki", reason="seen at 10x")
    ...     register.version, saved.record.text
    (2, 'worn at the rim')
    """

    def check(self) -> Health:
        """Read the whole register and say what is wrong with it; see ``readaid.register.health``."""
        return check(self)

    def edit(self, frame: pd.DataFrame, reader: str, reason: str = "edited in a table",
             kind: str | type | None = None) -> Edited:
        """Save back an edited frame; see ``readaid.register.frames.edit``."""
        from readaid.register.frames import edit

        return edit(self, frame, reader, reason, kind)
