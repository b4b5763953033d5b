"""A school's form on the tracing sheet: the machine's proposal, mended by hand, and the counts told of it.

Conventions: the sheet is the bench's (``tracing_panel.js``); points are pixels of the specimen's whole picture,
which is shown smaller where it is large. A proposal is kept and counted only when the reader keeps it; whether it was
mended stands in the tracing's note, so that nobody takes a proposal looked over for one drawn by hand.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from typing import Any

import traitlets as t
from PIL import Image

from readaid.core.errors import OptionError
from readaid.core.photo import Tracing
from readaid.core.texts import wording
from readaid.forms.tracing_counts import count_tracing
from readaid.schools.album import School
from readaid.widgets.panel import Panel, module_text, style_text

#: The longer side of the picture under the sheet, in pixels.
LONGEST = 900
LOOKED_OVER = "proposal looked over, nothing mended"
#: What is told of a tracing, in this order.
COUNTED = ("strokes", "dots", "crossings", "closed_spaces", "ends")


class FormTracing(Panel):
    """The tracing of one specimen of a school; ``kept`` is called after every keeping."""

    _esm = module_text("tracing_panel.js")
    _css = style_text("tracing_panel.css")
    crop = t.Bytes(b"").tag(sync=True)

    def __init__(self, school: School, specimen: str, kept: Callable[[], None]) -> None:
        self.school, self.specimen, self.kept = school, specimen, kept
        self.turn = 0
        self.strokes: list[list[tuple[float, float]]] = []
        self.size = (1, 1)
        self.proposed = False
        super().__init__()
        self.lay(specimen)

    def lay(self, specimen: str) -> None:
        """Lay a specimen on the sheet: its kept tracing, else what the machine proposes.

        Raises OptionError for an unknown specimen.
        """
        tracing = self.school.tracings.of(specimen)
        self.specimen = specimen
        self.turn += 1
        self.strokes = [list(s) for s in tracing.strokes] if tracing is not None and tracing.unit == "px" else []
        self.proposed = False
        picture = next(str(p) for i, p in self.school.specimens["picture"].items() if i == specimen)
        pixels = self.school.images.pixels(picture)
        self.size = (int(pixels.shape[1]), int(pixels.shape[0]))
        self.crop = _small(pixels)
        self.refresh()
        if tracing is None:
            self.do_propose()

    def refresh(self) -> None:
        """Show the specimen with its strokes and what they count."""
        self.state = {
            "ready": True, "zone": self.specimen, "turn": self.turn, "width": self.size[0], "height": self.size[1],
            "strokes": self.strokes, "kept": 0, "locked": False, "look": None,
            "words": told(self.school.tracings.of(self.specimen)),
        }

    # --- asked -------------------------------------------------------------------------
    def do_propose(self) -> None:
        """Lay the machine's strokes on the sheet; nothing is kept."""
        asked = self.specimen

        def done(lines: Any) -> None:
            if asked != self.specimen:  # the reader went on to another form meanwhile
                return
            self.turn += 1
            self.strokes = [[(float(x), float(y)) for x, y in line] for line in lines]
            self.proposed = True
            self.refresh()
            self.say(wording("{0} strokes proposed; rub out, join or draw what is wrong, then keep the tracing.",
                             len(self.strokes)))

        self.later(lambda: self.school.tracings.propose(asked), done)

    def do_keep(self, strokes: list[list[list[float]]], mine: bool = True) -> None:
        """Keep the strokes as the reader's; ``mine`` where something was drawn or mended."""
        if not all(math.isfinite(v) for line in strokes for point in line for v in point):
            raise OptionError("A point of the tracing is no number", cure="draw the stroke again")
        former = self.school.tracings.of(self.specimen)
        # kept again without a change, a tracing stays what it was: mended once, it is not merely looked over now
        note = "" if mine else LOOKED_OVER if self.proposed or former is None else former.note
        lines = [[(round(float(x), 1), round(float(y), 1)) for x, y in line] for line in strokes]
        made = self.school.tracings.keep(self.specimen, lines, note=note)
        self.strokes = [list(s) for s in made.strokes]
        self.turn += 1
        self.proposed = False
        self.refresh()
        self.kept()
        self.say(told(made))

    def do_step(self, by: int) -> None:
        """Lay the next form of the school on the sheet, or an earlier one."""
        ids = [str(i) for i in self.school.specimens.index]
        self.lay(ids[(ids.index(self.specimen) + by) % len(ids)])

    def do_undo(self) -> None:
        """The sheet takes its own steps back; what was kept is taken back on the school's panel."""
        self.say(wording("Nothing to take back."))

    def do_redo(self) -> None:
        """The sheet does its own steps again."""
        self.say(wording("Nothing to do again."))


def told(tracing: Tracing | None) -> str:
    """What a kept tracing counts and whose it is; without one, that nothing is counted."""
    if tracing is None:
        return wording("Not counted yet: a count is told of a tracing that you kept.")
    counts = count_tracing(tracing.strokes)
    numbers = [getattr(counts, name) for name in COUNTED]
    if tracing.note == LOOKED_OVER:
        return wording("Counted from the machine's tracing, looked over by hand: strokes {0}, dots {1}, crossings {2}, "
                       "closed spaces {3}, ends {4}.", *numbers)
    return wording("Counted from a tracing by hand: strokes {0}, dots {1}, crossings {2}, closed spaces {3}, ends {4}.",
                   *numbers)


def _small(pixels: Any) -> bytes:
    picture = Image.fromarray(pixels).convert("RGB")
    picture.thumbnail((LONGEST, LONGEST))
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=90)
    return buffer.getvalue()
