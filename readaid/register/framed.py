"""The frames of a register as attributes, one per kind of record.

Conventions: see ``frames``, which loads pandas at the first of these.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd


class Framed:
    """Gives ``.attempts``, ``.characters`` ... as DataFrames, indexed by id, with declared dtypes, also when empty."""

    def frame(self, kind: str | type, **options: Any) -> pd.DataFrame:
        """Records of a kind as a DataFrame."""
        from readaid.register.frames import frame

        return frame(self, kind, **options)  # type: ignore[arg-type]

    @property
    def candidates(self) -> pd.DataFrame:
        """Candidates of the characters, one row each."""
        from readaid.register.frames import candidates

        return candidates(self)  # type: ignore[arg-type]

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
    def dates(self) -> pd.DataFrame:
        """Dates, one row each."""
        return self.frame("date")
