"""Why a reading stands where it stands in the list, in plain words.

Conventions: costs in the dictionary's units, 700 for a factor e of probability; they are told as
"points" and, between two readings, as how many times likelier one is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from readaid.core.lattice import COST_FACTOR
from readaid.core.reading import Reading

#: Keys of the costs of a reading and the words for them.
CAUSES = {
    "signs": "how sure you were of the signs",
    "shape": "shapes of the signs",
    "rules": "writing rules",
    "kanji": "how the kanji are read",
    "restored": "signs supplied",
    "misread": "signs perhaps misread",
    "verse": "how old verse sounds",
    "words": "words and how they follow each other",
    "grammar": "endings that the old grammar does not allow there",
    "metre": "metre",
    "form": "how common the verse form is",
}


@dataclass(frozen=True, slots=True)
class Difference:
    """What one cause adds to the second reading over the first (negative where it speaks for the second)."""

    cause: str
    cost: float


def explain(reading: Reading, following: Reading | None = None) -> list[str]:
    """Sentences about one reading: costs by cause, rules used, metre, season and cutting words, unknown words.

    With ``following`` (the next reading of the list) the last sentences tell what puts the first before it.

    >>> from readaid.reading.solve import read
    >>> explain(read("はるのうみ")[0])[0]
    'Without a verse form.'
    """
    out = [_form(reading)]
    out.append("Costs: " + ", ".join(f"{CAUSES[name]} {cost:,.0f}" for name, cost in reading.costs if abs(cost) >= 0.5)
               + f"; in all {reading.cost:,.0f} points (700 make it {math.e:.1f} times less likely).")
    rules = [r for r in reading.reasons if (r.written or r.read) and r.kind not in ("restored", "unknown word")]
    if rules:
        out.append("Read otherwise than it stands: "
                   + "; ".join(f"sign {r.at + 1}, {r} at {r.cost:,.0f}" for r in rules) + ".")
    out += [f"{str(r.note)[:1].upper()}{r.note[1:]}." for r in reading.reasons if r.note and not (r.written or r.read)]
    if reading.season:
        out.append(f"Season: {', '.join(reading.season)}.")
    if reading.cutting:
        out.append(f"Cutting word: {', '.join(reading.cutting)}.")
    unknown = [w.text for w in reading.words if not w.known]
    if unknown:
        out.append(f"Not in the dictionary: {', '.join(unknown)}.")
    if any(w.source == "kanji" for w in reading.words):
        out.append("Readings of kanji are those of old texts where these have them, else the dictionary's.")
    if reading.restored:
        out.append("Supplied, not seen: " + ", ".join(
            f"{r.kana} at sign {r.at + 1} ({r.probability:.0%})" for r in reading.restored) + ".")
    if reading.cut:
        out.append("The search was cut short: a better reading may exist.")
    if following is not None:
        out += compare(reading, following)
    return out


def differences(first: Reading, second: Reading) -> list[Difference]:
    """What each cause adds to ``second`` over ``first``, the weightiest first."""
    one, two = dict(first.costs), dict(second.costs)
    found = [Difference(name, two.get(name, 0.0) - one.get(name, 0.0)) for name in CAUSES]
    return sorted((d for d in found if abs(d.cost) >= 0.5), key=lambda d: -abs(d.cost))


def beside(first: Reading, second: Reading) -> list[tuple[str, float, float, float]]:
    """Two readings laid side by side: what each rests on, cost of the first, of the second, and the difference.

    All in the same units (points); a positive difference speaks for the first. The differences add up to that of the
    costs.

    >>> from readaid.reading.solve import read
    >>> one, two = read("はるのうみ", k=2)
    >>> abs(sum(row[3] for row in beside(one, two)) - (two.cost - one.cost)) < 1e-6
    True
    """
    one, two = dict(first.costs), dict(second.costs)
    return [(told, one.get(name, 0.0), two.get(name, 0.0), two.get(name, 0.0) - one.get(name, 0.0))
            for name, told in CAUSES.items() if one.get(name) or two.get(name)]


def compare(first: Reading, second: Reading) -> list[str]:
    """Why ``first`` stands before ``second``."""
    gap = second.cost - first.cost
    out = [f"It is {math.exp(min(gap, 30 * COST_FACTOR) / COST_FACTOR):,.1f} times likelier by its best way than "
           f"{second.kana}."]
    found = differences(first, second)
    speaks = [f"{CAUSES[d.cause]} ({d.cost:,.0f})" for d in found if d.cost > 0]
    against = [f"{CAUSES[d.cause]} ({-d.cost:,.0f})" for d in found if d.cost < 0]
    if speaks:
        out.append(f"For it: {', '.join(speaks)}.")
    if against:
        out.append(f"Against it: {', '.join(against)}.")
    return out


def listing(readings: Sequence[Reading]) -> list[list[str]]:
    """``explain`` for a whole list, each reading compared with the next."""
    return [explain(r, n) for r, n in zip(readings, [*readings[1:], None], strict=True)]


def _form(reading: Reading) -> str:
    if not reading.surplus:
        return "Without a verse form."
    count = "-".join(map(str, reading.morae))
    odd = [(n, s) for n, s in enumerate(reading.surplus, 1) if s]
    if not odd:
        return f"As {reading.form} it counts {count}: every line fits."
    told = ", ".join(f"line {n} {'+' if s > 0 else ''}{s}" for n, s in odd)
    return f"As {reading.form} it counts {count}: {told}."
