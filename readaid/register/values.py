"""What the values of a record may be: asked of everything that arrives from outside, before it enters.

Conventions
-----------
* ``faults`` looks at one record, ``together`` at records beside each other; both give sentences, none where all is
  well. Nothing is mended here.
* A fault is a value that no hand and no program of ours would enter: a number that is none, a zone without area, half
  a photo of minus one pixel. What is merely odd (a year 3000, a zone half outside its photo) is nobody's fault.
* Bounds are wide on purpose: they keep a record from taking the memory or the page, not from being wrong.
"""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.condition import Region, StrokeMeasure
from readaid.core.contents import Record
from readaid.core.entry import Entry
from readaid.core.errors import RegisterError
from readaid.core.person import Role, Signature
from readaid.core.photo import ZONE_KINDS, Photo, Scale, Tracing, ViewSetting, Zone
from readaid.core.piece import Note, Piece
from readaid.core.specimen import ComparisonRecord
from readaid.register.revision import value_of

#: Most characters of one text, most values of one list, most values of one record with all that lies in it.
LONGEST, MOST, WHOLE = 200_000, 20_000, 400_000
#: Largest number anywhere; furthest point of anything drawn, in pixels (a photo has at most 178,956,970).
LARGEST, FURTHEST = 1e12, 1e6
#: Most signs that may be lost in one place, and most candidates of one sign (as ``piece.decipherment`` offers them).
LOST, CANDIDATES = 30, 500
Fault = str


def faults(record: Record) -> tuple[Fault, ...]:
    """What is wrong with the values of one record.

    >>> faults(Zone("p", ((0, 0), (5, 0), (5, 5)), id="z"))
    ()
    >>> faults(Zone("p", (), id="z"))
    ('the outline has fewer than three points',)
    """
    return _plain(record) or tuple(_OF[type(record)](record) if type(record) in _OF else ())


def readable(row: Any) -> bool:
    """Whether the record of a row of the revision table can be read and has values that can be."""
    try:
        return not faults(value_of(row))
    except RegisterError:
        return False


def _plain(record: Record) -> tuple[Fault, ...]:
    """Texts of bearable length, finite numbers of bearable size, lists of bearable length; an id."""
    found: list[Fault] = []
    whole = 0

    def look(name: str, value: Any) -> None:
        nonlocal whole
        whole += 1
        if isinstance(value, str):
            if len(value) > LONGEST:
                found.append(f"{name} is a text of {len(value)} characters")
            # A long text counts as well: a hundred characters take about as much room as one number.
            whole += len(value) // 100
        elif isinstance(value, float | int):
            if not math.isfinite(value) or abs(value) > LARGEST:
                found.append(f"{name} is no usable number")
        elif isinstance(value, tuple | list):
            if len(value) > MOST:
                found.append(f"{name} has {len(value)} entries")
            else:
                for one in value:
                    if whole > WHOLE:
                        return
                    if type(one) is str and len(one) < 100:  # an order holds ids by the thousand
                        whole += 1
                    else:
                        look(name, one)
        elif dataclasses.is_dataclass(value):
            for item in dataclasses.fields(value):
                look(item.name if value is record else f"{name}: {item.name}", getattr(value, item.name))

    look("", record)
    if whole > WHOLE:
        found.append("it holds more values than a record may")
    # Ids become names in archives and addresses in the report.
    if not 0 < len(record.id) <= 200 or any(ord(c) < 33 or c in "/\\\x7f" for c in record.id):
        found.append("its id is none")
    return tuple(found[:10])


def _points(name: str, points: Iterable[Iterable[float]]) -> list[Fault]:
    return [f"{name} lies far outside any photo"] if any(abs(v) > FURTHEST for p in points for v in p) else []


def _share(name: str, value: float | None) -> list[Fault]:
    return [] if value is None or 0 <= value <= 1 else [f"{name} is not between 0 and 1"]


