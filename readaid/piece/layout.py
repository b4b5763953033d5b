"""Zones, columns and their order: what is drawn on the photo board.

Conventions: columns count from the right; ``at`` counts from the top of a
column, 0-based. Drawing a zone makes one character in it; a zone may hold two
joined characters and a character may lie across two zones. Each call is one gesture.
Zones on photos laid over each other are placed together; drawn on a computed picture they go to the photo behind it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence, Set
from typing import TYPE_CHECKING, Any

import numpy as np

from readaid.core import options
from readaid.core.character import Character, Inscription, Text
from readaid.core.contents import Contents, Record
from readaid.core.errors import ConflictError, ZoneError
from readaid.core.photo import Photo, Point, Scale, Zone
from readaid.piece.claims import GUESS, outside_text
from readaid.piece.moment import gesture

if TYPE_CHECKING:
    from readaid.glyphs.zone_kinds import ZoneKind
    from readaid.photo.pitch import ProposedZone
    from readaid.piece.holding import Holding
    from readaid.piece.surfaces import Surfaces

#: Zones narrower or lower than this many pixels are slips of the hand.
LEAST_SIZE = 3.0
Box = tuple[float, float, float, float]
#: Note of a proposed zone that was cut through ink or is too tall for one sign; it goes when the zone is mended.
RUNNING = "running writing: look whether the outline holds one whole sign"


def on_ruler(zone: Zone, scale: Scale | None) -> bool:
    """Whether a zone is a figure on the ruler or scale card that was measured: beside its line, within its ends.

    >>> rule = Scale((0, 500), (300, 500), 30.0, "scale card")
    >>> on_ruler(Zone("p", ((90, 510), (110, 510), (110, 535), (90, 535))), rule)
    True
    >>> on_ruler(Zone("p", ((90, 300), (110, 300), (110, 325), (90, 325))), rule)
    False
    """
    if scale is None or not any(w in scale.what.lower() for w in ("ruler", "scale", "定規", "スケール")):
        return False
    x, y, width, height = zone.box
    along = np.array(scale.b, float) - scale.a
    away = np.array((x + width / 2, y + height / 2)) - scale.a
    length = float(np.hypot(*along)) or 1.0
    at, beside = float(away @ along) / length, abs(float(along[0] * away[1] - along[1] * away[0])) / length
    # A figure stands within about its own height of the line that was measured.
    return -height < at < length + height and beside < 1.5 * max(width, height)


def forms_of(contents: Contents, zones: Set[str]) -> set[str]:
    """Ids of the specimens that are seen in these zones: one whose zone has gone can neither be compared nor lent.

    >>> from readaid.core.piece import Piece
    >>> from readaid.core.specimen import Specimen
    >>> forms_of(Contents(Piece("lid"), specimens=(Specimen(zone="z", id="a"), Specimen(zone="y", id="b"))), {"z"})
    {'a'}
    """
    return {s.id for s in contents.specimens if s.zone in zones}


class Layout:
    """Drawing and ordering for one opened piece."""

    def __init__(self, piece: Holding, surfaces: Surfaces) -> None:
        self._piece = piece
        self._surfaces = surfaces

    def inscription(self, kind: Text | str = Text.VERSE, photo: Photo | None = None, **fields: object) -> Inscription:
        """Start an inscription (verse, signature, date ...), on a photo or without; OptionError for another kind."""
        what = options.member(Text, kind, "kind of inscription")
        made = Inscription(kind=what, photo=photo.id if photo else None, **fields)  # type: ignore[arg-type]
        self._piece.save(made, reason="inscription started")
        return made

    @gesture
    def draw(self, inscription: Inscription | str, photo: Photo | str, outline: Sequence[Point],
             column: int | None = None, at: int | None = None) -> tuple[Zone, Character]:
        """Draw one zone with one character in it; placed by position unless ``column``/``at`` say where."""
        target = self._fresh(inscription)
        # Drawn on a relief or a straightened column, the zone is kept on the untouched photo: those are made anew at
        # will.
        record, outline = self._surfaces.untouched(self._photo(photo), outline)
        zone = Zone(record.id, self._outline(record, outline))
        character = Character(zones=(zone.id,))
        columns = [list(c) for c in target.columns]
        if column is None:
            column, at, is_new = self._place(target, zone)
            if is_new:
                columns.insert(column, [])
        while len(columns) <= column:
            columns.append([])
        columns[column].insert(len(columns[column]) if at is None else at, character.id)
        self._save(target, columns, [zone, character], "zone drawn")
        return zone, character

    @gesture
    def draw_columns(self, inscription: Inscription | str, photo: Photo | str,
                     columns: Iterable[Iterable[Sequence[Point] | Zone]]) -> Inscription:
        """Take over whole columns of outlines at once (a proposal, an import) as one gesture.

        Where the inscription has columns already, each zone goes to the one it stands in, and a new column to its place
        among them. A zone proposed as a monogram or a seal is kept without a character: it stands
        outside every text until the reader says otherwise (``allotment``).
        """
        target = self._fresh(inscription)
        record = self._photo(photo)
        new: list[Record] = []
        rows: list[list[tuple[Zone, str]]] = []
        for outlines in columns:
            row = []
            for item in outlines:
                given = item.outline if isinstance(item, Zone) else item
                home, outline = self._surfaces.untouched(record, given)
                outline = self._outline(home, outline)
                zone = (dataclasses.replace(item, photo=home.id, outline=outline) if isinstance(item, Zone)
                        else Zone(home.id, outline))
                if outside_text(zone):
                    new.append(zone)
                    continue
                character = Character(zones=(zone.id,))
                new += [zone, character]
                row.append((zone, character.id))
            if row:
                rows.append(row)
        order = self._among(target, rows) if target.columns else [[c for _, c in row] for row in rows]
        return self._save(target, order, new, "columns taken over")

    @gesture
    def move(self, zone: Zone | str, outline: Sequence[Point]) -> Zone:
        """Move or reshape a zone."""
        record = self._piece.find(Zone, zone) if isinstance(zone, str) else zone
        photo = self._photo(record.photo)
        # Mended by hand, so the finder's doubt and its confidence no longer hold; the reader's own note stays.
        note = "" if record.note in (RUNNING, GUESS) else record.note
        return self._piece.change(record, reason="zone moved", outline=self._outline(photo, outline), confidence=None,
                                  note=note)

    @gesture
    def approve(self, zone: Zone | str) -> Zone:
        """Say that a proposed zone is right as it is: it counts as the reader's own from now on."""
        record = self._piece.find(Zone, zone) if isinstance(zone, str) else zone
        return self._piece.change(record, reason="proposed zone found right", confidence=None,
                                  note="" if record.note in (RUNNING, GUESS) else record.note)

    @gesture
    def delete(self, zone: Zone | str) -> None:
        """Take a zone away, with the characters that lie in it alone and its specimens (all kept in the history)."""
        record = self._piece.find(Zone, zone if isinstance(zone, str) else zone.id)
        contents = self._piece.contents
        changed: list[Record] = []
        gone = {record.id}
        for character in contents.characters:
            if record.id in character.zones:
                rest = tuple(z for z in character.zones if z != record.id)
                # A sign that lies across two zones keeps the other one.
                if rest:
                    changed.append(dataclasses.replace(character, zones=rest))
                else:
                    gone.add(character.id)
        for inscription in contents.inscriptions:
            if gone & set(inscription.characters):
                columns = tuple(tuple(c for c in column if c not in gone) for column in inscription.columns)
                changed.append(dataclasses.replace(inscription, columns=tuple(c for c in columns if c)))
        gone |= forms_of(contents, {record.id})
        self._piece.save(*changed, reason="zone deleted", withdraw=sorted(gone))

    @gesture
    def reorder(self, inscription: Inscription | str, columns: Sequence[Sequence[str]], note: str = "") -> Inscription:
        """Set the reading order by hand; the characters must be the same as before.

        Raises ConflictError where the order is no longer that of ``inscription`` as it was given.
        """
        target = self._fresh(inscription)
        wanted = sorted(c for col in columns for c in col)
        seen = target if isinstance(inscription, str) else inscription
        # The same signs in another order than the caller saw: somebody has ordered them meanwhile.
        if sorted(seen.characters) == wanted and seen.columns != target.columns:
            raise ConflictError("Somebody else has changed the order in the meantime", target.title,
                                "look at it again and make your change anew", mine=columns, theirs=target.columns)
        if wanted != sorted(target.characters):
            raise ZoneError("The new order does not hold the same characters as before", target.title,
                            "move characters, do not drop or double them")
        return self._piece.change(target, reason="order changed", columns=tuple(tuple(c) for c in columns if c),
                                  order_note=note or target.order_note)

    @gesture
    def join(self, zone: Zone | str) -> Character:
        """Say that a zone holds one more joined character; it follows those already there."""
        record = self._piece.find(Zone, zone if isinstance(zone, str) else zone.id)
        target, column, at = self._where(record.id)
        character = Character(zones=(record.id,))
        columns = [list(c) for c in target.columns]
        columns[column].insert(at + 1, character.id)
        self._save(target, columns, [character], "joined characters")
        return character

    @gesture
    def spread(self, first: Zone | str, second: Zone | str) -> Character:
        """Say that one character lies across two zones: the second zone's own character goes."""
        a = self._piece.find(Zone, first if isinstance(first, str) else first.id)
        b = self._piece.find(Zone, second if isinstance(second, str) else second.id)
        target, column, at = self._where(a.id)
        by_id = {c.id: c for c in self._piece.contents.characters}
        kept = by_id[target.columns[column][at]]
        # Only what lies in the second zone alone: two joined signs that share it stay.
        gone = {c.id for c in by_id.values() if c.zones == (b.id,) and c.id != kept.id}
        merged = dataclasses.replace(kept, zones=tuple(dict.fromkeys((*kept.zones, b.id))))
        columns = tuple(tuple(c for c in col if c not in gone) for col in target.columns)
        changed = dataclasses.replace(target, columns=tuple(c for c in columns if c))
        self._piece.save(merged, changed, reason="one character across two zones", withdraw=sorted(gone))
        return merged

    def propose(self, photo: Photo | str, **options: Any) -> list[list[Zone]]:
        """Columns of zones found on a photo, each with the finder's confidence, its kind and that one's probability;
        nothing is saved.

        ``options`` are those of :func:`readaid.photo.columns.propose`. A zone that may be part of a sign or hold
        several has the note ``RUNNING``, one where only the pitch asks for a sign ``GUESS``. A photo marked as
        mirrored is searched as it is read, not as it was taken. Figures of the ruler or scale card that gives the
        photo's scale are left out.
        """
        from readaid.glyphs.zone_kinds import shares
        from readaid.photo.columns import propose
        from readaid.photo.pitch import box

        record = self._photo(photo)
        pixels = self._piece.pyramid(record).level(0)  # shared with the tiles: a second decode of 60 MP is 180 MB
        if record.mirrored:
            pixels = np.ascontiguousarray(pixels[:, ::-1])
            if options.get("region"):
                x, y, w, h = options["region"]
                options = {**options, "region": (record.width - x - w, y, w, h)}
        found = propose(pixels, **options)
        kinds = shares(pixels, [[box(z) for z in column.zones] for column in found])

        def zone(item: ProposedZone, kind: ZoneKind) -> Zone:
            outline = [(float(record.width - x if record.mirrored else x), float(y)) for x, y in item.outline]
            what, share = ("writing", None) if item.guess else (kind.kind, round(kind.probability, 3))
            return Zone(record.id, tuple(outline[::-1] if record.mirrored else outline),
                        confidence=float(item.confidence), kind=what, kind_share=share,
                        note=GUESS if item.guess else RUNNING if item.joined else "")

        columns = ([z for z in (zone(i, k[0]) for i, k in zip(column.zones, own, strict=True))
                    if not on_ruler(z, record.scale)] for column, own in zip(found, kinds, strict=True))
        return [column for column in columns if column]

    def number(self, inscription: Inscription | str) -> dict[str, int]:
        """Number of each zone in reading order, from 1."""
        target = self._fresh(inscription)
        by_id = {c.id: c for c in self._piece.contents.characters}
        zones = dict.fromkeys(z for c in target.characters if c in by_id for z in by_id[c].zones)
        return {zone: n for n, zone in enumerate(zones, start=1)}

    # -- inside -------------------------------------------------------------------------------------
    def _fresh(self, inscription: Inscription | str) -> Inscription:
        return self._piece.find(Inscription, inscription if isinstance(inscription, str) else inscription.id)

    def _photo(self, photo: Photo | str) -> Photo:
        return self._piece.find(Photo, photo if isinstance(photo, str) else photo.id)

    def _save(self, target: Inscription, columns: Sequence[Sequence[str]], new: list[Record],
              reason: str) -> Inscription:
        changed = dataclasses.replace(target, columns=tuple(tuple(c) for c in columns if c))
        self._piece.save(*new, changed, reason=reason)
        return changed

    @staticmethod
    def _outline(photo: Photo, outline: Sequence[Point]) -> tuple[Point, ...]:
        """Outline clipped to the photo; raises ZoneError when nothing of it lies inside."""
        try:
            points = [(float(x), float(y)) for x, y in outline]
        except (TypeError, ValueError) as error:
            raise ZoneError("A zone needs points (x, y)", photo.title, "draw it again") from error
        if len(points) < 3 or any(p != p or abs(p) == float("inf") for xy in points for p in xy):
            raise ZoneError("A zone needs at least three points", photo.title, "draw it again")
        # A hand slips over the edge of the photo; the part inside is what was meant.
        clipped = tuple((min(max(x, 0.0), float(photo.width)), min(max(y, 0.0), float(photo.height)))
                        for x, y in points)
        _, _, width, height = Zone(photo.id, clipped).box
        if width < LEAST_SIZE or height < LEAST_SIZE:
            raise ZoneError("The zone lies outside the photo or is too small", photo.title or photo.file,
                            f"draw it inside the {photo.width} x {photo.height} pixels of the photo")
        return clipped

    def _where(self, zone: str) -> tuple[Inscription, int, int]:
        """Inscription, column and place of the last character that lies in a zone."""
        inside = {c.id for c in self._piece.contents.characters if zone in c.zones}
        for inscription in self._piece.contents.inscriptions:
            for k in range(len(inscription.columns) - 1, -1, -1):
                column = inscription.columns[k]
                for i in range(len(column) - 1, -1, -1):
                    if column[i] in inside:
                        return inscription, k, i
        raise ZoneError("This zone is in no column", zone, "draw the zone again")

    def _among(self, target: Inscription, rows: Sequence[Sequence[tuple[Zone, str]]]) -> list[list[str]]:
        """The order of an inscription with rows of new zones put where they stand among its columns."""
        olds = [list(c) for c in target.columns]
        first = {id(column): [*column] for column in olds}  # places are counted in the columns as they were
        order = list(olds)
        for row in rows:
            places = [self._place(target, zone) for zone, _ in row]
            if all(is_new for _, _, is_new in places):
                index = places[0][0]
                before = next((i for i, c in enumerate(order) if index < len(olds) and c is olds[index]), len(order))
                order.insert(before, [c for _, c in row])
                continue
            kept = next(column for column, _, is_new in places if not is_new)
            for (_, character), (column, at, is_new) in zip(row, places, strict=True):
                home = olds[kept if is_new else column]
                former = first[id(home)]
                home.insert(len(home) if is_new or at is None or at >= len(former) else home.index(former[at]),
                            character)
        return order

    def _place(self, target: Inscription, zone: Zone) -> tuple[int, int | None, bool]:
        """Column and place for a zone by where it lies: the column it overlaps, else a new one."""
        contents = self._piece.contents
        characters = {c.id: c for c in contents.characters}
        home = self._photo(zone.photo)
        on = {z.id: z for z in self._surfaces.zones_on(home)}

        def read(box: Box) -> Box:  # columns count from the right of what is read, not of what was taken
            return (home.width - box[0] - box[2], *box[1:]) if home.mirrored else box

        x, y, w, h = read(zone.box)
        middle, centre = x + w / 2, y + h / 2
        best: tuple[float, int] | None = None
        rights = []
        for k, column in enumerate(target.columns):
            boxes = [read(on[z].box) for c in column if c in characters for z in characters[c].zones if z in on]
            if not boxes:
                # Signs without a zone on this photo have no place: their column counts as standing to the right of
                # all.
                rights.append(float("inf"))
                continue
            left, right = min(b[0] for b in boxes), max(b[0] + b[2] for b in boxes)
            rights.append((left + right) / 2)
            # Columns sway: a sign a quarter of its width beside still belongs to the column.
            if left - w * 0.25 <= middle <= right + w * 0.25:
                off = abs(middle - (left + right) / 2)
                if best is None or off < best[0]:
                    best = (off, k)
        if best is None:
            return sum(1 for r in rights if r > middle), None, True
        column = target.columns[best[1]]
        for i, c in enumerate(column):
            if c in characters and characters[c].zones:
                there = on.get(characters[c].zones[0])
                if there is not None and centre < there.box[1] + there.box[3] / 2:
                    return best[1], i, False
        return best[1], None, False
