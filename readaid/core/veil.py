"""The one veil: what of a record may leave, on every way out (copies, reports in every format, tables, worksheets).

Conventions
-----------
* Unless ``private``: where a piece is kept, where it came from and who owns it stay here. A person who is known only
  as an owner stays with every word about them; their name and the place are taken out of what others wrote.
* ``blind``: only what a second reader needs to see for themselves leaves: photographs, zones, their order, measures,
  rights. No text that anybody wrote, no judgement, not even what sort of writing it is. What may leave is listed field
  by field, so that a field which a record gains later stays here until somebody thinks of it.
* ``record`` gives the record as it may go, or None if it stays here. Ids never change.
"""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from pathlib import PurePosixPath
from typing import Any, TypeVar

from readaid.core.character import Character, Inscription, Text
from readaid.core.contents import Contents, Record
from readaid.core.person import Person, Role
from readaid.core.photo import Evidence, Photo, Zone
from readaid.core.piece import Note, Piece
from readaid.core.specimen import Specimen

R = TypeVar("R")
#: What contents hold that is no list of records.
_ABOUT = ("piece", "faults", "revision", "numbers")
#: Title of a piece in a blind copy where it has no inventory number.
UNTITLED = "A piece to be read"
#: Written where a name or a place was taken out of a text.
TAKEN_OUT = "[…]"
#: What a blind copy shows, by kind of record; other kinds stay here.
_SEEN: Mapping[type, tuple[str, ...]] = {
    Piece: ("id", "title", "inventory", "width", "height", "depth", "weight", "rights"),
    Photo: ("id", "file", "sha256", "width", "height", "bits", "surface", "light_direction", "evidence", "mirrored",
            "swapped", "scale", "to_reference", "reference", "bend", "bend_width", "rights"),
    Zone: ("id", "photo", "outline", "confidence"),
    Character: ("id", "zones"),
    Inscription: ("id", "kind", "photo", "surface", "columns"),
}
#: Fields whose texts are read from the piece, chosen from a list or point to something: nothing is taken out of them.
_READ = {"id", "character", "sign", "fixed", "written", "kana", "normal", "modern", "romaji", "lines", "chosen",
         "alternatives", "inscription", "zone", "zones", "photo", "reference", "columns", "person", "source", "about",
         "a", "b", "model", "sha256", "form", "era", "cycle", "first", "last", "descriptor_kind", "made", "taken",
         "unit", "by", "view", "role", "cut", "cause", "advice", "editorial", "instead", "verdict", "language",
         "weight", "value", "values", "teacher", "file", "image", "reader"}


