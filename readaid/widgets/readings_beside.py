"""Two readings beside each other: what each rests on, in one unit, and the signs in which they part.

Conventions: causes are those of ``core.reading.Reading.costs``; a difference of costs is told as how many times one
reading is likelier by that cause alone (cost = -700 ln p). The product of all is the ratio of the whole.
"""

from __future__ import annotations

import math
from typing import Any

from readaid.core.character import Character
from readaid.core.confidence import word
from readaid.core.lattice import COST_FACTOR
from readaid.core.reading import Reading
from readaid.core.texts import language, told, wording
from readaid.widgets.panel import Part

#: Words for the causes, in the order they are told.
CAUSES = {"signs": "your sureness of the signs", "shape": "the shape of unread signs", "rules": "spelling and voicing",
          "kanji": "readings of kanji", "restored": "what was supplied", "misread": "signs taken for others",
          "verse": "the ear of old verse", "words": "words", "grammar": "grammar", "metre": "metre",
          "form": "verse form"}
#: A cause that favours neither by more than this is told as even.
EVEN = 1.05


def beside(a: Reading, b: Reading, signs: list[Character]) -> dict[str, Any]:
    """Reading ``a`` and ``b`` for the screen: rows of causes with the side each favours, and the signs that differ."""
    mine, theirs = dict(a.costs), dict(b.costs)
    rows = [_row(told(words), theirs.get(cause, 0.0) - mine.get(cause, 0.0))
            for cause, words in CAUSES.items() if cause in mine or cause in theirs]
    rows.append(_row(wording("all together"), sum(theirs.values()) - sum(mine.values())))
    return {"rows": rows, "signs": parting(a, b, signs)}


def _row(words: str, cost: float) -> list[str]:
    """A cause, the factor by which it favours a side, and the side: "a", "b" or "" for neither."""
    times = math.exp(min(abs(cost) / COST_FACTOR, 50.0))
    if times < EVEN:
        return [words, wording("even"), ""]
    factor = wording("over 1,000 times") if times > 1000 else wording(
        "{0} times", f"{times:.0f}" if times >= 10 else f"{times:.1f}")
    return [words, factor, "a" if cost > 0 else "b"]


def parting(a: Reading, b: Reading, signs: list[Character]) -> list[list[str]]:
    """Signs that the two take differently: number, what each takes it for and how sure you are of that."""
    found = []
    for at, sign in enumerate(signs):
        one = a.chosen[at] if at < len(a.chosen) else ""
        two = b.chosen[at] if at < len(b.chosen) else ""
        if one == two:
            continue
        sure = {c.character: c.confidence for c in sign.candidates}
        named = [told(word(sure[x])) if x in sure else wording("not entered") for x in (one, two)]
        found.append([str(at + 1), f"{one or '–'} {named[0]}", f"{two or '–'} {named[1]}"])
    return found


def next_photograph(numbers: list[str], advice: list[str]) -> str:
    """What a further photograph could settle: the signs in which the readings part, and the light that lacks there."""
    if not numbers:
        return wording("The readings take every sign alike: a photograph cannot part them, only the language can.")
    at = wording("Look again at sign {0}: there the two part.", wording(", ").join(numbers))
    light = next((told(a) for a in advice if "no light from" in a or "one light only" in a or "raking light" in a), "")
    return f"{at} {light}".strip()


class LaidBeside(Part):
    """Held by :class:`readaid.widgets.reading_panel.ReadingPanel`."""

    def __init__(self, panel: Any) -> None:
        super().__init__(panel)
        self.other = 1  # the reading that is laid beside the first
        self._held: tuple[Any, dict[str, Any]] | None = None

    def shown(self) -> dict[str, Any] | None:
        """The first reading beside another one, with what each rests on; None where there are no two."""
        readings = self.panel.readings
        if len(readings) < 2:
            return None
        other = min(self.other, len(readings) - 1)
        first, second = readings[0], readings[other]
        key = (first, second, language())
        if self._held is None or self._held[0] != key:  # the advice looks at every photograph: once a pair of readings
            found = beside(first, second, self.panel.desk.ordered())
            advice = self.panel.desk.piece.advice() if found["signs"] else []
            self._held = (key, {**found, "other": other, "first": "　".join(first.lines),
                                "second": "　".join(second.lines),
                                "next": next_photograph([row[0] for row in found["signs"]], advice)})
        return self._held[1]

    def do_beside(self, other: int) -> None:
        """Lay another reading beside the first."""
        self.other = max(1, int(other))
        self.refresh()
