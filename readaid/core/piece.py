"""The piece itself, sources about it, notes on any record.

Conventions: lengths in millimetres; text fields are the user's own words.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from readaid.core.identity import new_id

#: Whether a piece bears its maker's signature; an unsigned piece is said to be unsigned, it is not left open.
SIGNED = ("", "signed", "unsigned", "signature not legible", "signature removed")


@dataclass(frozen=True, slots=True)
class Piece:
    """What lies on the bench, entered once."""

    title: str
    id: str = field(default_factory=new_id)
    inventory: str = ""
    kind: str = ""  # what sort of object
    material: str = ""
    technique: str = ""
    width: float | None = None
    height: float | None = None
    depth: float | None = None
    weight: float | None = None  # grams
    condition: str = ""
    place_kept: str = ""
    provenance: str = ""
    sensitive: tuple[str, ...] = ()  # "lacquer", "textile", "paint", "ivory" ...: choose which cautions fit
    reader: str = ""
    rights: str = ""
    translation: str = ""
    commentary: str = ""
    not_read: str = ""
    notes: str = ""
    period: tuple[int, int] = (1600, 1912)  # working period in Western years: dates outside are told, but folded away
    subject: str = ""  # what it shows: every catalogue entry opens with it
    maker: str = ""  # as signed
    attributed: str = ""  # to whom, where that is another or where nothing is signed
    attributed_by: str = ""
    made_when: str = ""  # the period it is said to be of, in words
    treat: str = ""  # what is to be treated, by a conservator
    leave: str = ""  # what is to be left alone
    signed: str = ""  # one of SIGNED, or the reader's own words; "" is not stated
    literature: str = ""  # where it is published, one a line
    exhibited: str = ""  # where it was shown, one a line


@dataclass(frozen=True, slots=True)
class Source:
    """Evidence beside the piece: rubbing, catalogue, box inscription, certificate, literature."""

    kind: str
    citation: str
    id: str = field(default_factory=new_id)
    weight: str = "weaker"  # box inscriptions and certificates are weaker evidence than the piece
    photo: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A free note about any record. One on a photograph may be pinned to a place of it, in full-size pixels.

    ``private``: it stays here whatever leaves, unless private things are asked for.
    """

    about: str
    text: str
    id: str = field(default_factory=new_id)
    place: tuple[float, float] | None = None
    private: bool = False


@dataclass(frozen=True, slots=True)
class DateRecord:
    """A date as read on an inscription and what it may be."""

    text: str
    first: str = ""
    last: str = ""
    era: str = ""
    year: int | None = None
    cycle: str = ""
    agrees: bool | None = None
    inscription: str | None = None
    alternatives: int = 1
    note: str = ""
    id: str = field(default_factory=new_id)
