"""A short name for a reading that stays: which piece, which attempt, at which revision of the register.

Conventions: ``8 signs of the piece's id - 8 of the attempt's id - r and the revision's number``, as in
``1f0c2a9b-77d03e51-r41``. Ids are random, so eight signs tell the attempts of a collection apart (one chance in ten
thousand that two of 900 begin alike); a command that finds several says so. Revisions are never rewritten, so what was
quoted can be seen again as it stood.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from readaid.core.errors import OptionError

_FORM = re.compile(r"(?<![0-9a-z])([0-9a-f]{8})-([0-9a-f]{8})-r([1-9][0-9]{0,9})(?![0-9a-z])")


@dataclass(frozen=True, slots=True)
class Citation:
    """Beginnings of the ids of a piece and an attempt, and the number of the revision."""

    piece: str
    attempt: str
    revision: int

    def __str__(self) -> str:
        return f"{self.piece}-{self.attempt}-r{self.revision}"


def cite(piece: str, attempt: str, revision: int) -> Citation:
    """The citation of an attempt as it stands at a revision.

    >>> str(cite("1f0c2a9b-0000-4000-8000-000000000000", "77d03e51-0000-4000-8000-000000000000", 41))
    '1f0c2a9b-77d03e51-r41'
    """
    return Citation(piece[:8], attempt[:8], revision)


def parse(text: str) -> Citation:
    """The citation in a text; OptionError where it is none.

    >>> parse(" 1f0c2a9b-77d03e51-r41. ").revision
    41
    """
    found = _FORM.search(text.lower())
    if found is None:
        raise OptionError(f"'{text[:60]}' is no citation of a reading", cure="give one such as 1f0c2a9b-77d03e51-r41")
    return Citation(found[1], found[2], int(found[3]))
