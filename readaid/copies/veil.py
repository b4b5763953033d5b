"""What leaves with a copy: nothing private unless asked for, and nothing that would bias a second reader.

Conventions: ``veil`` gives the record as it may go, or None if it stays here.
A blind copy shows what is seen (photos, zones, order, damage), not what was thought of it.
"""

from __future__ import annotations

from dataclasses import replace

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.contents import Record
from readaid.core.person import Person, Role, Signature
from readaid.core.photo import Photo, Tracing, Zone
from readaid.core.piece import DateRecord, Note, Piece, Source
from readaid.core.specimen import ComparisonRecord, Example, Specimen

#: Kinds that are nothing but judgement: readings, fillers and known verses stand in them.
_JUDGEMENTS = (Attempt, Signature, DateRecord, Example, ComparisonRecord, Role, Person, Note, Source, Tracing)


def veil(record: Record, blind: bool, private: bool) -> Record | None:
    """The record as it may leave.

    >>> from readaid.core.character import Candidate
    >>> veil(Character(("z",), (Candidate("か"),), id="c"), blind=True, private=False)
    Character(zones=('z',), candidates=(), damage=<Damage.INTACT: 'intact'>, missing=(1, 1), id='c', fixed='', ...)
    """
    if isinstance(record, Piece):
        record = replace(record, reader="")  # the colleague's work must not go under our name
    if not private:
        if isinstance(record, Piece):
            record = replace(record, place_kept="", provenance="")
        elif isinstance(record, Role) and record.role == "owner":
            return None
    return _blinded(record) if blind else record


def _blinded(record: Record) -> Record | None:
    match record:
        case _ if isinstance(record, _JUDGEMENTS):
            return None
        case Character():
            return replace(record, candidates=(), fixed="", word_ends=False, name_of="", note="")
        case Inscription():
            return replace(record, title="", form=None, note="", order_note="")
        case Piece():
            return replace(record, provenance="", translation="", commentary="", not_read="", notes="")
        case Photo():
            return replace(record, title="", note="")
        case Zone():
            return replace(record, note="")
        case Specimen():
            return replace(record, person=None, kind="unclassified", year=None, age=None, hand="", source=None, note="",
                           descriptor=(), descriptor_kind="")
        case _:
            return record
