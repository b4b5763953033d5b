"""Tree: the makers of a school from teacher to pupil, laid out as data and drawn as SVG with thumbnails.

Conventions: positions in columns and rows: generation 1 on top, ``x`` in units of one card from the left, ``y`` the
generation minus 1; pupils in the order of their years, then of the table. Thumbnails are Pillow images, shown 72 px
high.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape

from PIL import Image

from readaid.core.person import Person
from readaid.schools.makers import checked, year_of

CARD, HIGH, GAP = 132, 150, 34


@dataclass(frozen=True, slots=True)
class Place:
    """Where a maker stands: ``x`` in cards, ``y`` generation minus 1."""

    maker: Person
    x: float
    y: int


@dataclass(frozen=True, slots=True)
class Tree:
    """Places of all makers, and the lines from teacher to pupil as pairs of indices into ``places``."""

    places: tuple[Place, ...]
    lines: tuple[tuple[int, int], ...]

    def walk(self) -> list[Place]:
        """Every maker with their pupils behind them, depth first, as the tree stands from left to right."""
        pupils: dict[str | None, list[Place]] = {}
        for place in sorted(self.places, key=lambda p: p.x):
            pupils.setdefault(place.maker.teacher, []).append(place)
        out: list[Place] = []
        rest = pupils.get(None, [])[::-1]
        while rest:
            out.append(rest.pop())
            rest += pupils.get(out[-1].maker.id, [])[::-1]
        return out

    def svg(self, thumbnails: Mapping[str, Image.Image] | None = None) -> str:
        """The tree as SVG; ``thumbnails`` by the maker's id."""
        pictures = thumbnails or {}
        wide = int((max(p.x for p in self.places) + 1) * CARD) + 20
        high = (max(p.y for p in self.places) + 1) * (HIGH + GAP) + 10
        parts = []
        for a, b in self.lines:
            p, q = self.places[a], self.places[b]
            x0, y0 = 10 + (p.x + 0.5) * CARD, 6 + p.y * (HIGH + GAP) + HIGH
            x1, y1 = 10 + (q.x + 0.5) * CARD, 6 + q.y * (HIGH + GAP)
            middle = y1 - GAP / 2
            parts.append(f'<path d="M{x0:.1f} {y0}V{middle}H{x1:.1f}V{y1}" fill="none" stroke="#555"/>')
        for place in self.places:
            parts.append(self._card(place, pictures.get(place.maker.id)))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" role="img" '
            'font-size="12" '
            f'font-family="sans-serif"><title>Makers from teacher to pupil</title>{"".join(parts)}</svg>'
        )

    def _card(self, place: Place, picture: Image.Image | None) -> str:
        x, y = 10 + place.x * CARD + 6, 6 + place.y * (HIGH + GAP)
        middle = x + (CARD - 12) / 2
        maker = place.maker
        begin = maker.active_from or maker.born
        end = maker.active_to or maker.died
        years = f"{begin or '?'}–{end or '?'}" if begin or end else "no dates"
        inside = ""
        if picture is not None:
            small = picture.convert("RGB")
            small.thumbnail((216, 144))
            buffer = io.BytesIO()
            small.save(buffer, "PNG")
            data = base64.b64encode(buffer.getvalue()).decode()
            inside = (
                f'<image x="{x + 6}" y="{y + 8}" width="{CARD - 24}" height="92" href="data:image/png;base64,{data}">'
                f"<title>A form of {escape(maker.name)}</title></image>"
            )
        return (
            f'<g><rect x="{x}" y="{y}" width="{CARD - 12}" height="{HIGH}" rx="4" fill="white" stroke="#555"/>{inside}'
            f'<text x="{middle}" y="{y + 120}" text-anchor="middle" fill="#111">{escape(maker.name)}</text>'
            f'<text x="{middle}" y="{y + 138}" text-anchor="middle" fill="#444" font-size="11">{years}</text></g>'
        )

    def _repr_html_(self) -> str:
        return self.svg()


def tree_of(makers: Sequence[Person]) -> Tree:
    """Lay out a school; raises TableError if teachers run in a loop or are missing.

    >>> from readaid.schools.makers import read_makers
    >>> [(p.maker.name, p.x, p.y) for p in tree_of(read_makers("name,teacher\\nA,\\nB,A\\nC,A\\n")).places]
    [('A', 0.5, 0), ('B', 0.0, 1), ('C', 1.0, 1)]
    """
    people = checked(makers)
    pupils: dict[str | None, list[Person]] = {}
    for maker in people:
        pupils.setdefault(maker.teacher, []).append(maker)
    for row in pupils.values():
        row.sort(key=lambda m: year_of(m) if year_of(m) is not None else 9999)  # type: ignore[arg-type, return-value]
    x: dict[str, float] = {}
    y: dict[str, int] = {}
    free = 0.0

    def place(maker: Person, depth: int) -> None:
        nonlocal free
        own = pupils.get(maker.id, [])
        y[maker.id] = depth
        for pupil in own:
            place(pupil, depth + 1)
        if own:
            x[maker.id] = (x[own[0].id] + x[own[-1].id]) / 2
        else:
            x[maker.id], free = free, free + 1.0

    for founder in pupils.get(None, []):
        place(founder, 0)
    index = {m.id: i for i, m in enumerate(people)}
    return Tree(
        tuple(Place(m, x[m.id], y[m.id]) for m in people),
        tuple((index[m.teacher], index[m.id]) for m in people if m.teacher is not None),
    )
