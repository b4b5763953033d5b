"""A signature as it is handed out: its parts, the persons it may name, its date, what was not analysed, what fits.

Conventions: ways come best first; ``probability`` is a way's share among the ways listed (0..1), from their costs.
Nothing here tells who made the piece: roles are what the words claim.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from readaid.core.dating import Dating
from readaid.core.errors import TextError
from readaid.core.lattice import COST_FACTOR
from readaid.core.person import Person, Signature, SignaturePart
from readaid.script import dates, signature, signature_checks
from readaid.script.period import PERIOD, Evidence
from readaid.script.signature_checks import Check
from readaid.script.signerfit import ProposedPerson
from readaid.script.signs import Characters


@dataclass(frozen=True, slots=True)
class SignatureReading:
    """One way to take a signature apart, with what follows from it."""

    text: str
    parts: tuple[SignaturePart, ...]
    persons: tuple[ProposedPerson, ...]
    datings: tuple[Dating, ...]
    checks: tuple[Check, ...]
    not_analysed: tuple[str, ...]
    cost: float
    probability: float
    note: str = ""

    def _repr_html_(self) -> str:
        parts = "".join(f"<td lang='ja'>{escape(p.text)}<br><small>{escape(p.kind)}</small></td>" for p in self.parts)
        who = "; ".join(f"{escape(p.name or 'not named')} ({escape(p.role)})" for p in self.persons)
        return f"<table><tr>{parts}</tr></table><small>{who}</small>"


def read(characters: Characters, k: int = 5, period: tuple[int, int] = PERIOD,
         people: Sequence[Person] = ()) -> list[SignatureReading]:
    """Ways to read a signature, best first, at most ``k``; see ``script.signature.parse`` for what is raised.

    ``people`` are persons whose dates are known: a name that stands there is held against them.

    >>> best = read("江戸住 蘆香作 花押")[0]
    >>> [(p.name, p.role) for p in best.persons], best.not_analysed
    ([('蘆香', 'maker')], ())
    """
    ways = signature.parse(characters, k, period)
    return told(ways, period, people)


def told(ways: Sequence[Signature], period: tuple[int, int] = PERIOD,
         people: Sequence[Person] = ()) -> list[SignatureReading]:
    """The readings of ways that were found before."""
    weights = [math.exp(-(way.cost - ways[0].cost) / COST_FACTOR) for way in ways]
    return [_told(way, weight / sum(weights), period, people) for way, weight in zip(ways, weights, strict=True)]


def _datings(text: str, period: tuple[int, int], evidence: tuple[Evidence, ...]) -> tuple[Dating, ...]:
    try:
        return tuple(dates.read(text, period=period, evidence=evidence)) if text else ()
    except TextError:  # words of a date that no year fits: the part says so by having no days
        return ()


def _told(way: Signature, share: float, period: tuple[int, int], people: Sequence[Person]) -> SignatureReading:
    evidence = tuple(Evidence(e.first, e.last, f"{word}: {e.why}") for word, e in signature_checks.spans(way.parts))
    evidence += tuple(Evidence(p.active_from or p.born, p.active_to or p.died, f"{p.name}'s dates as entered")
                      for p in people if (p.active_from or p.born or p.active_to or p.died)
                      and any(n and n in way.text for n in (p.name, *p.aliases)))
    dated = next((p.text for p in way.parts if p.kind == "date"), "")
    return SignatureReading(
        way.text, way.parts, tuple(signature.persons(way)),
        _datings(dated, period, evidence),
        tuple(signature_checks.checks(way, people)),
        tuple(p.text for p in way.parts if p.kind == "not analysed"), way.cost, share, way.note)