def neutral(photo: Photo, ending: str = "") -> str:
    """A name for a photo's file that tells nothing; the same record gets the same name again.

    >>> neutral(Photo("photos/signed by Yamagiku.JPG", "", 1, 1, id="x"))
    'photos/photo-2d711642b726.jpg'
    """
    known = PurePosixPath(photo.file).suffix.lower()
    ending = ending or (known if known in (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp") else ".jpg")
    computed = photo.evidence is Evidence.COMPUTED
    normals = computed and PurePosixPath(photo.file).name.startswith("computed-normals")  # shown under a lamp, by name
    head = "computed-normals" if normals else "computed" if computed else "photo"
    return f"photos/{head}-{hashlib.sha256(photo.id.encode('utf-8', 'replace')).hexdigest()[:12]}{ending}"


@dataclass(frozen=True)
class Veil:
    """What stays here. Made by :meth:`over` from all that is known of a piece."""

    blind: bool = False
    private: bool = False
    gone: frozenset[str] = frozenset()  # ids of persons who are known only as owners
    words: tuple[str, ...] = ()  # their names, and places, longest first
    kept: frozenset[str] = frozenset()  # ids of notes that are private now, whatever they were before
    surfaces: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def over(cls, records: Iterable[Record], blind: bool = False, private: bool = False) -> Veil:
        """The veil over these records: those that leave, and former values of them where those leave too, oldest first.

        A note that is private in its last value stays with every former one.
        """
        held = list(records)
        roles = [r for r in held if isinstance(r, Role)]
        owners = {r.person for r in roles if r.role == "owner"}
        others = {r.person for r in roles if r.role != "owner"} | {s.person for s in held if isinstance(s, Specimen)}
        gone = frozenset() if private else frozenset(owners - others)
        words: set[str] = set()
        if not private:
            for record in held:
                if isinstance(record, Person) and record.id in gone:
                    words |= {record.name, *record.aliases}
                elif isinstance(record, Piece):
                    words |= {record.place_kept, record.provenance}
        known = {record.name for record in held if isinstance(record, Person) and record.id not in gone}
        usable = {w.strip() for w in words if len(w.strip()) > 1} - known  # one sign stands in too many words
        named = dict.fromkeys(r.surface for r in held if isinstance(r, Photo | Inscription) and r.surface)
        notes = {r.id: r.private for r in held if isinstance(r, Note)}
        return cls(blind, private, gone, tuple(sorted(usable, key=lambda w: (-len(w), w))),
                   frozenset(() if private else (id for id, apart in notes.items() if apart)),
                   {name: f"surface {n}" for n, name in enumerate(named, 1)})

    # -- one record -------------------------------------------------------------------------------------------------
    def record(self, record: Record) -> Any:
        """The record as it may leave, None if it stays.

        >>> from readaid.core.character import Candidate
        >>> Veil(blind=True).record(Character(("z",), (Candidate("か"),), note="like か above", id="c"))
        Character(zones=('z',), candidates=(), damage=<Damage.NOT_STATED: 'not stated'>, missing=(1, 1), id='c', ...)
        """
        if self._stays(record):
            return None
        if self.blind:
            return self._seen(record)
        if self.private:
            return record
        if isinstance(record, Piece):
            record = replace(record, place_kept="", provenance="")
        elif isinstance(record, Person) and record.teacher in self.gone:
            record = replace(record, teacher=None)
        elif isinstance(record, Photo) and self.text(record.file) != record.file:
            record = replace(record, file=neutral(record))
        elif isinstance(record, Specimen):  # an origin's address is a path on this machine, or a server
            record = replace(record, origins=tuple(replace(o, address="") for o in record.origins),
                             image=record.image if self.text(record.image) == record.image else "")
        return self._without_words(record) if self.words else record

    def _stays(self, record: Record) -> bool:
        match record:
            case Person():
                return record.id in self.gone
            case Role():
                return not self.private and (record.role == "owner" or record.person in self.gone)
            case Note():
                return record.about in self.gone or record.id in self.kept or (record.private and not self.private)
        return False

    def text(self, text: str) -> str:
        """A text of anybody's without the words that stay here."""
        for word in self.words:
            text = text.replace(word, TAKEN_OUT)
        return text

    def _without_words(self, value: R) -> R:
        changed = {}
        for item in dataclasses.fields(value):  # type: ignore[arg-type]
            if item.name in _READ:
                continue
            was = getattr(value, item.name)
            now = self._plain(was)
            if now != was:
                changed[item.name] = now
        return replace(value, **changed) if changed else value  # type: ignore[type-var]

    def _plain(self, value: Any) -> Any:
        if isinstance(value, Enum):
            return value
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, tuple):
            return tuple(self._plain(v) for v in value)
        return self._without_words(value) if dataclasses.is_dataclass(value) else value

    def _seen(self, record: Record) -> Any:
        fields = _SEEN.get(type(record))
        if fields is None:
            return None
        values = {name: getattr(record, name) for name in fields}
        if isinstance(record, Piece):
            values["title"] = record.inventory or UNTITLED
        if isinstance(record, Photo):
            values["file"] = neutral(record)
            values["scale"] = replace(record.scale, what="", check_what="") if record.scale else None
        if isinstance(record, Inscription):
            values["kind"] = Text.UNKNOWN
        if "surface" in values:
            values["surface"] = self.surfaces.get(values["surface"], "")
        return type(record)(**values)

    # -- all of a piece -----------------------------------------------------------------------------------------------
    def all(self, records: Iterable[R]) -> tuple[R, ...]:
        """Those records that leave, as they may."""
        return tuple(v for r in records if (v := self.record(r)) is not None)  # type: ignore[arg-type]

    def contents(self, contents: Contents) -> Contents:
        """All records of a piece as they may leave; what names a record that stays is left out."""
        held: dict[str, Any] = {f.name: self.all(getattr(contents, f.name)) for f in dataclasses.fields(contents)
                                if f.name not in _ABOUT}
        held["faults"] = () if self.blind else tuple(self.text(t) for t in contents.faults)
        if self.blind:
            photos, signs = {p.id for p in held["photos"]}, {c.id for c in held["characters"]}
            held["zones"] = tuple(z for z in held["zones"] if z.photo in photos)
            held["inscriptions"] = tuple(replace(i, columns=tuple(tuple(c for c in column if c in signs)
                                                                  for column in i.columns))
                                         for i in held["inscriptions"])
        return replace(contents, piece=self.record(contents.piece), **held)


def over(contents: Contents, blind: bool = False, private: bool = False) -> Veil:
    """The veil over the contents of a piece."""
    held = (getattr(contents, f.name) for f in dataclasses.fields(contents) if f.name not in _ABOUT)
    return Veil.over((contents.piece, *(r for some in held for r in some)), blind, private)
