"""A reading proposed from the zones of a piece: shape and language together, judged signs as the reader judged them.

Conventions
-----------
* Places (0-based) are those of the inscription's signs in reading order, whatever was parted, joined or left out on
  the way: a zone that holds two signs has both, of two zones that hold one sign the second has none.
* What shape alone speaks for is nobody's judgement. It is marked wherever it is shown, nothing is saved by proposing
  it, and what is kept of a reading has such signs unread (see ``claims``).
* All zones are seen on one photo, the one they were drawn on, and on photos of the same surface laid over it, under
  other light: what shape says is the mean over them, and where a sign is seen best is told.
"""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Sequence, Set
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from PIL import Image

from readaid.core.character import Character, Inscription
from readaid.core.errors import PhotoError, ZoneError, unknown_option
from readaid.core.photo import Photo, Zone
from readaid.core.reading import CandidateShare, Reading, Word
from readaid.piece import lamps, lost_places
from readaid.piece.claims import GUESS, unread_places
from readaid.piece.next_lamp import NextLamp, named

if TYPE_CHECKING:
    from readaid.piece.holding import Holding
    from readaid.piece.surfaces import Surfaces
    from readaid.reading.sight import Sighting
    from readaid.reading.solve import Solution
    from readaid.reading.stretches import Layout, Stretch