def _scale(scale: Scale) -> list[Fault]:
    ends = [p for p in (scale.a, scale.b, scale.check_a, scale.check_b) if p is not None]
    found = _points("the scale", ends)
    if math.dist(scale.a, scale.b) <= 0 or scale.millimetres <= 0:
        found.append("the scale has no length")
    return found


def _photo(photo: Photo) -> list[Fault]:
    found = _points("the bend", photo.bend)
    if not (1 <= photo.width <= FURTHEST and 1 <= photo.height <= FURTHEST):
        found.append("the photo has no size")
    if not 1 <= photo.bits <= 32:
        found.append("the photo has no depth")
    if photo.scale is not None:
        found += _scale(photo.scale)
    if photo.to_reference is not None and not _usable(photo.to_reference):
        found.append("its place on the reference photo is no matrix")
    if photo.reference == photo.id:
        found.append("it lies on itself")
    # A direction of no length divides by nought in the relief.
    if photo.light_direction is not None and not any(photo.light_direction):
        found.append("the light comes from nowhere")
    return found


def _usable(matrix: tuple[float, ...]) -> bool:
    """Whether nine numbers are a homography that can be turned round."""
    if len(matrix) != 9:
        return False
    a, b, c, d, e, f, g, h, i = matrix
    return abs(a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)) > 1e-12


def _zone(zone: Zone | Region) -> list[Fault]:
    if len(zone.outline) < 3:
        return ["the outline has fewer than three points"]
    found = _points("the outline", zone.outline)
    found += _share("the zone's confidence", zone.confidence) if isinstance(zone, Zone) else []
    # Three points on one line: nothing could be cropped.
    if not found and not (zone.box[2] > 0 and zone.box[3] > 0):
        found.append("the zone has no area")
    if isinstance(zone, Zone):
        found += [f"{zone.kind!r} is no kind of zone"] if zone.kind and zone.kind not in ZONE_KINDS else []
        found += _share("the probability of the zone's kind", zone.kind_share)
    return found


def _character(character: Character) -> list[Fault]:
    least, most = character.missing
    found = [] if 0 <= least <= most <= LOST else [f"between {least} and {most} signs are missing"]
    if len(character.candidates) > CANDIDATES:
        found.append(f"it has {len(character.candidates)} candidates")
    for candidate in character.candidates:
        found += _share("a candidate's probability", candidate.probability)
        if not 0 < len(candidate.character) <= 100:
            found.append("a candidate has no sign")
    if len(set(character.zones)) < len(character.zones):
        found.append("it lies in the same zone twice")
    return found


def _attempt(attempt: Attempt) -> list[Fault]:
    found = _share("the probability", attempt.probability)
    if any(not 0 <= m <= 10_000 for m in attempt.morae):
        found.append("a line has an impossible number of morae")
    return found


def _piece(piece: Piece) -> list[Fault]:
    sides = (piece.width, piece.height, piece.depth, piece.weight)
    return ["a measure is below nothing"] if any(v is not None and v < 0 for v in sides) else []


def _signature(signature: Signature) -> list[Fault]:
    return ["a part of the signature ends before it begins"] if any(not 0 <= p.start <= p.end
                                                                    for p in signature.parts) else []


def _comparison(comparison: ComparisonRecord) -> list[Fault]:
    found = _share("the likeness", comparison.likeness)
    if len(comparison.transform) not in (0, 6):
        found.append("the transform is no matrix")
    return found


def _measure(measure: StrokeMeasure) -> list[Fault]:
    sizes = (measure.width, measure.width_error, measure.depth, measure.depth_error)
    found = ["a stroke has a size below nothing"] if any(v is not None and v < 0 for v in sizes) else []
    return found + ([] if measure.places >= 1 else ["a stroke was measured nowhere"])


def _entry(entry: Entry) -> list[Fault]:
    return ["the tool has no width"] if entry.tool_width is not None and entry.tool_width <= 0 else []


