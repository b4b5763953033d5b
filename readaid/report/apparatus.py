"""The apparatus: sign by sign what was seen, by whom, when and from which photograph, and what was rejected and why.

Conventions: "sure" is the reader's word and number (0..1); "computed" is a probability by shape, a column of its own.
A rejected reading stands with the reason its reader gave. Where readers differ, each is named with what they saw.
"""

from __future__ import annotations

from collections.abc import Iterable

from readaid.core.character import Candidate, Character, Inscription
from readaid.core.confidence import Damage
from readaid.core.confidence import word as confidence_word
from readaid.core.judgement import Judgement
from readaid.report import condition_part
from readaid.report.document import Block, Cell, Paragraph, Picture, Table, filled
from readaid.report.edition import EditionSign, State
from readaid.report.matter import Matter, share
from readaid.script.hentaigana import letter

#: Width of a sign's crop on paper, in mm.
CROP_MM = 13.0


def tables(m: Matter, target: Inscription, signs: Iterable[EditionSign], numbers: dict[str, int]) -> list[Block]:
    """The table of signs; in a blind copy numbers and crops alone."""
    rows = [_row(m, sign, numbers) for sign in signs]
    if m.blind:  # what the others say is judgement, and "intact" would be one
        return [Table((m.w("number"), m.w("crop")), tuple(r[:2] for r in rows))]
    heads = ("number", "crop", "tracing", "read_as", "parent", "confidence", "probability_shape", "damage", "others",
             "seen_by", "note")
    return [*_seen_from(m, numbers), filled(tuple(m.w(h) for h in heads), tuple(rows))]


def _seen_from(m: Matter, numbers: dict[str, int]) -> list[Block]:
    """From which photographs, under which lamps the signs were judged; several: which numbers from which."""
    found: dict[str, list[int]] = {}
    for zone in m.contents.zones:
        if zone.id in numbers:
            found.setdefault(zone.photo, []).append(numbers[zone.id])
    told = []
    for photo, held in found.items():
        if photo in m.photos:
            p = m.photos[photo]
            which = f" ({', '.join(map(str, sorted(held)))})" if len(found) > 1 else ""
            told.append(f"{p.title or p.file}, {m.lamp(p)}{f', {p.taken[:10]}' if p.taken else ''}{which}")
    return [Paragraph(f"{m.w('seen_from')}: {'; '.join(told)}", "note")] if told else []


def _row(m: Matter, sign: EditionSign, numbers: dict[str, int]) -> tuple[Cell, ...]:
    record = m.characters[sign.character]
    data = m.pictures.crop(sign.zones)
    number = ", ".join(str(numbers[z]) for z in sign.zones if z in numbers)
    picture = Picture(data, "image/jpeg", f"{m.w('crop')} {number}", CROP_MM) if data else None
    found = letter(sign.text) if len(sign.text) == 1 else None
    own = next((c for c in record.candidates if c.character == sign.text), None)
    sure = f"{sign.confidence:.2f} {m.w(confidence_word(sign.confidence))}" if sign.confidence is not None else ""
    noted = "; ".join(dict.fromkeys(filter(None, (record.note, own.note if own else ""))))
    names = condition_part.letters(m)
    why = [f"{names[r.id]}: {m.said('cause', r.cause)}" for r in condition_part.reasons(m, sign.zones)]
    damage = "\n".join(["" if record.damage is Damage.NOT_STATED else m.w(record.damage.value), *why]).strip()
    return (Cell(number), Cell("", picture), _tracing(m, sign, number),
            Cell(sign.text, japanese=True, dotted=sign.state is State.UNCLEAR),
            Cell(found.parent if found else "", japanese=True), Cell(sure),
            Cell(share(own.probability) if own else ""), Cell(damage),
            Cell("\n".join(_rival(m, c) for c in sorted(record.candidates, key=lambda c: -c.confidence)
                           if c.character != sign.text), japanese=True),
            Cell("\n".join(_judged(m, record))), Cell(noted))


def _rival(m: Matter, c: Candidate) -> str:
    """A rejected reading: the sign, how sure, by shape how probable, what was noted, and why it was not taken."""
    said = f"{c.character} {c.confidence:.2f}"
    if c.probability is not None:
        said += f" ({m.w('by_shape')} {share(c.probability)})"
    return said + (f" · {c.note}" if c.note else "") + (f" – {m.w('rejected')}: {c.rejected}" if c.rejected else "")


def _judged(m: Matter, record: Character) -> list[str]:
    """Who judged the sign last and when; several readers each with what they took it for."""
    last: dict[str, Judgement] = {}
    for j in sorted(m.contents.judgements, key=lambda j: j.made):
        if j.character == record.id and (j.sign is not None or j.reader not in last):
            last[j.reader] = j
    if len(last) == 1:
        return [f"{j.reader} {j.made[:10]}" for j in last.values()]
    return [f"{j.reader} {j.made[:10]}: {j.sign or '□'}" + (f" {j.confidence:.2f}" if j.sign else "")
            for j in last.values()]


def _tracing(m: Matter, sign: EditionSign, number: str) -> Cell:
    """The tracing of a sign (a blind copy has none: a tracing is an interpretation)."""
    found = m.pictures.traced(sign.zones)
    if found is None:
        return Cell("")
    data, by_hand = found
    alt = f"{m.w('tracing' if by_hand else 'tracing_proposed')} {number}"
    return Cell("" if by_hand else m.w("proposed"), Picture(data, "image/png", alt, CROP_MM))
