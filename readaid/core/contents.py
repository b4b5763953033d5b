"""Everything the register holds about one piece, as plain records: what a report is made from.

Conventions: tuples in the order they were entered; reading order is that of
each inscription's columns.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.condition import Layer, Region, StrokeMeasure
from readaid.core.entry import Entry
from readaid.core.judgement import Judgement
from readaid.core.person import Person, Role, Signature
from readaid.core.photo import Photo, Tracing, ViewSetting, Zone
from readaid.core.piece import DateRecord, Note, Piece, Source
from readaid.core.school import SchoolRecord, StudyRecord
from readaid.core.specimen import ComparisonRecord, Example, Specimen

Record = (Piece | Photo | Zone | ViewSetting | Tracing | Inscription | Character | Attempt | Person | Role
          | Signature | Specimen | ComparisonRecord | Example | Source | Note | DateRecord | SchoolRecord | StudyRecord
          | Judgement | Entry | Layer | Region | StrokeMeasure)

#: Name of each kind of record in the register, and its type. Names are part of the file format.
KINDS: dict[str, type] = {
    "piece": Piece, "photo": Photo, "zone": Zone, "view": ViewSetting, "tracing": Tracing,
    "inscription": Inscription, "character": Character, "attempt": Attempt, "person": Person,
    "role": Role, "signature": Signature, "specimen": Specimen, "comparison": ComparisonRecord,
    "example": Example, "source": Source, "note": Note, "date": DateRecord, "school": SchoolRecord,
    "study": StudyRecord, "judgement": Judgement, "entry": Entry, "layer": Layer, "region": Region,
    "measure": StrokeMeasure,
}
#: Kinds that stand in the register of a school only, never in that of a piece.
SCHOOL_KINDS = ("school", "study")


@dataclass(frozen=True, slots=True)
class Contents:
    """One piece, whole."""

    piece: Piece
    photos: tuple[Photo, ...] = ()
    zones: tuple[Zone, ...] = ()
    views: tuple[ViewSetting, ...] = ()
    tracings: tuple[Tracing, ...] = ()
    inscriptions: tuple[Inscription, ...] = ()
    characters: tuple[Character, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    persons: tuple[Person, ...] = ()
    roles: tuple[Role, ...] = ()
    signatures: tuple[Signature, ...] = ()
    specimens: tuple[Specimen, ...] = ()
    comparisons: tuple[ComparisonRecord, ...] = ()
    examples: tuple[Example, ...] = ()
    sources: tuple[Source, ...] = ()
    notes: tuple[Note, ...] = ()
    dates: tuple[DateRecord, ...] = ()
    judgements: tuple[Judgement, ...] = ()
    entries: tuple[Entry, ...] = ()
    layers: tuple[Layer, ...] = ()
    regions: tuple[Region, ...] = ()
    measures: tuple[StrokeMeasure, ...] = ()
    faults: tuple[str, ...] = ()  # what of the register cannot be shown, one sentence each
    revision: int = 0  # number of the last revision taken in
    #: number of the revision each record stands at here: what a change made from these contents is checked against
    numbers: Mapping[str, int] = field(default_factory=dict, compare=False, repr=False)

    def entry(self, inscription: str) -> Entry:
        """The entry of an inscription; an empty one where nothing was written down."""
        return next((e for e in self.entries if e.inscription == inscription), Entry(inscription))

    def characters_of(self, inscription: Inscription) -> list[list[Character]]:
        """Characters in reading order, one list per column from the right; ids without a record are skipped."""
        by_id = {c.id: c for c in self.characters}
        return [[by_id[i] for i in column if i in by_id] for column in inscription.columns]
