"""The signature panel: the formula's parts, people with their roles, dates that fit.

Conventions: everything found is an alternative until the reader writes it
down; years are Western; a role says what the inscription claims, not what is proved.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

from readaid.core.character import Text
from readaid.core.dating import Dating
from readaid.core.errors import OptionError, ReadaidError
from readaid.core.lattice import COST_FACTOR
from readaid.core.person import ROLES, Person, Role, Signature, SignaturePart
from readaid.core.texts import language, refusal, told, wording
from readaid.piece.seal_help import sketched
from readaid.schools.makers import taught_by_self
from readaid.script.period import written
from readaid.script.signature_checks import Check
from readaid.widgets.desk import Desk
from readaid.widgets.panel import Panel, module_text, style_text
from readaid.widgets.school_states import DatingRow, ParseRow, PersonRow
from readaid.widgets.zone_rows import inscription_title

_NUMBERS = ("generation", "born", "died", "active_from", "active_to")
_LISTS = ("readings", "aliases")


class SignaturePanel(Panel):
    """Signature, people and date of the desk's inscription."""

    _esm = module_text("signature_panel.js")
    _css = style_text("signature_panel.css")

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.text = ""
        self.date_text = ""
        self._of = ""
        self._tagged = ""
        self.parses: list[Signature] = []
        self.seal: list[list[str]] = []
        self.datings: list[Dating] = []
        self.signature_words = ""
        self.date_words = ""
        super().__init__()
        signed = next((i.id for i in desk.contents.inscriptions if i.kind is Text.SIGNATURE), None)
        if signed:
            desk.choose(inscription=signed)
        self.refresh()
        desk.listen(lambda _what: self.refresh())

    def refresh(self) -> None:
        """Show the inscription as it is now."""
        desk, c = self.desk, self.desk.contents
        tagged = desk.piece.decipherment.written(desk.inscription).replace("\n", " ") if desk.inscription else ""
        if (desk.inscription, tagged) != (self._of, self._tagged):
            self._of, self._tagged = desk.inscription, tagged
            self._parse(tagged)
            dated = next((d.text for d in c.dates if d.inscription == desk.inscription), "")
            self._date(dated or next((p.text for s in self.parses[:1] for p in s.parts if p.kind == "date"), ""))
        kept = {(s.text, s.parts) for s in c.signatures if s.inscription == desk.inscription}
        self.state = {
            "inscriptions": [[i.id, inscription_title(i, n)] for n, i in enumerate(c.inscriptions)],
            "inscription": desk.inscription,
            "text": self.text,
            "date_text": self.date_text,
            "roles": [[r, told(r)] for r in ROLES],
            "signature_words": self.signature_words,
            "date_words": self.date_words,
            "period": "-".join(map(str, desk.piece.signers.period())),
            "parses": [
                parse_row(s, (s.text, s.parts) in kept, s.cost - self.parses[0].cost, desk.piece.signers.checks(s))
                for s in self.parses[:5]
            ],
            "datings": [dating_row(d) for d in self.datings],
            "kept_dates": [{"text": d.text, "range": span(d.first, d.last)} for d in c.dates],
            "people": [self._person_row(p) for p in c.persons],
            "seal": self.seal,
        }

    def _person_row(self, person: Person) -> PersonRow:
        c = self.desk.contents
        names = {p.id: p.name for p in c.persons}
        titles = {i.id: inscription_title(i, n) for n, i in enumerate(c.inscriptions)}
        sources = {s.id: s.citation for s in c.sources}
        parts = [
            wording("{0}, as {1} says", told(r.role),
                titles.get(r.inscription or '', '') or sources.get(r.source or '', '') or wording('entered'))
            for r in c.roles
            if r.person == person.id
        ]
        teacher = wording("pupil of {0}", names[person.teacher]) if person.teacher in names else ""
        return {
            "id": person.id,
            "name": person.name,
            "readings": "、".join(person.readings),
            "aliases": "、".join(person.aliases),
            "school": person.school,
            "teacher": person.teacher or "",
            "kin": ", ".join(x for x in (person.school, teacher) if x),
            "parts": parts,
            "dates": life(person),
            "generation": _number(person.generation),
            "born": _number(person.born),
            "died": _number(person.died),
            "active_from": _number(person.active_from),
            "active_to": _number(person.active_to),
        }

    # --- asked ----------------------------------------------------------------------
    def do_inscription(self, inscription: str) -> None:
        """Take another inscription."""
        self.desk.choose(inscription=inscription)

    def do_text(self, text: str) -> None:
        """Take other words apart than those tagged on the photo; nothing is changed there."""
        self._parse(text)
        self.refresh()

    def do_seal(self, columns: str, sketch: str = "") -> None:
        """What to look for in a seal: characters of each column ("2 2") and sketched parts ("1.1 木; 2.1 氵 可")."""
        grid, parts = sketched(columns, sketch)
        told = self.desk.piece.signers.seal(grid, parts)
        self.seal = [[wording("column {0}, place {1}", p.column, p.row), " ".join(p.sketch), p.words] for p in told]
        self.refresh()

    def do_date(self, text: str) -> None:
        """Find the dates that fit what stands there."""
        self._date(text)
        self.refresh()

    def do_period(self, text: str) -> None:
        """Set the piece's working period, two Western years: 1700-1868; dates outside it are folded away."""
        first_and_last = written(text)
        piece = self.desk.piece
        self.desk.gesture(wording("working period"), lambda: piece.change(
            self.desk.contents.piece, reason="working period", period=first_and_last))
        self._date(self.date_text)
        self.refresh()

    def _parse(self, text: str) -> None:
        self.text, self.parses, self.signature_words = (
            text,
            [],
            wording("No signature yet: tag its signs, or type what stands there."),
        )
        if not text.strip("? \n"):
            return
        try:
            self.parses = list(self.desk.piece.signers.parse(self.desk.inscription, text))
            self.signature_words = "" if self.parses else wording(
                "No part of a signature was found in these signs.")
        except ReadaidError as error:
            self.signature_words = refusal(error)

    def _date(self, text: str) -> None:
        self.date_text, self.datings, self.date_words = (
            text,
            [],
            wording("No date yet: type what stands there, such as 文政〇年己丑."),
        )
        if not text.strip():
            return
        try:
            self.datings = list(self.desk.piece.signers.dates(text))
        except ReadaidError as error:
            self.date_words = refusal(error)
            return
        n = sum(not d.folded for d in self.datings)
        first, last = self.desk.piece.signers.period()
        inside = wording(" from {0} to {1}", first, last) if n < len(self.datings) else ""
        self.date_words = wording(
            "One date fits{0}.", inside) if n == 1 else wording(
            "{0} dates fit{1}.", n, inside)

    def speak(self) -> None:
        """The sentences about what was typed were made in the language of that moment: they are made again."""
        self._parse(self.text)
        self._date(self.date_text)
        super().speak()

    def do_keep_signature(self, index: int) -> None:
        """Write one way to take the signature apart down."""
        chosen = self.parses[index]
        self.desk.gesture(wording("signature kept"), lambda: self.desk.piece.signers.keep_signature(chosen))
        self.say(wording("The signature's parts are in the register."))

    def do_keep_date(self, index: int) -> None:
        """Write one dating down."""
        text = self.date_text
        self.desk.gesture(
            wording("date kept"),
            lambda: self.desk.piece.signers.keep_date(text, self.desk.inscription or None, choice=index),
        )
        self.say(wording("The date is in the register."))

    def do_person(self, id: str, fields: dict[str, str], role: str = "") -> None:
        """Enter a person, or change one; with a role in the chosen inscription if one is given."""
        before = self.desk.contents
        known = {p.id: p for p in before.persons}
        values: dict[str, Any] = {}
        for name, text in fields.items():
            if name in _NUMBERS:
                values[name] = year(text)
            elif name in _LISTS:
                values[name] = tuple(x.strip() for x in text.replace(",", "、").split("、") if x.strip())
            elif name == "teacher":
                values[name] = text or None
            else:
                values[name] = text.strip()
        if not values.get("name"):
            raise OptionError("The person has no name", cure="write the name as it stands, or 'unknown carver'")
        person = dataclasses.replace(known[id], **values) if id in known else Person(**values)
        if taught_by_self(person, known):
            raise OptionError("A teacher cannot be their own pupil's pupil", person.name, "choose another teacher")
        records: list[Any] = [person]
        if role:
            records.append(Role(person=person.id, role=role, inscription=self.desk.inscription or None))
        self.desk.gesture(wording("person entered"), lambda: self.desk.piece.save(
            *records, reason="person entered", base=before))
        self.say(wording("{0} is in the register.", person.name))