#: Longer side, in pixels, of the usual sign in the picture that is looked at: what is larger is reduced.
USUAL = 96.0
#: Surroundings of the zones that are looked at, in usual sides.
AROUND = 1.0
#: Pictures of other lamps that are looked at besides.
MOST_LAMPS = 7

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Proposal:
    """Readings with the inscription's own places, the places that shape alone spoke for, and what is to be told."""

    solution: Solution
    by_shape: frozenset[int]
    kanji: float  # share of kanji among the unjudged signs, as found
    notes: tuple[str, ...] = ()
    lamp: NextLamp | None = None  # the next photograph worth taking, where the present lamps are known

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings, best first."""
        return self.solution.readings

    def _repr_html_(self) -> str:
        best = self.readings[0]._repr_html_() if self.readings else ""
        return f"{best}<small>{len(self.by_shape)} signs from shape alone: a proposal, judged by nobody.</small>"


def propose(piece: Holding, surfaces: Surfaces, inscription: Inscription, columns: Sequence[Sequence[Character]],
            form: str | None = None, k: int = 5, among: str = "all", time_limit: float | None = 10.0,
            places: Sequence[int] | None = None) -> Proposal:
    """Readings of an inscription in which shape speaks for every sign that nobody has judged yet; nothing is saved.

    ``places`` are those of the signs of ``columns`` among all signs of the inscription, where some stand outside the
    text.

    Raises TextError where there is nothing to read, PhotoError where a sign cannot be seen, OptionError for an unknown
    form or kind of signs.
    """
    from readaid.glyphs.candidates import AMONG
    from readaid.reading import shape_evidence, sight

    if among not in AMONG:
        raise unknown_option("among", among, AMONG)
    signs = [c for column in columns for c in column]
    unread = unread_places(signs)
    judged = {at: lost_places.bounded(c) for at, c in enumerate(signs) if at not in unread}
    places = range(len(signs)) if places is None else places
    by_shape = frozenset(places[at] for at in unread)
    many = len(inscription.characters) or len(signs)
    if not unread:  # every sign has been judged: nothing is left for shape to say
        found, held = lost_places.solved(columns, form or inscription.form, k, time_limit)
        return Proposal(replaced(found, [places[at] for at in held], many), by_shape, 0.0)
    view = _view(piece, surfaces, columns, unread)
    seen = sight.read_zones(view.pictures[0], view.boxes, form or inscription.form, among, k, True, time_limit, judged,
                            shape_evidence.expected_of(str(inscription.kind)), view.pictures[1:])
    owner = [places[at] for at in _owners(seen.layout, len(signs))]
    guessed = {places[at] for at, c in enumerate(signs) if at in unread and c.zones
               and piece.find(Zone, c.zones[0]).note == GUESS}
    lamp = _next_lamp(seen.layout, view, owner)
    notes = _notes(seen, view, owner, places, guessed)
    return Proposal(replaced(seen.solution, owner, many), by_shape, seen.kanji,
                    (*notes, *([lamp.words] if lamp else [])), lamp)


def _next_lamp(layout: Layout, view: _View, owner: Sequence[int]) -> NextLamp | None:
    """The lamp that would open most of the signs that shape is not sure of."""
    best: dict[int, Stretch] = {}
    for stretch in layout.stretches:
        at = owner[stretch.first]
        if stretch.odds > 0 and (at not in best or stretch.odds > best[at].odds):
            best[at] = stretch
    return named({at: s.seen for at, s in best.items()}, view.lamps)


def replaced(solution: Solution, owner: Sequence[int], many: int) -> Solution:
    """A solution with other places: ``owner`` gives the new one of each, ``many`` how many there are."""
    if list(owner) == list(range(many)):
        return solution
    return dataclasses.replace(solution, readings=tuple(_placed(r, owner, many) for r in solution.readings),
                               shares=_shares(solution.shares, owner))


@dataclass(frozen=True, slots=True)
class _View:
    """Pictures of the inscription's surroundings, one a lamp, what they are called, and the zones' boxes in them."""

    pictures: tuple[Any, ...]
    names: tuple[str, ...]
    boxes: tuple[tuple[Box | None, ...], ...]
    lamps: tuple[float, ...]  # azimuths in degrees as they are seen; none where one is not known


def _view(piece: Holding, surfaces: Surfaces, columns: Sequence[Sequence[Character]], unread: Set[int]) -> _View:
    """What is looked at: the part of the photo round the zones, and the same of the photos under other lamps."""
    from readaid.photo.rectify import Plane, sampled

    signs = [c for column in columns for c in column]
    zones = {c.id: piece.find(Zone, c.zones[0]) for c in signs if c.zones}
    photos = [zones[c.id].photo for at, c in enumerate(signs) if at in unread]
    # The photo most zones were drawn on; sorted first, so that of two with as many it is the same one each time.
    base = piece.find(Photo, max(sorted(set(photos)), key=photos.count))
    there: dict[str, Box] = {}
    for known, zone in zones.items():
        shown = zone if zone.photo == base.id else surfaces.zone_on(zone, base)
        if shown is not None:
            there[known] = shown.box
    side = float(np.median([max(b[2], b[3]) for b in there.values()]))
    left = max(0.0, min(b[0] for b in there.values()) - AROUND * side)
    top = max(0.0, min(b[1] for b in there.values()) - AROUND * side)
    right = min(float(base.width), max(b[0] + b[2] for b in there.values()) + AROUND * side)
    bottom = min(float(base.height), max(b[1] + b[3] for b in there.values()) + AROUND * side)
    # Whole pixels: cut between pixels, the same zone would look a little different on each lamp.
    left, top, right, bottom = float(int(left)), float(int(top)), float(round(right)), float(round(bottom))
    reduce = min(1.0, USUAL / max(side, 1.0))
    size = (max(1, round((right - left) * reduce)), max(1, round((bottom - top) * reduce)))
    pictures = [_scaled(piece.pyramid(base).crop((left, top, right - left, bottom - top)), size)]
    names, used = [base.title or base.file], [base]
    for photo in surfaces.lit(base)[1:]:
        if len(pictures) > MOST_LAMPS:
            break
        with contextlib.suppress(PhotoError, ZoneError):
            matrix = surfaces.mapping(base, photo)
            # A photo taken through a mirror shows its signs the other way round.
            if matrix is None or base.mirrored != photo.mirrored:
                continue
            step = np.array([[1 / reduce, 0, left], [0, 1 / reduce, top], [0, 0, 1]])
            whole = piece.pyramid(photo).crop((0.0, 0.0, float(photo.width), float(photo.height)))
            pictures.append(np.asarray(sampled(whole, Plane(np.asarray(matrix @ step, np.float64), size)), np.uint8))
            names.append(photo.title or photo.file)
            used.append(photo)
    if base.mirrored:
        pictures = [np.ascontiguousarray(p[:, ::-1]) for p in pictures]

    def inside(box: Box | None) -> Box | None:
        if box is None:
            return None
        x, y, w, h = ((box[0] - left) * reduce, (box[1] - top) * reduce, box[2] * reduce, box[3] * reduce)
        return (size[0] - x - w if base.mirrored else x, y, w, h)

    boxes, at = [], 0
    for column in columns:
        row = []
        for character in column:
            box = inside(there.get(character.id))
            if box is None and at in unread:
                raise PhotoError("A sign does not show on the photo that the others were drawn on",
                                 f"sign {at + 1}", "lay the photos over each other, or judge this sign yourself")
            row.append(box)
            at += 1
        boxes.append(tuple(row))
    standing = [lamps.standing(p, base.mirrored) for p in used]
    return _View(tuple(pictures), tuple(names), tuple(boxes),
                 tuple(s[0] for s in standing if s) if all(standing) else ())


def _scaled(pixels: Any, size: tuple[int, int]) -> Any:
    if (pixels.shape[1], pixels.shape[0]) == size:
        return pixels
    return np.asarray(Image.fromarray(pixels).resize(size, Image.Resampling.BOX))


def _owners(layout: Layout, many: int) -> list[int]:
    """The sign each piece is counted with: its zone's, or the one before it where no zone was drawn."""
    out, before = [], 0
    for zone in layout.zones:
        # What was supplied between two zones has no sign of its own yet: it is told with the sign before it.
        before = zone if zone >= 0 else before
        out.append(min(before, many - 1))
    return out