_OF: Mapping[type, Any] = {
    Piece: _piece, Photo: _photo, Zone: _zone, Character: _character, Attempt: _attempt,
    Signature: _signature, ComparisonRecord: _comparison, Region: _zone, StrokeMeasure: _measure, Entry: _entry,
    Role: lambda r: _share("the confidence", r.confidence),
    Note: lambda n: _points("the note's place", [n.place] if n.place else []),
    Tracing: lambda t: _points("a stroke", [p for s in t.strokes for p in s]),
}


def bearable(piece: Piece) -> Piece:
    """A piece record without values that cannot be: a piece is never left out, since nothing opens without it.

    >>> bearable(Piece("tray", width=float("nan"), height=-3.0, depth=4.0, id="p")).depth
    4.0
    """
    sides: dict[str, Any] = {n: v if v is not None and math.isfinite(v) and 0 <= v <= LARGEST else None
             for n in ("width", "height", "depth", "weight") for v in (getattr(piece, n),)}
    texts = {f.name: v[:LONGEST] for f in dataclasses.fields(piece) if isinstance(v := getattr(piece, f.name), str)}
    return dataclasses.replace(piece, **{**texts, **sides, "sensitive": piece.sensitive[:100]})


def without_doubles(inscriptions: Iterable[Inscription]) -> tuple[list[Inscription], list[str]]:
    """Inscriptions in which each sign stands once, and the signs that stood more than once.

    >>> held, doubled = without_doubles([Inscription(columns=(("a", "b", "a"),)), Inscription(columns=(("b", "c"),))])
    >>> [i.columns for i in held], doubled
    ([(('a', 'b'),), (('c',),)], ['a', 'b'])
    """
    seen: set[str] = set()
    found, doubled = [], []
    for inscription in inscriptions:
        signs = inscription.characters
        if len(set(signs)) == len(signs) and seen.isdisjoint(signs):
            seen |= set(signs)
            found.append(inscription)
            continue
        columns = []
        for column in inscription.columns:
            once = [c for at, c in enumerate(column) if c not in seen and c not in column[:at]]
            doubled += [c for c in column if c not in once]
            doubled += [c for c in once if column.count(c) > 1]
            seen |= set(once)
            columns.append(tuple(once))
        found.append(dataclasses.replace(inscription, columns=tuple(columns)))
    return found, list(dict.fromkeys(doubled))


def references(record: Record) -> tuple[str, ...]:
    """Ids that a record cannot do without: a zone's photo, an attempt's inscription.

    A sign's zones and the signs of an order are not among them: one may have been withdrawn since.

    >>> references(ComparisonRecord("a", "b", 0.5))
    ('a', 'b')
    """
    match record:
        case Zone() | ViewSetting() | Region():
            return (record.photo,)
        case Tracing() | StrokeMeasure():
            return (record.zone,)
        case Attempt() | Entry():
            return (record.inscription,)
        case Role():
            return (record.person,)
        case ComparisonRecord():
            return (record.a, record.b)
        case _:
            return ()


def together(records: Iterable[Record], known: Iterable[str] = ()) -> tuple[Fault, ...]:
    """What is wrong among the records of one piece as they stand now; ``known``: ids that are here besides theirs.

    >>> together([Inscription(columns=(("c",),), id="i"), Inscription(columns=(("c",),), id="j")], ["c"])
    ('sign c stands 2 times in the order',)
    """
    held = list(records)
    ids = {r.id for r in held} | set(known)
    found = [f"{type(r).__name__.lower()} {r.id} names {id}, which is not there"
             for r in held for id in references(r) if id not in ids]
    orders = Counter(c for r in held if isinstance(r, Inscription) for c in r.characters)
    found += [f"sign {id} stands {n} times in the order" for id, n in orders.items() if n > 1]
    photos = {r.id: r for r in held if isinstance(r, Photo)}
    for zone in held:
        if isinstance(zone, Zone) and zone.photo in photos and zone.outline:
            photo, (x, y, w, h) = photos[zone.photo], zone.box
            if x > photo.width or y > photo.height or x + w < 0 or y + h < 0:
                found.append(f"zone {zone.id} lies outside its photo")
    return tuple(found[:10])
