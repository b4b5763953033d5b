"""Which persons a parsed signature may name, in which roles, and why.

Conventions: roles are those of ``core.person.ROLES``. A person is a proposal: name, role, and the words that speak
for it. A monogram's owner is the person before it unless an appraiser's words stand there; either may be wrong.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from readaid.core.person import Signature, SignaturePart
from readaid.script import grammar
from readaid.script.age import MOST, born
from readaid.script.grammar import Rule
from readaid.script.signs import fold

_NAMING = ("rank", "office", "school", "art name", "name", "generation", "residence", "pupil", "age")


@dataclass(frozen=True, slots=True)
class ProposedPerson:
    """A person who may stand in a signature."""

    name: str
    role: str
    why: str
    readings: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    school: str = ""
    teacher: str = ""
    residence: str = ""
    rank: str = ""
    generation: int | None = None
    age: int | None = None
    born: int | None = None
    owns_monogram: bool = False


def proposed(signature: Signature) -> list[ProposedPerson]:
    """See ``signature.persons``."""
    made: list[ProposedPerson] = []
    group: list[SignaturePart] = []
    pending = ""  # the words that make the next person an appraiser
    # Only a date of one year says what an age means.
    years = [int(p.value[:4]) for p in signature.parts if p.kind == "date" and p.value
             and "that fit" not in p.meaning and "no year" not in p.meaning]
    late = [p for p in signature.parts if p.kind == "late signature"]
    for part in signature.parts:
        rule = _rule(part)
        if part.kind in _NAMING:
            if part.kind in ("name", "school", "residence") and _closed(group, part):
                made += _person(group, "maker", "signed without a verb", years)
                group = []
            group.append(part)
        elif part.kind == "appraisal" and (rule is None or rule.side == "=" or not group):
            if group:  # 後藤 光孝作極: the family belongs to the name judged
                group = []
            pending = f"after {part.text}: {part.meaning}"
        elif rule is not None and rule.side == "<" and rule.role and part.kind != "late signature":
            if group:
                role = "appraiser" if pending else rule.role
                made += _person(group, role, pending or f"{part.text} stands after the name: {part.meaning}", years)
                group, pending = [], ""
            elif made and part.kind in ("model", "appraisal"):
                made[-1] = replace(made[-1], why=f"{made[-1].why}; {part.text}: {part.meaning}")
        elif part.kind == "kao":
            if group:
                made += _person(group, "appraiser" if pending else "maker", pending or "signed without a verb", years)
                group, pending = [], ""
            if pending:
                made.append(ProposedPerson("", "appraiser", f"{pending}; the monogram alone stands for the appraiser",
                                           owns_monogram=True))
                pending = ""
            elif made:
                why = f"{made[-1].why}; the monogram stands after it but may be another's"
                made[-1] = replace(made[-1], owns_monogram=True, why=why)
        if rule is not None and rule.side == "=" and part.value and rule.role != "teacher":
            made.append(ProposedPerson(_title_free(part.value), rule.role, f"{part.text}: {part.meaning}",
                                       part.readings))
    made += _person(group, "appraiser" if pending else "maker", pending or "signed without a verb", years)
    for part in late:
        if made and fold(part.text) in ("代銘", "代作"):
            made.append(ProposedPerson("", "pupil", f"{part.text}: {part.meaning}; this hand is not named"))
        elif made:
            made[-1] = replace(made[-1], why=f"{made[-1].why}; {part.text}: {part.meaning}")
    return made


def _rule(part: SignaturePart) -> Rule | None:
    """The grammar's row for a part, by kind and meaning."""
    for rule in grammar.rules():
        if rule.role and rule.kind == part.kind and part.meaning.startswith(rule.meaning):
            literal = "".join(sign for _, sign in rule.elements)
            if rule.side != "<" or part.kind == "model" or literal == fold(part.text):
                return rule
    return None


def _closed(group: list[SignaturePart], part: SignaturePart) -> bool:
    """Whether a new person begins: a second name, or a place or school after a name."""
    return any(p.kind == "name" for p in group) and not any(p.kind == "generation" for p in group[-1:])


def _title_free(name: str) -> str:
    return name[:-1] if len(name) > 2 and name[-1] in "君氏様殿" else name


def _person(group: list[SignaturePart], role: str, why: str, years: list[int]) -> list[ProposedPerson]:
    def first(kind: str) -> SignaturePart | None:
        return next((p for p in group if p.kind == kind), None)

    name, art, school, pupil, age = first("name"), first("art name"), first("school"), first("pupil"), first("age")
    named = name or art
    if named is None and school is None and first("rank") is None:
        return []
    rank = "".join(p.text for p in group if p.kind in ("rank", "office"))
    residence, generation = first("residence"), first("generation")
    years_old = int(age.value) if age and age.value.isdigit() else None
    birth = born(years_old, years[0]) if years_old and years and years_old <= MOST else None
    if birth:
        why += f"; {years_old} years in {years[0]} by the old count: born in {birth}"
    return [ProposedPerson(
        named.text if named else school.text if school else rank, role, why,
        named.readings if named else school.readings if school else (),
        tuple(p.text for p in group if p.kind in ("art name", "name") and p is not named),
        school.text if school else "", pupil.value if pupil else "",
        residence.value or residence.text if residence else "", rank,
        int(generation.value) if generation and generation.value.isdigit() else None, years_old, birth)]
