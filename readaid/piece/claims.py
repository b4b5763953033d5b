"""What a reading may claim: which of its signs are the reader's, which were supplied or read from shape alone, and what
of it may be kept.

Conventions: ``unread`` holds the places (0-based) of the signs that shape spoke for in a search, none where it was not
asked. What nobody judged is a proposal: it is told wherever the reading is, and no attempt keeps it as its reader's.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Set

from readaid.core.character import DESCRIBED, Character, Inscription, Text
from readaid.core.confidence import Damage
from readaid.core.contents import Contents
from readaid.core.errors import OptionError
from readaid.core.lattice import Reason
from readaid.core.photo import OUTSIDE_TEXT, Zone
from readaid.core.reading import Reading


def unjudged(character: Character) -> bool:
    """Whether shape may speak for a sign: it has a zone and no candidate, nothing is held fast, and it is not lost."""
    return bool(character.zones and not character.candidates and not character.fixed
                and character.damage is not Damage.LOST)


#: Note of a zone in which nothing was seen; it goes when the zone is mended or found right.
GUESS = "a guess: nothing is to be seen here, but the pitch of its neighbours asks for a sign"
#: A proposed kind counts from this probability on. Figures and dirt stay until the reader says so: a worn に proposed
#: as no writing and left out costs more than a scratch that is shown, and the search leaves zones out by itself.
COUNTS = {"monogram": 0.5, "seal": 0.5}


def outside_text(zone: Zone) -> bool:
    """Whether a zone stands outside every text: said to be a monogram, seal, figure or no writing, or proposed as a
    monogram or a seal.

    >>> [outside_text(Zone("p", (), kind="seal", kind_share=share)) for share in (0.9, 0.4, None)]
    [True, False, True]
    """
    if zone.kind_share is None:
        return zone.kind in OUTSIDE_TEXT
    return zone.kind_share >= COUNTS.get(zone.kind, 2.0)


def silent(contents: Contents, inscription: Inscription) -> frozenset[str]:
    """Signs of an inscription that enter no text of it: all their zones are a monogram's or a seal's, or no writing.

    Whoever drew, imported or merged them: nothing is read there and nothing is supplied. What a reader described (花押,
    印) is no text and stays; in the text of a seal its own signs are read.
    """
    monograms = {s.zone for s in contents.specimens if s.what == "monogram"}
    own = inscription.kind is Text.SEAL
    apart = {z.id for z in contents.zones
             if z.id in monograms or (outside_text(z) and not (own and z.kind == "seal"))}
    held = set(inscription.characters)
    return frozenset(k.id for k in contents.characters
                     if k.id in held and k.zones and apart.issuperset(k.zones)
                     and not any(c.character in DESCRIBED for c in k.candidates))


def anything_said(signs: Iterable[Character]) -> bool:
    """Whether a reader has said anything of any sign; where not, nothing is read and nothing is shown.

    >>> anything_said([Character(zones=("z",))])
    False
    """
    return any(k.candidates or k.fixed for k in signs)


def unread_places(signs: Iterable[Character]) -> frozenset[int]:
    """Places of the signs that shape may speak for."""
    return frozenset(at for at, k in enumerate(signs) if unjudged(k))


def from_shape(reading: Reading, unread: Set[int]) -> dict[int, str]:
    """What a reading takes the signs for that only shape spoke for, by place."""
    return {at: sign for at, sign in enumerate(reading.chosen) if sign and at in unread}


def not_judged(reading: Reading, unread: Set[int]) -> frozenset[int]:
    """Places of all that nobody judged: supplied from the language, or read from shape alone."""
    return frozenset(r.at for r in reading.restored) | frozenset(from_shape(reading, unread))


def mostly_machine(reading: Reading, signs: int, unread: Set[int] = frozenset()) -> bool:
    """Whether more than half of a reading of ``signs`` signs is nobody's judgement."""
    return 2 * len(not_judged(reading, unread)) > signs


def shape_note(reading: Reading, unread: Set[int], named: bool = True) -> str:
    """How many signs of a reading nobody has judged, and which if ``named``; "" if there is none."""
    found = from_shape(reading, unread)
    if not found:
        return ""
    signs = ", ".join(f"{sign} at {at + 1}" for at, sign in found.items())
    return (f"{len(found)} sign{'' if len(found) == 1 else 's'} from shape alone, judged by nobody: "
            f"a proposal to check sign by sign{f' ({signs})' if named else ''}.")


def to_keep(reading: Reading, unread: Set[int]) -> Reading:
    """A reading as it may be written down: signs from shape stay unread in it, and its reasons say what was proposed.

    What an attempt chose for a sign counts as its reader's judgement, in the edition and where readers are compared.
    """
    found = from_shape(reading, unread)
    if not found:
        return reading
    chosen = tuple("" if at in found else sign for at, sign in enumerate(reading.chosen))
    # Said first among the reasons, where whoever reads the attempt later looks first.
    told = Reason("from shape", note=shape_note(reading, unread))
    return dataclasses.replace(reading, chosen=chosen, written="".join(c or "?" for c in chosen),
                               reasons=(told, *reading.reasons))


def check_keeping(reading: Reading, signs: int, unread: Set[int], seen: bool) -> None:
    """Raise OptionError where a reading made mostly by the machine would be kept without the reader having said so."""
    if mostly_machine(reading, signs, unread) and not seen:
        n = len(not_judged(reading, unread))
        raise OptionError(f"{n} of {signs} signs are supplied by the machine: nobody has judged them",
                          cure="enter what you see of them, or say that you keep it as a proposal")
