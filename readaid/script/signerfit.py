"""Which persons a parsed signature may name, in which roles, and why.

Conventions: roles are those of ``core.person.ROLES``. A person is a proposal: name, role, and the words that speak
for it. A monogram's owner is the person before it unless an appraiser's words stand there; either may be wrong. A name,
作, and then another name with a monogram is the formula of an attribution, so the second person is proposed as its
appraiser. Signs that were not analysed name nobody.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from readaid.core.person import Signature, SignaturePart
from readaid.script import grammar
from readaid.script.age import MOST, born
from readaid.script.grammar import Rule
from readaid.script.signs import fold

#: Kinds that belong to one person until another begins; those that are names; those that begin a person after a name.
_NAMING = frozenset(("rank", "office", "clan", "school", "family", "art name", "name", "usual name", "generation",
                     "residence", "pupil", "age"))
_NAMES = frozenset(("name", "art name", "usual name"))
_HEADS = frozenset(("school", "family", "residence", "office", "rank", "clan", "generation"))
#: What a calling before the name says of the part where no verb stands.
_BY_CALLING = {"彫": "carver", "刻": "carver", "画": "designer"}
_UNVERBED = "signed without a verb"
#: A way dearer than two names side by side, and parts that say of a line that it is a signature.
_UNLIKELY = 320.0
_SAYING = frozenset(("verb", "kao", "seal", "residence", "rank", "office", "age", "pupil", "request", "date",
                     "appraisal", "usual name", "role word", "kin", "joint", "late signature", "model", "place", "clan",
                     "material", "object", "owner", "dedication"))
_MAKING = ("maker", "carver")


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


@dataclass(slots=True)
class _Pending:
    """What the words before a name say of the person to come."""

    role: str = ""
    why: str = ""
    attributes: bool = False  # 紋: the name after is the maker's, the next one the appraiser's
    kin: str = ""


def proposed(signature: Signature) -> list[ProposedPerson]:
    """See ``signature.persons``."""
    return _Reader(signature).persons()


class _Reader:
    """Goes through the parts once, gathering those of one person."""

    def __init__(self, signature: Signature) -> None:
        self.parts, self.cost = signature.parts, signature.cost
        self.made: list[ProposedPerson] = []
        self.group: list[SignaturePart] = []
        self.pending = _Pending()
        # Only a date of one year says what an age means.
        self.years = [int(p.value[:4]) for p in signature.parts if p.kind == "date" and p.value
                      and "that fit" not in p.meaning and "no year" not in p.meaning]

    def persons(self) -> list[ProposedPerson]:
        for part in self.parts:
            self._take(part, _rule(part))
        self._close("maker", _UNVERBED)
        self.made = [p for p in self.made if self._is_understood(p)]
        for part in self.parts:
            rule = _rule(part)
            if part.kind == "late signature" and self.made and not (rule and rule.side == ">"):
                self._late(part)
        return self.made

    def _is_understood(self, person: ProposedPerson) -> bool:
        """A bare name amid signs that nothing explains names nobody: 江楓 of 江楓漁火對愁眠 is no maker."""
        bare = person.why.startswith(_UNVERBED) and not (person.owns_monogram or person.rank or person.residence
                                                         or person.age or person.teacher or person.generation)
        lost = any(p.kind == "not analysed" or (p.kind == "title" and before.text == person.name)  # 唐崎 of 唐崎夜雨
                   for before, p in pairwise((*self.parts[:1], *self.parts)))
        return not bare or not (lost or (self.cost >= _UNLIKELY and not any(p.kind in _SAYING for p in self.parts)))

    def _take(self, part: SignaturePart, rule: Rule | None) -> None:
        if rule is not None and rule.side == "=":
            self._named_inside(part, rule)
        elif part.kind in _NAMING and not (part.kind == "pupil" and self._named() and rule is None):
            if self._another_begins(part):
                self._close("maker", _UNVERBED)
            self.group.append(part)
        elif rule is not None and rule.side == ">":
            if self._named():
                self._close("maker", _UNVERBED)
            self.pending = _Pending(rule.role, f"after {part.text}: {part.meaning}", part.kind == "appraisal",
                                    part.text if part.kind == "kin" else "")
        elif part.kind == "object":
            if self._named():
                self._close("maker", f"{_UNVERBED}; {part.text} stands after the name")
        elif part.kind == "appraisal":
            self._appraise(part, rule)
        elif part.kind == "kao":
            self._monogram()
        elif rule is not None and rule.side == "<" and rule.role and part.kind not in ("late signature",):
            self._verb(part, rule)
        elif part.kind == "joint" and self._named():
            self._close("maker", f"{part.text}: {part.meaning}")

    def _named(self) -> bool:
        return any(p.kind in _NAMES for p in self.group)

    def _another_begins(self, part: SignaturePart) -> bool:
        """Whether a part begins another person: a second true name, or a place, family or rank after a name."""
        if not self._named():
            return False
        if part.kind in _HEADS:
            return not (part.kind == "generation" and self.group[-1].kind == "generation")
        if part.kind == "name":
            return any(p.kind == "name" for p in self.group)
        return part.kind == "usual name" and any(p.kind == "usual name" for p in self.group)

    def _close(self, role: str, why: str) -> None:
        """Make a person of the parts gathered; words before the name outweigh the absence of a verb."""
        pending = self.pending
        # A verb after the name says more than a word before it, but not more than an appraiser's word.
        if pending.role and (why == _UNVERBED or why.startswith(_UNVERBED) or pending.role == "appraiser"
                             or pending.attributes):
            role, why = pending.role, pending.why
        if role == "maker" and why.startswith(_UNVERBED):
            role = next((r for word, r in _BY_CALLING.items() for p in self.group
                         if p.kind == "rank" and word in p.text), role)
        made = _person(self.group, role, why, self.years)
        if made:
            self.pending = _Pending("appraiser", pending.why) if pending.attributes else _Pending()
        elif self.group and role and not pending.role and why != _UNVERBED:  # 七十一歳作 吉樟: the verb stands first
            self.pending = _Pending(role, why)
            return
        self.made += made
        self.group = []

    def _verb(self, part: SignaturePart, rule: Rule) -> None:
        why = f"{part.text} stands after the name: {part.meaning}"
        if not self.group:
            if self.made and part.kind == "model":
                self.made[-1] = replace(self.made[-1], why=f"{self.made[-1].why}; {part.text}: {part.meaning}")
            elif not self.made and part.kind == "joint":
                self.pending = _Pending("maker", f"after {part.text}: {part.meaning}")
            return
        role = rule.role
        if role == "author" and self.pending.kin and any(p.role in _MAKING for p in self.made):
            role, why = "appraiser", f"{part.text} stands after the name of a kinsman of the maker before"
        self._close(role, why)

    def _appraise(self, part: SignaturePart, rule: Rule | None) -> None:
        why = f"after {part.text}: {part.meaning}"
        if rule is not None and rule.role == "maker" and self._named():  # 真作也: the name before is judged
            self._close("maker", f"{part.text} stands after the name: {part.meaning}")
            self.pending = _Pending("appraiser", why)
        elif rule is not None and rule.role == "appraiser" and self._named():
            self._close("appraiser", self.pending.why or f"{part.text} stands after the name: {part.meaning}")
        elif rule is not None and rule.role == "maker" and not self.group:  # 正作 義光: the word stands first
            self.pending = _Pending("maker", why, attributes=True)
        elif rule is not None and rule.role:
            self.group = [] if rule.role == "maker" or not self.group else self.group
            self.pending = _Pending("appraiser", why)

    def _monogram(self) -> None:
        if self._named() or any(p.kind in ("family", "school", "office") for p in self.group):
            before = [p for p in self.made if p.role not in ("recipient", "owner", "model", "teacher")]
            # 正光作 義信(花押): the second man signs for the first one's work.
            attributed = bool(before) and not self.pending.role and before[-1].role in _MAKING \
                and "stands after the name" in before[-1].why
            why = "a name with a verb, then another name with a monogram: the formula of an attribution"
            self._close("appraiser" if attributed else "maker", why if attributed else _UNVERBED)
        if not self.made or (self.pending.role == "appraiser" and not self.group):
            if self.pending.role == "appraiser":
                why = f"{self.pending.why}; the monogram alone stands for the appraiser"
                self.made.append(ProposedPerson("", "appraiser", why, owns_monogram=True))
                self.pending = _Pending()
            return
        last = self.made[-1]
        self.made[-1] = replace(last, owns_monogram=True,
                                why=f"{last.why}; the monogram stands after it but may be another's")

    def _named_inside(self, part: SignaturePart, rule: Rule) -> None:
        if rule.role == "teacher":
            if self._named():
                self._close("maker", _UNVERBED)
            self.group.append(part)
            return
        known = any(part.value in (p.name, *p.aliases) for p in self.made)
        if part.value and not known and (rule.role != "maker" or not self._named()):
            self.made.append(ProposedPerson(part.value, rule.role, f"{part.text}: {part.meaning}", part.readings))

    def _late(self, part: SignaturePart) -> None:
        if fold(part.text) in ("代銘", "代作"):
            self.made.append(ProposedPerson("", "pupil", f"{part.text}: {part.meaning}; this hand is not named"))
        else:
            self.made[-1] = replace(self.made[-1], why=f"{self.made[-1].why}; {part.text}: {part.meaning}")


def _rule(part: SignaturePart) -> Rule | None:
    """The grammar's row for a part, by kind and meaning."""
    for rule in grammar.rules():
        if rule.side and rule.kind == part.kind and part.meaning.startswith(rule.meaning):
            literal = "".join(sign for _, sign in rule.elements)
            if rule.side == "=" or part.kind == "model" or fold(part.text).endswith(literal):
                return rule
    return None


