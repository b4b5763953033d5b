"""Metre as a small machine: line, morae used, bare vowel seen; and what each word does to it.

Conventions
-----------
* A state is one number; state 0 is the start. ``Metre.moves(sound)`` gives for a
  word class the possible next states and their costs as arrays (states, choices); a
  choice that does not exist costs ``inf`` and points to state 0.
* A word class ``Sound`` says how many units (morae, or characters in Chinese
  verse) a word has, whether its first or a later mora is a bare あ い う お, and
  whether it is a particle or an ending, which seldom begins a line.
* Whether a line ends is decided when the next word begins: it goes on, it begins
  the next line, or it runs across (句またがり). Nothing is forbidden for good: text beyond the
  form and lines that are missing cost by the mora, so that every text has a path.
* Motoori Norinaga's observation (waka forms only): a surplus costs less where the line holds a bare vowel
  that does not begin it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon.costs import Costs
from readaid.script.verse_forms import Form

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Cap on surplus within a line; more only beyond the last line.
SURPLUS = 3
#: Cap on what may lack before a further line begins.
LACK = 3


@dataclass(frozen=True, slots=True, order=True)
class Sound:
    """What of a word matters to the metre."""

    units: int
    first_vowel: bool = False
    later_vowel: bool = False
    ending: bool = False


@dataclass(frozen=True, slots=True)
class State:
    """Line (0-based), units used in it, bare vowel seen in it (not as its first mora)."""

    line: int
    used: int
    vowel: bool


class Metre:
    """The machine of one form. ``None`` or a form without lines gives one state and no costs."""

    def __init__(self, form: Form | None, costs: Costs) -> None:
        self.form, self._costs = form, costs
        lines = form.lines if form else ()
        self.repeats = bool(form and form.repeats)
        if self.repeats:
            lines = lines[:1]
        self.lines = lines
        self.states: list[State] = [State(0, 0, False)]
        for number, length in enumerate(lines):
            # A line begins with its first word in it: only the first line is ever stood in with nothing used.
            self.states += [State(number, used, vowel) for used in range(number == 0, length + SURPLUS + 1)
                            for vowel in ((False, True) if form and form.bare_vowel else (False,))
                            if (number, used) != (0, 0)]
        self._index = {s: i for i, s in enumerate(self.states)}
        self._moves: dict[Sound, tuple[Ints, Floats]] = {}
        self.final = np.array([self._final(s) for s in self.states])

    def __len__(self) -> int:
        return len(self.states)

    def line_cost(self, line: int, used: int, vowel: bool) -> float:
        """Cost of a line of ``used`` units where the form asks for its own length."""
        over = used - self.lines[line]
        w = self._costs.weights
        if over > 0:
            # The first mora too many costs most: whoever has six where five belong meant it (字余り).
            cost = w["metre.over first"] + over * w["metre.over"]
            return max(0.0, cost + (w["metre.over vowel"] if vowel else 0.0))
        return -over * w["metre.under"]

    def _final(self, state: State) -> float:
        if not self.lines:
            return 0.0
        # A carved verse may stop short (5-7 of a hokku): it costs by the mora what is not there, and is never
        # refused.
        missing = 0 if self.repeats else sum(self.lines[state.line + 1:])
        return self.line_cost(state.line, state.used, state.vowel) + missing * self._costs.weights["metre.missing line"]

    def closing(self, line: int, used: int, vowel: bool = False) -> float:
        """Cost of a text that ends in this line after ``used`` units of it."""
        return self._final(State(line, used, vowel))

    def least(self, fewest: int, most: int) -> float:
        """A lower bound of the metre's cost for any text of ``fewest`` to ``most`` units in all."""
        if not self.lines or self.repeats:
            return 0.0
        total, w = sum(self.lines), self._costs.weights
        # Each line might hold a bare vowel that pays for its surplus; a bound must not be too high.
        over = (fewest - total) * w["metre.over"] + len(self.lines) * min(
            0.0, w["metre.over first"] + w["metre.over vowel"])
        return max(0.0, over, (total - most) * min(w["metre.under"], w["metre.missing line"]))

    def moves(self, sound: Sound) -> tuple[Ints, Floats]:
        """Next states and costs for a word class, both of shape (states, choices)."""
        if sound not in self._moves:
            found = [self._choices(s, sound) for s in self.states]
            width = max(map(len, found))
            target = np.zeros((len(found), width), dtype=np.int64)
            price = np.full((len(found), width), np.inf)
            for i, choices in enumerate(found):
                for j, (state, cost) in enumerate(choices):
                    target[i, j], price[i, j] = self._index[state], cost
            self._moves[sound] = target, price
        return self._moves[sound]

    def table(self, sounds: tuple[Sound, ...]) -> tuple[Ints, Floats]:
        """The moves of several classes in one table, shape (classes, states, choices)."""
        moves = [self.moves(s) for s in sounds]
        width = max((m[0].shape[1] for m in moves), default=1)
        target = np.zeros((len(moves), len(self), width), dtype=np.int64)
        price = np.full(target.shape, np.inf)
        for i, (to, cost) in enumerate(moves):
            target[i, :, :to.shape[1]], price[i, :, :to.shape[1]] = to, cost
        return target, price

    def _choices(self, state: State, sound: Sound) -> list[tuple[State, float]]:
        # Punctuation at the head of a line moves nothing.
        if not self.lines or (sound.units == 0 and state.used == 0):
            return [(state, 0.0)]
        line, used, units = state.line, state.used, sound.units
        length = self.lines[line]
        last = not self.repeats and line == len(self.lines) - 1
        keep = bool(self.form and self.form.bare_vowel)
        out: list[tuple[State, float]] = []
        # The word goes on in this line.
        vowel = keep and (state.vowel or sound.later_vowel or (sound.first_vowel and used > 0))
        if last:
            beyond = max(0, used + units - length - SURPLUS)  # the count stops here, the cost goes on
            out.append((self._at(line, used + units - beyond, vowel), beyond * self._costs.weights["metre.over"]))
            return out
        if used + units <= length + SURPLUS:
            out.append((self._at(line, used + units, vowel), 0.0))
        if units == 0:
            return out
        after = 0 if self.repeats else line + 1
        # It begins the next line.
        if used > 0 and used >= length - LACK:
            price = self.line_cost(line, used, state.vowel)
            price += self._costs.weights["metre.phrase"] if sound.ending else 0.0
            out += self._begin(after, units, keep and sound.later_vowel, price)
        # It runs across the end of the line (句またがり), and fills it exactly.
        if used < length < used + units:
            vowel = keep and (sound.later_vowel and used + units - length > 1)
            out += self._begin(after, used + units - length, vowel, self._costs.weights["metre.cross"])
        if not out:  # a word longer than any line: let it fill this one and the next
            out += self._begin(after, max(1, used + units - length), False, 2 * self._costs.weights["metre.cross"])
        return out

    def _begin(self, line: int, units: int, vowel: bool, price: float) -> list[tuple[State, float]]:
        beyond = max(0, units - self.lines[line] - SURPLUS)
        return [(self._at(line, units - beyond, vowel), price + beyond * self._costs.weights["metre.over"])]

    def _at(self, line: int, used: int, vowel: bool) -> State:
        state = State(line, used, vowel)
        return state if state in self._index else State(line, used, False)

    @property
    def characters(self) -> bool:
        """Does the form count characters (Chinese verse) and not morae?"""
        return self.form is not None and self.form.unit == "character"


@lru_cache(maxsize=64)
def _made(name: str, form: Form | None, key: int) -> Metre:
    return Metre(form, _BY_KEY[key])


_BY_KEY: dict[int, Costs] = {}


def machine(form: Form | None, costs: Costs) -> Metre:
    """The machine of a form, made once for each set of costs."""
    _BY_KEY[id(costs)] = costs
    return _made(form.name if form else "", form, id(costs))
