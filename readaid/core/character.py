"""Characters as judged by a reader: candidates, damage, notes; and inscriptions, their order.

Conventions: a *character* is one written sign. Its candidates carry the
reader's confidence, which is never renormalised. ``columns`` of an
inscription are counted from the right; order is kept there and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from readaid.core.confidence import Damage, checked
from readaid.core.identity import new_id

#: Written where a sign was not read (in typed text and in readings).
UNREAD = "?"
#: Signs that are described, not read: a monogram, a seal.
DESCRIBED = ("花押", "印")
#: What an editor may say of a sign beside reading it: left out by the carver, superfluous, erased later, written short,
#: a slip put right (``instead`` holds the right sign), or so on the piece.
EDITORIAL = ("", "omitted", "superfluous", "erased", "expanded", "corrected", "sic")


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing a sign may be: a character as written (kana, hentaigana, kanji, mark) and how sure."""

    character: str
    confidence: float = 0.5
    note: str = ""
    source: str = "reader"  # "reader", "shape", "example", "colleague"
    probability: float | None = None  # as computed by shape, kept beside the reader's confidence
    rejected: str = ""  # why the reader does not take it; it is still weighed by its confidence

    def __post_init__(self) -> None:
        checked(self.confidence, self.character)


@dataclass(frozen=True, slots=True)
class Character:
    """One written sign: the zone or zones it lies in and what it may be.

    ``missing`` is (least, most) signs where the place is lost; (1, 1) otherwise.
    """

    zones: tuple[str, ...] = ()
    candidates: tuple[Candidate, ...] = ()
    damage: Damage = Damage.NOT_STATED
    missing: tuple[int, int] = (1, 1)
    id: str = field(default_factory=new_id)
    fixed: str = ""  # the reader says: certainly this (narrows the search, is not a confidence)
    word_ends: bool = False  # the reader says: a word ends after this sign
    name_of: str = ""  # "place", "person": the reader says this sign belongs to a name
    note: str = ""
    editorial: str = ""  # one of EDITORIAL
    instead: str = ""  # what should stand there, for "corrected"

    @property
    def best(self) -> Candidate | None:
        """The candidate with the highest confidence (first of equals), or None."""
        return max(self.candidates, key=lambda c: c.confidence, default=None)


class Text(StrEnum):
    """What an inscription is."""

    VERSE = "verse"
    PROSE = "prose"
    SIGNATURE = "signature"
    DATE = "date"
    DEDICATION = "dedication"
    SEAL = "seal"
    BOX = "box inscription"
    CERTIFICATE = "certificate"
    OTHER = "other"
    UNKNOWN = "not known yet"  # nothing is taken for granted: all characters are offered, no metre is expected


@dataclass(frozen=True, slots=True)
class Inscription:
    """A body of signs read together, and their order: columns (from the right) of character ids."""

    kind: Text = Text.VERSE
    title: str = ""
    id: str = field(default_factory=new_id)
    photo: str | None = None
    surface: str = ""
    place: str = ""  # where on the surface
    technique: str = ""
    form: str | None = None  # verse form, None: not decided
    columns: tuple[tuple[str, ...], ...] = ()
    order_note: str = ""  # why this order, for scattered writing
    note: str = ""

    @property
    def characters(self) -> tuple[str, ...]:
        """All character ids in reading order."""
        return tuple(c for column in self.columns for c in column)


