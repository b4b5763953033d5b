"""Old and free spelling as arcs: rules over one or more neighbouring signs.

Conventions: a rule's kana must be values (voiced or not) of neighbouring signs;
the arc spans them all, keeps the carver's kana and asks the dictionary for the rule's new
kana. Costs: that of the values, of the rule's reason and of its grade.
"""

from __future__ import annotations

from functools import lru_cache

from readaid.core.lattice import Arc, Reason
from readaid.lexicon.costs import Costs
from readaid.script import exchange, kana


def rule_cost(reason: str, grade: str, costs: Costs) -> float:
    """Cost of a rule by its reason and grade."""
    return costs.weight(reason) + costs.grade(grade)


@lru_cache(maxsize=1)
def _by_first() -> dict[str, tuple[exchange.Rule, ...]]:
    found: dict[str, list[exchange.Rule]] = {}
    for rule in exchange.RULES:
        if rule.old != rule.new:  # ちぢ stays ちぢ: a rule for rewriting, none for a lattice
            found.setdefault(rule.old[0], []).append(rule)
    return {first: tuple(rules) for first, rules in found.items()}


def arcs(values: list[dict[str, Arc]], costs: Costs) -> list[Arc]:
    """Arcs of all rules. ``values[i]`` maps each kana that sign i may be (voiced, as carved) to its cheapest arc."""
    best: dict[tuple[int, int, str, str, str, str], Arc] = {}
    for start, here in enumerate(values):
        for first in here:
            for rule in _by_first().get(first, ()):
                parts = _parts(values, start, rule.old)
                if parts:
                    cost = rule_cost(rule.reason, rule.grade, costs)
                    _add(best, _made(parts, rule.new, rule.place, rule.reason, cost, rule.note))
            for left in exchange.left_out(first):
                cost = rule_cost(left.reason, left.grade, costs)
                _add(best, _made([here[first]], left.kana, "any", left.reason, cost, ""))
    return list(best.values())


def _parts(values: list[dict[str, Arc]], start: int, old: str) -> list[Arc]:
    if start + len(old) > len(values):
        return []
    parts = [values[start + i].get(char) for i, char in enumerate(old)]
    return [p for p in parts if p is not None] if all(parts) else []


def _made(parts: list[Arc], new: str, place: str, reason: str, cost: float, note: str) -> Arc:
    written = "".join(p.written for p in parts)
    spelled = "".join(p.kana for p in parts)
    told = Reason(reason, kana.to_hiragana(spelled), new, parts[0].start, cost, note)
    return Arc(parts[0].start, parts[-1].end, new, cost + sum(p.cost for p in parts), written, spelled,
               (*(r for p in parts for r in p.reasons), told), parts[0].source, place)


def _add(best: dict[tuple[int, int, str, str, str, str], Arc], arc: Arc) -> None:
    key = (arc.start, arc.end, arc.text, arc.kana, arc.place, arc.written)
    if key not in best or arc.cost < best[key].cost:
        best[key] = arc
