"""What each thing costs: the weights of the search, read from ``weights.tsv``.

Conventions: all costs in the dictionary's units (-700 ln p). A weight is
named; an unknown name in the table is a fault. ``Costs()`` with ``plain=True`` switches
our own lexicon and weights off, so that the search equals the dictionary's tagger.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from readaid.core.errors import TableError, unknown_option
from readaid.core.lattice import COST_FACTOR, Gap
from readaid.script import voicing

TABLE = Path(__file__).resolve().parent / "weights.tsv"
#: Kana an unread sign may be: the gojuon with the old letters, and their voiced forms.
_PLAIN = ("あいうえおかきくけこさしすせそたちつてとなにぬねのはひふへほまみむめもやゆよらりるれろわゐゑをん")


@dataclass(frozen=True)
class Costs:
    """Weights by name; ``weight(name)`` for one of them."""

    weights: Mapping[str, float] = field(default_factory=dict)
    plain: bool = False  # own lexicon off
    filler: Mapping[str, float] = field(default_factory=dict)  # kana -> cost as a filler

    def weight(self, name: str) -> float:
        """The weight of a name.

        >>> standard().weight("voicing") > 0
        True
        """
        if name not in self.weights:
            raise unknown_option("weight", name, self.weights)
        return self.weights[name]

    def grade(self, grade: str) -> float:
        """Cost of a rule of a grade ("usual", "frequent", "seldom", "rare")."""
        return self.weights[f"grade.{grade}"]

    def with_weights(self, **changes: float) -> Costs:
        """The same costs with some weights changed; dots in names are written as two underscores."""
        named = {k.replace("__", "."): v for k, v in changes.items()}
        for name in named:
            self.weight(name)
        return Costs({**self.weights, **named}, self.plain, self.filler)

    def fillers(self, among: str) -> list[tuple[str, float]]:
        """What may stand in a gap and its cost: every kana, or the hiragana named."""
        if among in ("kana", "any"):
            return list(self.filler.items())
        chosen = list(dict.fromkeys(among))
        return [(k, COST_FACTOR * math.log(len(chosen))) for k in chosen]

    @staticmethod
    def gap_length(gap: Gap) -> float:
        """Cost of each of the equally likely lengths of a gap."""
        return COST_FACTOR * math.log(gap.most - gap.least + 1)


def load(path: Path = TABLE) -> Costs:
    """Read a table of weights (name, cost, note); raises TableError naming every faulty row."""
    faults, found = [], {}
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line.strip() or line.startswith(("#", "name\t")):
            continue
        name, _, rest = line.partition("\t")
        try:
            value = float(rest.split("\t")[0])
            if not math.isfinite(value) or name in found:
                raise ValueError
            found[name] = value
        except ValueError:
            faults.append(f"row {number}: {name!r} is given twice or has no number")
    if faults:
        raise TableError("The weights have faulty rows: " + "; ".join(faults), path.name, "correct these rows")
    return Costs(found, filler=_uniform())


def _uniform() -> dict[str, float]:
    kana = list(_PLAIN) + [v for p, v in voicing.VOICED.items() if p != "う"] + list(voicing.HALF.values())
    return {k: COST_FACTOR * math.log(len(kana)) for k in kana}


@lru_cache(maxsize=1)
def standard() -> Costs:
    """The weights the project ships, read once."""
    return load()


@lru_cache(maxsize=1)
def bare() -> Costs:
    """The dictionary's own costs only: our lexicon off, for comparison with its tagger."""
    shipped = load()
    return Costs({k: 0.0 if k.startswith("word.") else v for k, v in shipped.weights.items()}, True, shipped.filler)
