"""What a signature's parts say about each other: age, rank, place name and late words against its date and its people.

Conventions: a ``Check`` says "fits", "does not fit" or "cannot be told", and why; never genuine or false, for slips,
later signatures and words kept by habit all occur. Years are Western. Words and their years: ``signature_spans.tsv``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from readaid.core.person import Person, Signature, SignaturePart
from readaid.script import age, part_classes
from readaid.script.period import Evidence
from readaid.script.rows import load
from readaid.script.signs import fold

FITS, DOES_NOT, CANNOT = "fits", "does not fit", "cannot be told"
_DATED_KINDS = frozenset(("residence", "place", "rank", "office", "clan"))


@dataclass(frozen=True, slots=True)
class Check:
    """One thing held against another: the part's text, the verdict in words, why."""

    part: str
    verdict: str
    words: str


@cache
def _spans() -> tuple[tuple[str, Evidence], ...]:
    def make(row: dict[str, str]) -> tuple[str, Evidence]:
        first, last = (int(row[k]) if row[k] else None for k in ("first", "last"))
        if (first is None and last is None) or (first and last and first > last) or not row["why"]:
            raise ValueError(f"{row['word']}: its years or its reason")
        return fold(row["word"]), Evidence(first, last, row["why"])

    return tuple(load("signature_spans.tsv", ("word", "first", "last", "why"), make))


def spans(parts: Sequence[SignaturePart]) -> list[tuple[str, Evidence]]:
    """Years that words of the parts speak for: a place's name, a rank, a late name of an age."""
    found: list[tuple[str, Evidence]] = []
    for part in parts:
        text = fold(part.text)
        if part.kind in _DATED_KINDS:
            held = [(word, e) for word, e in _spans() if word in text]
            found += [(word, e) for word, e in held if not any(word != w and word in w for w, _ in held)]
        if part.kind == "age":
            for word in part_classes.age_names():
                if word in text and (since := part_classes.age_word_since(word)):
                    found.append((word, Evidence(since, None, "a word of late make, from memory")))
    return found


def checks(signature: Signature, people: Sequence[Person] = ()) -> list[Check]:
    """Everything in a signature that can be held against its date, or against the dates of people who are known.

    >>> from readaid.script.signature import parse
    >>> [(c.part, c.verdict) for c in checks(parse("於東京 蘆香作 文政三年")[0])]
    [('東京', 'does not fit')]
    """
    years = _years(signature)
    made = []
    for word, evidence in spans(signature.parts):
        if years is None:
            made.append(Check(word, CANNOT, f"no date of one year stands there; {evidence.words}"))
        else:
            fits = (evidence.last is None or years[0] <= evidence.last) and \
                (evidence.first is None or years[1] >= evidence.first)
            made.append(Check(word, FITS if fits else DOES_NOT, f"{_told(years)}; {evidence.words}"))
    ages = [(p.text, int(p.value)) for p in signature.parts if p.kind == "age" and p.value.isdigit()]
    for person in people:
        if any(n and n in signature.text for n in (person.name, *person.aliases)):
            made += _of_person(person, years, ages)
    return made


def _years(signature: Signature) -> tuple[int, int] | None:
    """First and last year of the date, if one stands there and fits one time only."""
    dated = [p for p in signature.parts if p.kind == "date" and p.value and "that fit" not in p.meaning
             and "no year" not in p.meaning]
    if len(dated) != 1:
        return None
    first, last = dated[0].value.split("/")
    return int(first[:4]), int(last[:4])


def _of_person(person: Person, years: tuple[int, int] | None, ages: list[tuple[str, int]]) -> list[Check]:
    first, last = person.active_from or person.born, person.active_to or person.died
    if first is None and last is None:
        return []
    if years is None:
        return [Check(person.name, CANNOT, f"no date of one year stands there to hold against {person.name}'s dates")]
    evidence = Evidence(first, last, f"{person.name}'s dates as entered")
    fits = (last is None or years[0] <= last) and (first is None or years[1] >= first)
    made = [Check(person.name, FITS if fits else DOES_NOT, f"{_told(years)}; {evidence.words}")]
    if person.born:
        for text, number in ages:
            fit = age.check(number, person.born, years[0])
            made.append(Check(text, FITS if fit.agrees else DOES_NOT, fit.words))
    return made


def _told(years: tuple[int, int]) -> str:
    return f"the date is {years[0]}" if years[0] == years[1] else f"the date is {years[0]} to {years[1]}"
