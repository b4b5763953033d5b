"""The next photograph worth taking: from which side a lamp would show the strokes that the present ones leave dark.

Conventions
-----------
* Azimuths in degrees as in ``photo.lights``: 0 at the right, clockwise. A stroke has a direction, not a sense: 0 to
  180.
* A cut that runs along the light has no lit and no dark flank; one across it has both. What a lamp shows of a stroke is
  the sine between them; several lamps show what the best of them shows.
* Which directions the strokes of a sign have is asked of the forms of what it may be, weighed by their probability; a
  sign that shape is sure of asks for no lamp. Measured by ``tests.bench.lamps``: on worn cuts the second lamp named
  here leaves 0.9 in 100 signs fewer wrong than one from any other side (0.4 to 1.5; one lamp 16.5, the named second
  11.4); the lamp opposite the first is the least worth. For a third lamp no gain was shown, so none is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from readaid.glyphs.candidates import Weighed
from readaid.glyphs.stroke_directions import BINS, directions
from readaid.piece.lamps import SIDES

Floats = NDArray[np.float64]
#: Candidates of a sign whose strokes are asked for.
ASKED = 3
#: A sign surer than this asks for no lamp; one is told as opened by a lamp that gains it this much of what is missing.
SURE, OPENS = 0.7, 0.1
_MIDDLES = (np.arange(BINS) + 0.5) * np.pi / BINS


@dataclass(frozen=True, slots=True)
class NextLamp:
    """A side of ``lamps.SIDES``, and the places (0-based) of the signs it would open, the one that gains most first."""

    side: str
    signs: tuple[int, ...]

    @property
    def words(self) -> str:
        """One sentence.

        >>> NextLamp("top left", (6,)).words
        'A photograph with the lamp at the top left would open sign 7.'
        """
        numbers = [str(at + 1) for at in self.signs[:3]]
        told = numbers[0] if len(numbers) == 1 else f"{', '.join(numbers[:-1])} and {numbers[-1]}"
        return f"A photograph with the lamp at the {self.side} would open sign{'s' * (len(numbers) > 1)} {told}."


def shown(azimuth: float) -> Floats:
    """How much of a stroke of each direction a lamp shows, 0..1."""
    return np.asarray(np.abs(np.sin(_MIDDLES - np.radians(azimuth))), np.float64)


def gains(seen: Mapping[int, Weighed], lamps: Sequence[float]) -> dict[str, dict[int, float]]:
    """For each side where no lamp stands what it would add to each doubtful sign (0..1, by place)."""
    best = np.max([shown(a) for a in lamps], axis=0)
    free = {s: a for s, a in SIDES.items() if all(abs((a - b + 180) % 360 - 180) > 22.5 for b in lamps)}
    out: dict[str, dict[int, float]] = {side: {} for side in free}
    for at, own in seen.items():
        if not own.suggestions:
            continue
        asked = own.suggestions[:ASKED]
        strokes = np.sum([s.probability * np.array(directions(s.character)) for s in asked], axis=0)
        strokes = strokes / max(float(strokes.sum()), 1e-9)
        doubt = 1 - own.suggestions[0].probability
        for side, azimuth in free.items():
            out[side][at] = doubt * float((strokes * np.maximum(0, shown(azimuth) - best)).sum())
    return out


def named(seen: Mapping[int, Weighed], lamps: Sequence[float]) -> NextLamp | None:
    """The side worth a second photograph; None where every sign is sure, no lamp is known or there are several.

    ``seen``: what shape says under the present lamp, by place; ``lamps``: azimuths of the lamps there are.

    >>> named({}, [0.0]) is None
    True
    """
    doubtful = {at: own for at, own in seen.items() if own.suggestions and own.suggestions[0].probability < SURE}
    if not doubtful or len(lamps) != 1:
        return None
    each = gains(doubtful, lamps)
    side = max(each, key=lambda s: sum(each[s].values()))
    opened = sorted((at for at, g in each[side].items()
                     if g >= OPENS * (1 - doubtful[at].suggestions[0].probability)), key=lambda at: -each[side][at])
    return NextLamp(side, tuple(opened)) if opened else None
