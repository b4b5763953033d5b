"""The derived table: last revision of each record, with columns for searching.

Conventions: ``text`` is folded (NFKC, katakana to hiragana, lower case) and
holds every text of the record a reader may look for, one per line.
"""

from __future__ import annotations

import unicodedata
from typing import Any

from sqlalchemy import Connection, func, select

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.condition import Layer, Region, StrokeMeasure
from readaid.core.contents import Record
from readaid.core.entry import Entry
from readaid.core.errors import RegisterError
from readaid.core.judgement import Judgement
from readaid.core.person import Person, Role, Signature
from readaid.core.photo import Photo, Tracing, ViewSetting, Zone
from readaid.core.piece import DateRecord, Note, Piece, Source
from readaid.core.school import SchoolRecord, StudyRecord
from readaid.core.specimen import Example, Specimen
from readaid.register.codec import decode
from readaid.register.engine import DamagedRegisterError
from readaid.register.revision import sound
from readaid.register.schema import current, revision

# Katakana U+30A1..U+30F6 stand 0x60 above their hiragana (Unicode code charts); ヽヾ above ゝゞ likewise.
_TO_HIRAGANA = {c: c - 0x60 for c in (*range(0x30A1, 0x30F7), 0x30FD, 0x30FE)}


def fold(text: str) -> str:
    """Text as it is compared in a search.

    >>> fold("ハルサメ Ｙａ")
    'はるさめ ya'
    """
    # Katakana and half-width kana are searched as hiragana: ﾊﾙｻﾒ finds はるさめ. PostgreSQL takes no zero character.
    return unicodedata.normalize("NFKC", text).casefold().translate(_TO_HIRAGANA).replace("\x00", " ")


def _texts(record: Record) -> tuple[str, ...]:
    match record:
        case Attempt():
            return (record.written, record.kana, record.normal, record.modern, record.romaji, "".join(record.lines),
                    record.evidence, record.note)
        case Character():
            return (*(c.character for c in record.candidates), record.fixed, record.note,
                    *(c.note for c in record.candidates))
        case Piece():
            return (record.title, record.inventory, record.kind, record.material, record.technique, record.condition,
                    record.place_kept, record.provenance, record.translation, record.commentary, record.not_read,
                    record.notes, record.subject, record.literature, record.exhibited, record.maker,
                    record.attributed, record.attributed_by,
                    record.made_when, record.treat, record.leave)
        case Entry():
            return (record.edited, record.read_out, record.romanised, record.paraphrase,
                    *(t.text for t in record.translations), *(w.gloss for w in record.words), *record.season,
                    *(t for a in record.allusions for t in (a.text, a.reference)), record.picture,
                    record.date_argument, record.comment, record.not_read)
        case Layer():
            return (record.kind, record.text)
        case Region():
            return (record.cause, record.advice, record.note)
        case Inscription():
            return (record.title, record.surface, record.place, record.technique, record.order_note, record.note)
        case Person():
            return (record.name, *record.readings, *record.aliases, record.school, *(n.name for n in record.names),
                    *record.places, record.note)
        case Role():
            return (record.role, record.note)
        case Signature():
            return (record.text, *(r for p in record.parts for r in p.readings), record.note)
        case Specimen():
            return (record.what, record.kind, record.hand, record.note)
        case Photo():
            return (record.file, record.title, record.surface, record.light, record.rights, record.note)
        case Source():
            return (record.kind, record.citation, record.note)
        case Note():
            return (record.text,)
        case SchoolRecord() | StudyRecord():
            return (record.title, record.note)
        case DateRecord():
            return (record.text, record.era, record.cycle, record.note)
        case _:
            return (getattr(record, "note", ""),)


def _signs(record: Record) -> tuple[str, ...]:
    match record:
        case Attempt():
            return (record.written,)
        case Character():
            return (*(c.character for c in record.candidates), record.fixed)
        case Signature() | DateRecord():
            return (record.text,)
        case Example():
            return (record.character,)
        case _:
            return ()


def _link(record: Record) -> str:
    match record:
        case Attempt() | Signature() | DateRecord() | Entry():
            return record.inscription or ""
        case Role() | Specimen():
            return record.person or ""
        case Zone() | ViewSetting() | Region():
            return record.photo
        case Tracing() | StrokeMeasure():
            return record.zone
        case Note():
            return record.about
        case Judgement():
            return record.character
        case _:
            return ""


def columns(record: Record, made: str, reader: str) -> dict[str, Any]:
    """Index columns of a record."""
    days = (record.first, record.last) if isinstance(record, DateRecord) else ("", "")
    return {
        "status": str(record.status) if isinstance(record, Attempt) else "",
        "reader": ((record.reader if isinstance(record, Attempt) else "") or reader).replace("\x00", " "),
        "made": record.made if isinstance(record, Attempt) else made,
        # A date of one day stands for both ends, so that one comparison finds days and ranges.
        "day_first": days[0], "day_last": days[1] or days[0],
        "confidence": record.confidence if isinstance(record, Attempt) else None,
        "signs": "\n".join(s for s in _signs(record) if s).replace("\x00", " "), "link": _link(record),
        "text": "\n".join(fold(t) for t in _texts(record) if t),
    }


def derive(connection: Connection) -> list[dict[str, Any]]:
    """What ``current`` should hold, computed from the revisions alone."""
    # From the revisions alone: this is what the check at opening holds the search table against.
    last = select(func.max(revision.c.number).label("number"), func.min(revision.c.number).label("first")
                  ).group_by(revision.c.record).subquery()
    rows = connection.execute(select(revision, last.c.first).join(last, revision.c.number == last.c.number)
                              .order_by(revision.c.number)).mappings()
    return [{"record": r["record"], "number": r["number"], "kind": r["kind"], "piece": r["piece"],
             "withdrawn": bool(r["withdrawn"]), "first": r["first"],
             **_columns_of(r)} for r in rows]


def _columns_of(row: Any) -> dict[str, Any]:
    """Index columns of a row's record; those of one that is well kept but cannot be read say nothing."""
    try:
        return columns(decode(row["kind"], sound(row)["body"]), row["made"], row["reader"])
    except DamagedRegisterError:
        raise
    except RegisterError:
        # Whole, but of a kind that nobody here knows: it is listed, only nothing of it can be looked for.
        return {"status": "", "reader": row["reader"], "made": row["made"], "day_first": "", "day_last": "",
                "confidence": None, "signs": "", "link": "", "text": ""}


def rebuild(connection: Connection) -> int:
    """Make ``current`` anew from the revisions; returns the number of records."""
    rows = derive(connection)
    connection.execute(current.delete())
    for start in range(0, len(rows), 5000):
        connection.execute(current.insert(), rows[start:start + 5000])
    return len(rows)
