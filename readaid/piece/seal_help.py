"""Help with seal script, which is not read here: a grid of positions, sketched components, names to look for.

Conventions
-----------
* A seal is read down the right column first; places are counted from 1, columns from the right.
* A sketch names the components that the reader sees in a place ("氵 可"), in any form the search by part knows.
* What is offered are characters already met: in the names of this piece's persons, in its signatures and in the
  makers of a school, and the words that close a seal (之印). They are things to look for, never a reading: without one
  that fits, a place is "unread", and what fits stays unread until the reader says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from readaid.core.contents import Contents
from readaid.core.errors import OptionError
from readaid.core.person import Person
from readaid.glyphs import parts
from readaid.script.kana import is_kanji
from readaid.script.signs import fold

#: What closes the text of a seal: common practice, no source.
CLOSING = ("印", "章", "之", "氏", "信", "私")
#: Most rows and columns of a seal's grid.
MOST = 6
UNREAD = "unread"


@dataclass(frozen=True, slots=True)
class Offered:
    """A character to look for, and where it was met."""

    sign: str
    met: str


@dataclass(frozen=True, slots=True)
class SealPlace:
    """One place of the grid: what was sketched there, what to look for, and in words how it stands."""

    column: int
    row: int
    sketch: tuple[str, ...]
    offered: tuple[Offered, ...]
    words: str


def places(columns: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """(column, row) of each place in reading order; ``columns`` are the characters of each column from the right.

    Raises OptionError for no grid of 1 to ``MOST`` columns of 1 to ``MOST`` places.

    >>> places([2, 2])
    ((1, 1), (1, 2), (2, 1), (2, 2))
    """
    if not 1 <= len(columns) <= MOST or not all(1 <= n <= MOST for n in columns):
        raise OptionError("A seal has a few places", repr(list(columns)), f"give 1 to {MOST} columns of 1 to {MOST}")
    return tuple((c, r) for c, n in enumerate(columns, 1) for r in range(1, n + 1))


def sketched(columns: str, sketch: str) -> tuple[list[int], dict[tuple[int, int], tuple[str, ...]]]:
    """A grid and its sketches as a reader types them; raises OptionError where they are no numbers.

    >>> sketched("2 2", "1.1 木; 2.1 氵 可")
    ([2, 2], {(1, 1): ('木',), (2, 1): ('氵', '可')})
    """
    try:
        grid = [int(n) for n in columns.split()]
        parts = {}
        for entry in filter(None, (e.split() for e in sketch.replace("；", ";").split(";"))):
            column, _, row = entry[0].partition(".")
            parts[int(column), int(row)] = tuple(entry[1:])
    except ValueError:
        raise OptionError("A seal's places are numbers", f"{columns} / {sketch}",
                          "columns as '2 2', a sketch as '1.2 木' (column 1 from the right, place 2)") from None
    return grid, parts


def met(contents: Contents, makers: Iterable[Person] = ()) -> tuple[Offered, ...]:
    """Characters to look for: of this piece's names and signatures first, then of a school's makers, then closings."""
    found: dict[str, str] = {}

    def note(text: str, where: str) -> None:
        for sign in text:
            if is_kanji(sign):
                found.setdefault(sign, where)

    for person in contents.persons:
        for name in (person.name, *person.aliases, *(n.name for n in person.names)):
            note(name, f"in the name {name} on this piece")
    for signature in contents.signatures:
        for part in signature.parts:
            if part.kind in ("name", "art name", "family", "school", "usual name"):
                note(part.text, f"in this piece's signature ({part.text})")
    for person in makers:
        for name in (person.name, *person.aliases):
            note(name, f"in the name {name} of the school")
    for sign in CLOSING:
        found.setdefault(sign, "closes the text of seals")
    return tuple(Offered(sign, where) for sign, where in found.items())


def look_for(contents: Contents, columns: Sequence[int],
             sketches: Mapping[tuple[int, int], Sequence[str]] | None = None,
             makers: Iterable[Person] = ()) -> tuple[SealPlace, ...]:
    """Each place of a seal with what to look for there.

    Parameters
    ----------
    contents: of the piece. columns: characters of each column, from the right.
    sketches: components seen in a place, by (column, row). makers: of a school, whose names may stand there too.

    Raises OptionError for no grid, or a sketch outside it.
    """
    grid, sketched = places(columns), dict(sketches or {})
    if outside := [place for place in sketched if place not in grid]:
        raise OptionError("The sketch stands outside the seal", repr(outside[0]), "columns count from the right")
    offered = met(contents, makers)
    return tuple(_place(place, tuple(sketched.get(place, ())), offered, place == grid[-1]) for place in grid)


def _place(place: tuple[int, int], sketch: tuple[str, ...], offered: Sequence[Offered], last: bool) -> SealPlace:
    fits = tuple(o for o in offered if sketch and all(holds(o.sign, s) for s in sketch)) if sketch else ()
    if fits:
        words = f"{UNREAD}; look whether it is " + ", ".join(f"{o.sign} ({o.met})" for o in fits[:4])
    elif sketch:
        words = f"{UNREAD}; none of the characters met so far has {' and '.join(sketch)}"
    else:
        words = f"{UNREAD}; nothing is sketched here" + (", and 印 or 章 often stands last" if last else "")
    return SealPlace(*place, sketch, fits, words)


def holds(sign: str, part: str) -> bool:
    """Whether a character has a part: by the open table of parts where it is installed, else by its radical.

    >>> holds("江", "氵"), holds("江", "木"), holds("印", "印")
    (True, False, True)
    """
    return fold(sign) == fold(part) or sign in _having(part)


@lru_cache(maxsize=64)
def _having(part: str) -> frozenset[str]:
    """Characters with a part; none where no such part is known, since a sketch may be of anything."""
    try:
        return frozenset(p.character for p in parts.by_part(part))
    except OptionError:
        return frozenset()
