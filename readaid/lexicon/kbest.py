"""From a lattice to its best strings: graph, words, bounds, forms, search, in that order.

Conventions: ``Search`` keeps what was worked out, so that forms can be compared, posteriors taken
and explanations given without walking the dictionary again. Times are seconds.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import Lattice
from readaid.lexicon import dictionary, entries, graph, metre, posterior, readings, search, space, words
from readaid.lexicon.budget import STANDARD, Budget
from readaid.lexicon.costs import Costs, standard
from readaid.script import verse_forms
from readaid.script.verse_forms import Form

#: Words kept from each node when time has run out before the bounds are known; the result is labelled as cut.
KEPT_WHEN_LATE = 60
#: Seconds a search may take when no limit is given.
DEFAULT_LIMIT = 30.0


@dataclass(frozen=True)
class Best:
    """Strings of one form, best first, with the prior cost of the form taken in when it was not given."""

    form: Form
    strings: tuple[search.Found, ...]
    prior: float
    cut: bool


class Search:
    """One lattice made ready."""

    def __init__(self, lattice: Lattice, costs: Costs | None = None, time_limit: float | None = None,
                 budget: Budget = STANDARD) -> None:
        self.lattice, self.costs = lattice, costs or standard()
        now = time.monotonic()
        limit = DEFAULT_LIMIT if time_limit is None else time_limit
        # The walk gets a third of the time, the bounds half of all; what is left goes to the search and the sums.
        self.deadline = now + limit
        self.dictionary = dictionary.opened()
        self.graph = graph.build(lattice, self.costs, budget)
        self.words = words.find(self.graph, self.dictionary, self.costs, now + limit / 3, budget)
        self.space = space.Space(self.words, self.graph.size, self.dictionary)
        self.bounds = space.bounds(self.space, now + limit / 2)
        # Out of time before anything is known: fewer words, and a way through for certain, rather than an error.
        if self.bounds.late:
            self.words = self.words.cheapest(KEPT_WHEN_LATE)
            self.space = space.Space(self.words, self.graph.size, self.dictionary)
            self.bounds = space.bounds(self.space)
        self.space, self.bounds = space.within(self.space, self.bounds, budget)
        self.words = self.space.words
        self._readings: dict[bool, readings.Readings] = {}
        self.cut = self.words.cut or lattice.cut
        self._posterior: posterior.Posterior | None = None
        self._arc_shares: NDArray[np.float64] | None = None

    def readings(self, by_character: bool = False) -> readings.Readings:
        """Readings of the words, counted in morae or in signs."""
        if by_character not in self._readings:
            self._readings[by_character] = readings.of(
                self.words, self.graph, self.dictionary, by_character)
        return self._readings[by_character]

    def metre(self, form: Form) -> metre.Metre:
        """The machine of a form under these costs."""
        return metre.machine(form, self.costs)

    def best(self, form: str | None = None, k: int = 5) -> Best:
        """The k best strings of a form, or of the form that fits best."""
        if form is not None:
            return self._of(verse_forms.form(form), k, 0.0)
        tried: list[tuple[float, Best]] = []
        fewest, most = self._units()
        # Prose costs what the text costs without metre: no form that must cost more need be searched.
        known = self.bounds.best + self._prior(verse_forms.form("prose"))
        priors = {f.name: self._prior(f) for f in verse_forms.BY_NAME.values()}
        for candidate in sorted(verse_forms.BY_NAME.values(), key=lambda f: priors[f.name]):
            prior = priors[candidate.name]
            # A tanka of 17 morae lacks fourteen: that alone costs more than the hokku already found.
            if self.bounds.best + prior + self.metre(candidate).least(fewest, most) > known:
                continue
            if tried and self.late():
                break
            found = self._of(candidate, 1, prior)
            if found.strings:
                tried.append((found.strings[0].cost + prior, found))
                tried.sort(key=lambda t: t[0])
                known = min(known, tried[0][0])
        if not tried:
            return Best(verse_forms.form("prose"), (), 0.0, self.cut)
        chosen = tried[0][1]
        if self.late():
            return replace(chosen, cut=True)
        return chosen if k == 1 else self._of(chosen.form, k, chosen.prior)

    def late(self) -> bool:
        """Is the time over? If so the result counts as cut."""
        over = time.monotonic() > self.deadline
        self.cut = self.cut or over
        return over

    def follow(self, form: Form, strings: Sequence[str]) -> list[search.Found]:
        """Given strings of kana with their cheapest paths under a form; what the lattice does not hold is left out."""
        machine = self.metre(form)
        return search.follow(self.space, self.readings(machine.characters), machine, strings)

    def weigh(self, form: Form) -> None:
        """Take the sums over all paths under a form; where time runs out there are no probabilities, ``cut`` is set."""
        machine = self.metre(form)
        made = posterior.Posterior(self.space, self.readings(machine.characters), machine,
                                   self.costs.weight("temperature"), self.deadline)
        self._posterior = None if made.late else made
        self._arc_shares = None if made.late else made.arcs(self.graph)
        self.cut = self.cut or made.late

    def share(self, kana: str) -> float:
        """Probability of a string of kana, 0..1, after ``weigh``; 0 where time ran out."""
        return 0.0 if self._posterior is None else min(1.0, self._posterior.string(kana))

    def arc_shares(self) -> NDArray[np.float64] | None:
        """Probability of each arc of the graph after ``weigh``, None where time ran out."""
        return self._arc_shares

    def entry(self, row: int, text: str) -> dictionary.Entry:
        """The dictionary entry of a word row."""
        return entries.of(self.dictionary, int(self.words.token[row]), text)

    def _of(self, form: Form, k: int, prior: float) -> Best:
        machine = self.metre(form)
        answer = search.best(self.space, self.readings(machine.characters), machine, self.bounds, k, self.deadline)
        return Best(form, answer.strings, prior, answer.cut or self.cut)

    def _units(self) -> tuple[int, int]:
        """Fewest and most morae that the whole text may have."""
        readings, count = self.readings(), self.graph.size
        units = np.array([s.units for s in readings.sounds])[readings.sound]
        fewest, most = np.full(count, 1 << 30), np.full(count, -1)
        fewest[0] = most[0] = 0
        for node in range(count - 1):
            w = self.space.words_from(node)
            if w.start < w.stop and most[node] >= 0:
                np.minimum.at(fewest, self.words.end[w], fewest[node] + units[w])
                np.maximum.at(most, self.words.end[w], most[node] + units[w])
        return int(fewest[-1]), int(most[-1])

    def _prior(self, form: Form) -> float:
        """Cost of a form when none was given; a Chinese form is none where some sign cannot be a kanji."""
        # a form without a row of its own counts as seldom met, so that a new one needs no row to be found
        own = f"form.{form.name}"
        prior = self.costs.weight(own if own in self.costs.weights else "form.other")
        kanji = [False] * self.lattice.last
        kana = [False] * self.lattice.last
        for arc in self.lattice.arcs:
            kanji[arc.start] |= not arc.kana
            kana[arc.start] |= bool(arc.kana) and not any(r.kind == "kanji as kana" for r in arc.reasons)
        if form.unit == "character":
            return prior if all(kanji) else np.inf
        return prior + (self.costs.weight("form.all kanji") if form.lines and all(kanji) and not any(kana) else 0.0)