def _number(value: int | None) -> str:
    return "" if value is None else str(value)


def year(text: str) -> int | None:
    """A whole number, None for nothing; raises OptionError for anything else.

    >>> year(" 1829 "), year("")
    (1829, None)
    """
    plain = text.strip()
    if not plain:
        return None
    if not plain.lstrip("-").isdecimal():
        raise OptionError("That is no number", text, "write a year such as 1829, or leave it empty")
    return int(plain)


def life(person: Person) -> str:
    """Dates of a person in words."""
    if person.born or person.died:
        return f"{person.born or '?'}–{person.died or ''}"
    if person.active_from or person.active_to:
        return wording("active {0}–{1}", person.active_from or '?', person.active_to or '?')
    return ""


def span(first: str, last: str) -> str:
    """Two ISO days as one or a range."""
    return first if first == last else wording("{0} to {1}", first, last)


def check_words(check: Check) -> str:
    """A part of the signature held against what is entered of a person, in a sentence."""
    if check.verdict == "fits":
        return wording("{0} fits: {1}", check.part, told(check.words))
    if check.verdict == "does not fit":
        return wording("{0} does not fit: {1}", check.part, told(check.words))
    return wording("{0} cannot be told: {1}", check.part, told(check.words))


def parse_row(signature: Signature, kept: bool, behind: float, checks: Sequence[Check] = ()) -> ParseRow:
    """One way to take a signature apart; ``behind`` is its cost above the likeliest way's."""
    times = math.exp(min(behind / COST_FACTOR, 50))
    words = (
        (wording("fits the usual formula") if signature.cost == 0 else wording("the likeliest way"))
        if behind <= 0
        else wording("about {0} times less likely", f"{times:.1f}")
    )
    return {
        "kept": kept,
        "words": words,
        "checks": [check_words(c) for c in checks],
        "parts": [
            {
                "text": p.text,
                "kind": told(p.kind),
                "readings": "、".join(p.readings[:4]) + (" …" if len(p.readings) > 4 else ""),
                "meaning": "" if meaning(p) == told(p.kind) else meaning(p),
            }
            for p in signature.parts
        ],
    }


def meaning(part: SignaturePart) -> str:
    """What a part means. The grammar words it in English alone: in another language the value stands for it, if any."""
    said = told(part.meaning)
    if language() == "en" or said != part.meaning:
        return said or part.value
    return span(*part.value.split("/")) if part.kind == "date" and "/" in part.value else (
        part.value if part.value != part.text else "")


def dating_row(dating: Dating) -> DatingRow:
    """One dating."""
    agrees = {True: wording(
        "year and cycle agree"), False: wording(
        "they do not agree"), None: ""}[dating.agrees]
    month = wording(" intercalary") if dating.leap else ""
    month += wording(" month {0}", dating.month) if dating.month else ""
    day = wording(" day {0}", dating.day) if dating.day else ""
    return {
        "era": f"{dating.era} {dating.year or ''}{month}{day}" + (wording(" ({0} court)",
            dating.court) if dating.court else ""),
        "cycle": dating.cycle,
        "agrees": agrees,
        "disagrees": dating.agrees is False,
        "range": span(dating.first, dating.last),
        "notes": "; ".join(map(told, dating.notes)),
        "folded": dating.folded,
    }
