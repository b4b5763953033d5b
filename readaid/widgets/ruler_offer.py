"""A ruler found in the photograph: told to the reader, and taken as the scale or as its check only when they say so.

Conventions: the figures on a ruler are not read, so what one mark stands for is the reader's word: millimetres as
found, or bu (10/33 mm x 10) where tens and fives mark sun. The offer belongs to one photograph and is not kept.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import Photo, Scale
from readaid.core.texts import wording
from readaid.script.lengths import UNITS
from readaid.widgets.panel import Part

if TYPE_CHECKING:
    from readaid.photo.ruler import Ruler

#: Uses of a ruler: as the scale, its marks being bu, or as the second length that checks the scale.
USES = ("scale", "bu", "check")


class Ruling(Part):
    """Held by :class:`readaid.widgets.photo_board.PhotoBoard`."""


    def __init__(self, panel: Any) -> None:
        super().__init__(panel)
        self.ruler: tuple[str, Ruler] | None = None
        self.rulers_sought: set[str] = set()

    def shown(self, photo: Photo) -> dict[str, Any]:
        """The offer for the shown photograph, and whether a ruler was looked for."""
        state: dict[str, Any] = {"ruler": None, "ruler_sought": photo.id in self.rulers_sought}
        if self.ruler is None or self.ruler[0] != photo.id:
            return state
        found = self.ruler[1]
        error = wording("under 0.1 %") if found.error < 0.001 else f"{found.error:.1%}".replace("%", " %")
        words = (wording(
            "1 mm is {0} pixels ({1} marks seen, error {2}). Look whether the yellow frame lies on the marks of a "
            "ruler. {3}",
            f"{found.px_per_mm:.1f}",
            found.marks,
            error,
            found.note)).strip()
        uses = [["scale", wording("Yes, use it as the scale")]]
        if found.unit == "mm":
            uses.append(["bu", wording("A ruler in sun and bu: its marks are bu")])
        if photo.scale is not None:
            off = found.px_per_mm * photo.scale.mm_per_pixel - 1
            told = wording("the same") if abs(off) < 0.005 else (
                wording("{0} longer", f"{abs(off):.1%}") if off > 0 else wording("{0} shorter", f"{abs(off):.1%}"))
            words = wording("{0} By the scale that is set it comes out {1}.", words, told)
            uses = [["check", wording("Check the scale with it")], ["scale", wording("New scale from it")], *uses[1:]]
        outline = [list(p) for p in self.panel.showing.turned_points(found.outline, photo)]
        state["ruler"] = {"words": words, "uses": uses, "outline": outline}
        return state

    def do_find_ruler(self) -> None:
        """Look for a ruler in the shown photograph."""
        photo = self.panel.shown_photo()
        self.rulers_sought.add(photo.id)

        def work(_step: Any) -> tuple[Ruler | None]:
            from readaid.photo.scale import ruler

            return (ruler(self.panel.desk.piece.pyramid(photo).level(0)),)

        def done(found: tuple[Ruler | None]) -> None:
            if found[0] is None:
                self.refresh()
                self.say(wording("No ruler with even marks was found: click both ends of a length you know."))
                return
            self.ruler = (photo.id, found[0])
            self.refresh()
            self.say(wording("A ruler was found: 1 mm is {0} pixels. Is it one?", f"{found[0].px_per_mm:.1f}"))

        self.panel.work.run(wording("Looking for a ruler …"), work, done)

    def do_use_ruler(self, use: str = "scale") -> None:
        """Take the ruler that was found as the scale, or as its check."""
        if use not in USES:
            raise unknown_option("use of the ruler", use, USES)
        photo = self.panel.shown_photo()
        if self.ruler is None or self.ruler[0] != photo.id:
            raise OptionError("No ruler is offered for this photograph", cure="look for one first")
        found = self.ruler[1]
        made: Scale = found.scale
        if use == "bu":
            made = dataclasses.replace(made, millimetres=made.millimetres * UNITS["bu"], what=f"{made.what}, bu")
        if use == "check" and photo.scale is not None:
            made = dataclasses.replace(photo.scale, check_a=made.a, check_b=made.b,
                                       check_millimetres=made.millimetres, check_what=made.what)
        self.ruler = None
        self.panel.keep_scale(photo, made)

    def do_leave_ruler(self) -> None:
        """What was found is no ruler, or is not wanted."""
        self.ruler = None
        self.refresh()
        self.say(wording("Left. Click both ends of a length you know instead."))