def _person(group: list[SignaturePart], role: str, why: str, years: list[int]) -> list[ProposedPerson]:
    def first(*kinds: str) -> SignaturePart | None:
        return next((p for kind in kinds for p in group if p.kind == kind), None)

    named = first("name", "art name", "usual name", "school", "family", "office")
    if named is None:
        teacher = first("pupil")
        if teacher is None or not teacher.value or role not in ("maker", ""):
            return []
    pupil, age, residence, generation = first("pupil"), first("age"), first("residence"), first("generation")
    rank = "".join(p.text for p in group if p.kind in ("rank", "office", "clan"))
    years_old = int(age.value) if age and age.value.isdigit() else None
    # A number above ``MOST`` is no age of a person, and tells no birth.
    birth = born(years_old, years[0]) if years_old and years and years_old <= MOST else None
    if birth:
        why += f"; {years_old} years in {years[0]} by the old count: born in {birth}"
    school = first("school", "family")
    return [ProposedPerson(
        (_bare(named) if named else ""), role, why, named.readings if named else (),
        tuple(p.text for p in group if p.kind in _NAMES and p is not named),
        school.text if school else "", pupil.value if pupil else "",
        residence.value or residence.text if residence else "", rank,
        int(generation.value) if generation and generation.value.isdigit() else None, years_old, birth)]


def _bare(part: SignaturePart) -> str:
    """The name without what the grammar read round it (先生, 俗称); an art name keeps its ending."""
    return part.value if part.kind in ("name", "usual name") and part.value and part.value in part.text else part.text
