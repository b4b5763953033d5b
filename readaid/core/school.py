"""What a school's own register holds beside persons and specimens: its title, where specimens come from, kept studies.

Conventions: a school outlives single pieces; a specimen taken from a piece keeps a link back (``Origin``), and the
piece stays whole without the school. Years are Western; likeness 0..1 is evidence of form, never of authorship.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from readaid.core.identity import new_id

ORIGINS = ("piece", "publication", "file")


@dataclass(frozen=True, slots=True)
class Origin:
    """One place where a specimen stands: a piece, a publication or a file. A specimen may have several."""

    kind: str  # one of ORIGINS
    title: str = ""  # the piece's title, or the citation
    address: str = ""  # folder or server of the piece as it was then, or the file's name
    piece: str = ""  # id of the piece
    record: str = ""  # id of the specimen or zone in that piece
    page: str = ""


@dataclass(frozen=True, slots=True)
class SchoolRecord:
    """The school itself, entered once."""

    title: str
    note: str = ""
    reader: str = ""
    rights: str = ""
    id: str = field(default_factory=new_id)


@dataclass(frozen=True, slots=True)
class StudyRecord:
    """A study as it was kept: which specimens, how they were compared, by which version, and what came out.

    ``likeness`` is the upper triangle of the matrix, row by row, without the diagonal: n (n - 1) / 2 numbers 0..1 in
    the order of ``specimens``. ``settings`` holds names and values of whatever could have been chosen otherwise.
    """

    title: str
    specimens: tuple[str, ...]
    likeness: tuple[float, ...] = ()
    settings: tuple[tuple[str, str], ...] = ()
    sentences: tuple[str, ...] = ()
    version: str = ""
    note: str = ""
    id: str = field(default_factory=new_id)
