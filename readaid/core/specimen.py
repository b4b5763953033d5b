"""Specimens: one monogram or name character as it stands; and comparisons of two.

Conventions: counts are of what is seen on the form; ``descriptor`` is a tuple
of floats made by ``forms``, its maker named in ``descriptor_kind``. A likeness
(0..1) is evidence of form, never of authorship.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from readaid.core.identity import new_id
from readaid.core.school import Origin

#: Ise Sadatake's old classification of monograms, and none of it.
KAO_KINDS = ("二合体", "一字体", "草名体", "別用体", "明朝体", "unclassified")


@dataclass(frozen=True, slots=True)
class FormCounts:
    """What can be counted on a form; proportions is width / height. Flourishes are told from tracings only."""

    proportions: float
    strokes: int
    ends: int
    crossings: int
    closed_spaces: int
    dots: int
    flourishes: int | None = None


@dataclass(frozen=True, slots=True)
class Specimen:
    """One form: where it lies, whose it is said to be, what was counted by machine and by hand."""

    zone: str | None = None
    photo: str | None = None
    image: str = ""  # file in the piece folder when there is no photo with zones
    person: str | None = None  # the owner as claimed or accepted; None: not known
    inscription: str | None = None
    what: str = "monogram"  # or the character of a name
    kind: str = "unclassified"
    counted: FormCounts | None = None
    corrected: FormCounts | None = None
    year: int | None = None
    age: int | None = None
    hand: str = ""
    source: str | None = None
    rights: str = ""
    note: str = ""
    descriptor: tuple[float, ...] = ()
    descriptor_kind: str = ""
    sha256: str = ""  # of the picture in a school, so that one form met twice is one specimen
    origins: tuple[Origin, ...] = ()  # every piece and publication it was met in
    id: str = field(default_factory=new_id)


@dataclass(frozen=True, slots=True)
class ComparisonRecord:
    """A comparison of two specimens as it was made."""

    a: str
    b: str
    likeness: float
    parts: tuple[tuple[str, float], ...] = ()
    transform: tuple[float, ...] = ()  # 6 numbers, row-major 2 x 3, maps b onto a
    population: int = 0
    rank: int | None = None
    note: str = ""
    id: str = field(default_factory=new_id)
    turn: str = "as it stands"  # how b was turned or mirrored first, one of forms.comparison.TURNS
    traced: tuple[str, ...] = ()  # which of "a" and "b" were compared as traced, not as photographed


@dataclass(frozen=True, slots=True)
class Example:
    """A crop labelled by the user, for nearest-example ranking; ``vector`` made by ``glyphs``."""

    character: str
    vector: tuple[float, ...]
    zone: str | None = None
    model: str = ""
    id: str = field(default_factory=new_id)