def _placed(reading: Reading, owner: Sequence[int], many: int) -> Reading:
    """A reading with the places of the signs in place of those of the pieces."""
    chosen = [""] * many
    for piece, sign in enumerate(reading.chosen):
        chosen[owner[piece]] += sign

    def word(w: Word) -> Word:
        return dataclasses.replace(w, start=owner[w.start], end=owner[w.end - 1] + 1)

    return dataclasses.replace(
        reading, chosen=tuple(chosen), words=tuple(word(w) for w in reading.words),
        restored=tuple(dataclasses.replace(r, at=owner[r.at]) for r in reading.restored),
        reasons=tuple(dataclasses.replace(r, at=owner[r.at]) if r.at >= 0 else r for r in reading.reasons))


def _shares(shares: Sequence[CandidateShare], owner: Sequence[int]) -> tuple[CandidateShare, ...]:
    """Shares by sign: where a zone has several pieces, those of all of them, never more than the whole."""
    found: dict[tuple[int, str, str, bool], float] = {}
    for s in shares:
        key = (owner[s.at], s.character, s.kana, s.restored)
        found[key] = found.get(key, 0.0) + s.probability
    total: dict[int, float] = {}
    for (at, *_), p in found.items():
        # Two signs in one zone have a share of one each.
        total[at] = total.get(at, 0.0) + p
    return tuple(CandidateShare(at, sign, kana, p / max(1.0, total[at]), restored)
                 for (at, sign, kana, restored), p in sorted(found.items(), key=lambda x: (x[0][0], -x[1])))


def _notes(seen: Sighting, view: _View, owner: Sequence[int], places: Sequence[int], guessed: Set[int]) -> list[str]:
    """What was parted, joined, left out or supplied in the best reading, and which lamp a sign was read from."""
    out = [f"Sign {at + 1} is not to be seen: its place is a guess from the pitch of its neighbours."
           for at in sorted(guessed)]
    chosen = seen.solution.readings[0].chosen
    zones = seen.layout.zones
    starts = [n for n, sign in enumerate(chosen) if sign]
    for number, start in enumerate(starts):
        to = starts[number + 1] if number + 1 < len(starts) else len(chosen)
        if zones[start] < 0:
            out.append(f"After sign {owner[start] + 1} one may be hidden: {chosen[start]} is a guess from its place.")
        elif number and zones[start] == zones[starts[number - 1]]:
            out.append(f"Zone {owner[start] + 1} seems to hold two signs.")
        fits = [s for s in seen.layout.stretches if start <= s.first and s.last <= to]
        if not fits:
            continue
        best = max(fits, key=lambda s: s.odds)
        held = sorted({zones[p] for p in range(best.first, best.last) if zones[p] >= 0})
        if len(held) > 1:
            numbers = " and ".join(str(places[z] + 1) for z in held)
            out.append(f"Zones {numbers} seem to hold one sign, {chosen[start]}.")
        if len(view.names) > 1 and best.lamp:
            out.append(f"Sign {owner[start] + 1} is seen best on {view.names[best.lamp]}.")
        rest = sorted({zones[p] for p in range(best.last, to) if zones[p] >= 0} - {zones[start]})
        out += [f"Zone {places[z] + 1} seems to hold no sign." for z in rest if places[z] not in guessed]
    return out
