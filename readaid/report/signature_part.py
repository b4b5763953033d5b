"""Signature, date, persons and monogram of one inscription.

Conventions: a person has a role in what an inscription or another source says, never in truth; what names no
inscription is told with the last one that is a signature, so that nothing is left out or told twice.
"""

from __future__ import annotations

from readaid.core import texts
from readaid.core.character import DESCRIBED, Inscription, Text
from readaid.core.contents import Contents
from readaid.core.person import Signature
from readaid.core.piece import DateRecord
from readaid.report import form_figures
from readaid.report.document import Block, Cell, Facts, Picture, Row, Table
from readaid.report.matter import Matter

#: Width on paper of a monogram and of each form beside it, in mm.
MONOGRAM_MM = 21.0


def of(m: Matter, target: Inscription) -> list[Block]:
    """The blocks on an inscription's signature, date, persons and monogram; [] where there are none."""
    home = _home(m.contents)
    here = {target.id} | ({None} if home is not None and target.id == home.id else set())
    blocks: list[Block] = []
    for signature in m.contents.signatures:
        if signature.inscription in here:
            blocks.append(_parts(m, signature))
    for d in m.contents.dates:
        if d.inscription in here:
            blocks.append(_date(m, d))
    blocks += _persons(m, here)
    monogram = _monogram(m, target)
    return blocks + ([monogram] if monogram else [])


def _home(contents: Contents) -> Inscription | None:
    """Where records belong that name no inscription: the last signature, else the last inscription."""
    held = contents.inscriptions
    return next((i for i in reversed(held) if i.kind is Text.SIGNATURE), held[-1] if held else None)


def _parts(m: Matter, signature: Signature) -> Table:
    rows = tuple((Cell(p.text, japanese=True), Cell(m.said("part", p.kind)),
                  Cell(_some(p.readings), japanese=True), Cell(_meaning(m, p.meaning, p.value)))
                 for p in signature.parts)
    heads = tuple(m.w(h) for h in ("as_written", "part", "reading", "meaning"))
    return Table(heads, rows, f"{m.w('signature_line')}: {signature.text}")


def _some(readings: tuple[str, ...], most: int = 4) -> str:
    """The first readings of a name; that there are more is told, since they are alternatives."""
    return "、".join(readings[:most]) + ("、…" if len(readings) > most else "")


def _meaning(m: Matter, meaning: str, value: str) -> str:
    """What a part means; the grammar words it in English alone, so that a Japanese report gives its value only."""
    return "; ".join(filter(None, (meaning if m.language == "en" else "", value)))


def _date(m: Matter, d: DateRecord) -> Facts:
    first, last, text = d.first, d.last, d.text
    told = " ".join(filter(None, (d.era, f"{d.year}" if d.year else "", d.cycle)))
    said = f"{text}: {first} – {last}" if first else text
    rows = [(m.w("date"), f"{said} ({told})" if told else said)]
    if d.agrees is False:
        rows.append((m.w("date_disagrees"), m.w("date_disagrees_text")))
    note = d.note
    if note:
        rows.append((m.w("note"), "; ".join(texts.told(n, m.language) for n in note.split("; "))))
    return Facts(tuple(rows))


def _persons(m: Matter, here: set[str | None]) -> list[Block]:
    names = {p.id: p for p in m.contents.persons}
    sources = {s.id: m.said("sourcekind", s.kind) for s in m.contents.sources}
    rows = []
    for r in m.contents.roles:
        if r.person in names and r.inscription in here:
            person = names[r.person]
            read = "、".join(person.readings)
            # "as the label says" stands in the note; where it does not, the kind of source is the least to be told
            weight = r.note or (sources.get(r.source, "") if r.source else "")
            rows.append((Cell(person.name, japanese=True), Cell(read, japanese=True), Cell(m.said("role", r.role)),
                         Cell(f"{r.confidence:.2f}"), Cell(weight)))
    heads = tuple(m.w(h) for h in ("name", "name_read", "role", "confidence", "note"))
    return [Table(heads, tuple(rows), m.w("persons"))] if rows else []


def _monogram(m: Matter, target: Inscription) -> Block | None:
    """The monogram as photographed to scale, and its drawing beside it where it was traced."""
    zones = [z for c in target.characters if c in m.characters
             and any(k.character in DESCRIBED for k in m.characters[c].candidates) for z in m.characters[c].zones]
    zones += [s.zone for s in m.contents.specimens if s.zone and s.inscription == target.id and s.zone not in zones]
    if not zones or m.blind:
        return None
    cells: list[tuple[Block, ...]] = []
    specimen = next((s for s in m.contents.specimens if s.zone in zones), None)
    data = form_figures.figure(specimen, m.contents, m.pictures) if specimen else m.pictures.crop(tuple(zones[:1]), 220)
    if data:
        kind = m.said("kaokind", specimen.kind) if specimen else ""
        caption = " · ".join(filter(None, (m.w("monogram"), kind)))
        cells.append((Picture(data, "image/jpeg", caption, MONOGRAM_MM, caption),))
    traced = m.pictures.traced(tuple(zones[:1]), 220)
    if traced is not None:
        caption = m.w("drawing" if traced[1] else "drawing_proposed")
        cells.append((Picture(traced[0], "image/png", caption, MONOGRAM_MM, caption),))
    for shown, caption in form_figures.comparanda(m.contents, m.pictures, zones, m.language):
        cells.append((Picture(shown, "image/jpeg", caption, MONOGRAM_MM, caption),))
    near = form_figures.nearest_line(m.contents, zones, m.language)
    if near:
        cells.append((Facts(((m.w("nearest"), near),)),))
    return Row(tuple(cells)) if cells else None
