"""Answers of the signature grammar marked against a sheet: what the floors assert and the bench prints."""

from __future__ import annotations

from dataclasses import dataclass, field

from readaid.script import signature
from readaid.script.signerfit import ProposedPerson
from tests.script.examine import sheets


@dataclass
class Marks:
    """Counts of one sheet, with the lines that went wrong."""

    lines: int = 0
    wrong_person: list[str] = field(default_factory=list)
    wrong_role: list[str] = field(default_factory=list)
    missing_part: list[str] = field(default_factory=list)
    unread_name: list[str] = field(default_factory=list)
    names: int = 0
    with_parts: int = 0


def given(persons: list[ProposedPerson]) -> list[tuple[tuple[str, ...], str]]:
    """All names and the role of each person proposed, a pupil's teacher as a person of its own."""
    return [((p.name, *p.aliases), p.role) for p in persons] + [((p.teacher,), "teacher") for p in persons if p.teacher]


def marked(sheet: str) -> Marks:
    """Every line of a sheet taken apart and marked."""
    marks = Marks()
    for row in sheets.rows(sheet):
        best = signature.parse(row["text"])[0]
        held = given(signature.persons(best))
        text = row["text"].replace("\n", "/")
        marks.lines += 1
        if why := sheets.persons_wrong(row["persons"], [names for names, _ in held]):
            marks.wrong_person.append(f"{text}: {why}")
        elif why := sheets.roles_wrong(row["persons"], held):
            marks.wrong_role.append(f"{text}: {why}")
        if row["parts"]:
            marks.with_parts += 1
            if why := sheets.parts_missing(row["parts"], [(p.kind, p.text) for p in best.parts]):
                marks.missing_part.append(f"{text}: {why}")
        for part in best.parts:
            if part.kind in ("name", "art name", "usual name") and not set("?□") & set(part.text):
                marks.names += 1
                if not part.readings:
                    marks.unread_name.append(part.text)
    return marks
