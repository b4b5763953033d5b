"""A candidate character proposed by shape.

Conventions: ``probability`` 0..1; the probabilities of a list and the share
of "none of these" sum to at most 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A character whose form resembles the crop; ``sounds`` in hiragana (empty if it has none known)."""

    character: str
    sounds: tuple[str, ...]
    probability: float
    source: str = "shape"  # or "example": raised by the user's own labelled crops

    def _repr_html_(self) -> str:
        return (f"<span lang='ja'>{escape(self.character)} {escape('、'.join(self.sounds))}</span>"
                f" {self.probability:.0%}")
