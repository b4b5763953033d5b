"""To which body of writing signs belong: parted from a verse as a signature, a seal, another inscription, or as none.

Conventions: what was entered for a sign goes with it. A *monogram* is a described sign outside any text: its zone
becomes a specimen and leaves the columns; a *damaged place* becomes a region of the condition, whose cause and advice
are said afterwards. What the reader says of a zone takes the place of what was proposed. Each call is one gesture.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from readaid.core.character import Character, Inscription, Text
from readaid.core.condition import Region
from readaid.core.contents import Record
from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Photo, Zone
from readaid.core.specimen import Specimen
from readaid.piece.layout import forms_of

if TYPE_CHECKING:
    from readaid.piece.open_piece import OpenPiece

#: What zones can be said to be, and the words for it.
KINDS = {"signature": "signature", "monogram": "monogram", "seal": "seal", "other": "another inscription",
         "writing": "part of the text", "nothing": "not writing", "damage": "a damaged place"}


def allot(piece: OpenPiece, zones: Sequence[str], what: str) -> Inscription | None:
    """Say what some zones are; returns the inscription they now belong to, None for a monogram or no writing.

    Signs go into the signature (or seal) that stands on their photograph already, else into a new one; "other" always
    begins a new one. Raises OptionError for zones that are not there and for an unknown ``what``.
    """
    if what not in KINDS:
        raise unknown_option("kind of mark", what, KINDS)
    return piece.once(lambda: _allot(piece, zones, what))


def _allot(piece: OpenPiece, zones: Sequence[str], what: str) -> Inscription | None:
    contents = piece.contents
    chosen = [z for z in contents.zones if z.id in set(zones)]
    if not chosen:
        raise OptionError("No zone is chosen", cure="choose zones on the photograph first")
    ids = {z.id for z in chosen}
    signs = {k.id: k for k in contents.characters if set(k.zones) & ids}
    ordered = [[c for c in column if c in signs] for i in contents.inscriptions for column in i.columns]
    moving = [column for column in ordered if column]
    if what in ("nothing", "damage"):
        gone = ids | {k for k, sign in signs.items() if set(sign.zones) <= ids}
        parted = [dataclasses.replace(k, zones=tuple(z for z in k.zones if z not in ids)) for k in signs.values()
                  if not set(k.zones) <= ids]
        marked = [Region(z.photo, z.outline) for z in chosen] if what == "damage" else []
        gone |= forms_of(contents, ids)
        piece.save(*marked, *parted, *_without(contents.inscriptions, gone), withdraw=sorted(gone),
                   reason="said to be damage" if marked else "said not to be writing")
        return None
    said = {"other": "writing"}.get(what, what)
    told = [dataclasses.replace(z, kind=said, kind_share=None) for z in chosen
            if (z.kind, z.kind_share) != (said, None)]
    if what == "writing":
        return _into_text(piece, chosen, told, set(signs))
    if what == "monogram":
        specimens = [Specimen(zone=z.id, photo=z.photo) for z in chosen
                     if not any(s.zone == z.id for s in contents.specimens)]
        piece.save(*told, *specimens, *_without(contents.inscriptions, set(signs)), reason="said to be a monogram",
                   withdraw=sorted(signs))
        return None
    kind = {"signature": Text.SIGNATURE, "seal": Text.SEAL}.get(what, Text.UNKNOWN)
    home = chosen[0].photo
    target = next((i for i in contents.inscriptions if i.kind is kind and i.photo == home
                   and not set(i.characters) <= set(signs)), None) if what != "other" else None
    target = target or Inscription(kind=kind, photo=home)
    bare = [Character(zones=(z.id,)) for z in chosen if not any(z.id in k.zones for k in contents.characters)]
    columns = [*moving, *([[k.id for k in bare]] if bare else [])]
    kept = tuple(tuple(c for c in column if c not in signs) for column in target.columns)
    made = dataclasses.replace(target, columns=tuple(c for c in (*kept, *map(tuple, columns)) if c))
    others = [i for i in contents.inscriptions if i.id != target.id]
    # Said to be a monogram before, a zone was made a specimen and lost its sign: else the new sign would enter no text.
    apart = sorted(forms_of(contents, {z for k in bare for z in k.zones}))
    piece.save(*told, *bare, *_without(others, set(signs)), made, withdraw=apart, reason=f"said to be {KINDS[what]}")
    return made


def _into_text(piece: OpenPiece, chosen: Sequence[Zone], told: Sequence[Zone], signs: set[str]) -> Inscription:
    """Zones that stood outside every text get their place by where they lie; what stands in one already stays there."""
    contents = piece.contents
    texts = [i for i in contents.inscriptions if i.photo == chosen[0].photo
             and i.kind not in (Text.SIGNATURE, Text.SEAL)]
    held = next((i for i in contents.inscriptions if signs & set(i.characters)), None)
    target = held or (texts[0] if texts else piece.layout.inscription(Text.UNKNOWN, piece.find(Photo, chosen[0].photo)))
    mine = {z for k in contents.characters for z in k.zones}
    piece.save(*told, reason="said to be part of the text", withdraw=sorted(forms_of(contents, {z.id for z in chosen})))
    bare = [dataclasses.replace(z, kind="writing", kind_share=None) for z in chosen if z.id not in mine]
    return piece.layout.draw_columns(target.id, chosen[0].photo, [[z] for z in bare]) if bare else target


def _without(inscriptions: Iterable[Inscription], gone: set[str]) -> list[Record]:
    """The inscriptions that hold some of the characters, without them."""
    changed: list[Record] = []
    for i in inscriptions:
        if gone & set(i.characters):
            columns = (tuple(c for c in column if c not in gone) for column in i.columns)
            changed.append(dataclasses.replace(i, columns=tuple(c for c in columns if c)))
    return changed
