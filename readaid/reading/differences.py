"""What differs between a reading and a known verse, in words.

Conventions: signs are counted from 1 in the order of the piece, kana of a verse from 1; distance is in signs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from readaid.lexicon.verse_text import KnownVerse
from readaid.reading.kana_profile import ALPHABET, OTHER, Profile, codes, fold
from readaid.reading.verse_alignment import Codes, Step
from readaid.script import exchange

SPELLING = 0.25


@dataclass(frozen=True)
class Told:
    """Distance in signs, differences in words, whether nothing differs, first kana of the verse that is there."""

    distance: float
    differences: tuple[str, ...]
    same: bool
    offset: int


def tell(read: Profile, steps: Sequence[Step], verse: KnownVerse, row: Codes, length: int,
         old: list[int] | None) -> Told:
    """Put the steps of an alignment with a ``row`` of the verse into words.

    ``length``: kana of the row; ``old``: each sign's place on the piece where columns moved.
    """
    kana = verse.kana
    exact = len(kana) == length  # the row spells the verse as its source does, kana for kana
    notes: list[str] = []
    distance, offset, same = 0.0, 0, True
    for step in _joined(steps):
        place = _place(step, old)
        there = kana[step.begin:step.stop] if exact else ""
        count = step.stop - step.begin
        if step.kind == "before":
            offset, distance, same = count, distance + count, False
            notes.append(f"the verse begins earlier{_quoted(there)}: {count} kana are not here")
        elif step.kind == "after":
            distance, same = distance + count, False
            notes.append(f"the verse goes on{_quoted(there)}: {count} kana are not here")
        elif step.kind == "missing":
            distance, same = distance + count, False
            notes.append(f"after sign {step.start if old is None or not step.start else old[step.start - 1] + 1}"
                         f" {count} kana of the verse are missing{_quoted(there)}")
        elif step.kind == "extra":
            seen = sum(not read.unread[i] for i in range(step.start, step.end))
            # An unread sign too much may be a flaw of the surface: it counts half.
            distance += seen + 0.5 * (step.end - step.start - seen)
            same = False
            what = "".join(read.labels[step.start:step.end])
            notes.append(f"{place} {what}: not in the verse")
        elif step.kind in ("sign", "gap") and _read_otherwise(read, step, row):
            # What the verse's own text writes with this kanji is read so there, whatever the tables have.
            if read.labels[step.start] not in verse.text:
                distance, same = distance + 1.0, False
                notes.append(f"{place} {read.labels[step.start]}: the verse has {there or 'something else'}, which it "
                             "is not known to be read")
        elif step.kind == "sign":
            cost, note = _sign(read, step, kana if exact else "", length)
            distance += cost
            same &= cost <= SPELLING or note == ""
            if note:
                notes.append(f"{place} {note}")
        elif step.kind == "span" and step.span is not None and step.span.end - step.span.start != len(step.span.codes):
            notes.append(f"{place} {''.join(read.labels[step.start:step.end])}: spelling of {step.span.kana}")
    return Told(round(distance, 3), tuple(notes), same, offset)


def _read_otherwise(read: Profile, step: Step, row: Codes) -> bool:
    """Whether a kanji stands for kana that neither its readings nor a kana among its candidates give."""
    return step.start in read.kanji and (step.kind == "gap" or not read.shares[step.start, row[step.begin]] > 0.0)


def _joined(steps: Sequence[Step]) -> list[Step]:
    """Neighbouring missing kana, or signs too much, told together."""
    out: list[Step] = []
    for step in steps:
        if out and step.kind == out[-1].kind and step.kind in ("missing", "extra"):
            last = out.pop()
            step = Step(step.kind, last.start, step.end, last.begin, step.stop)
        out.append(step)
    return out


def _place(step: Step, old: list[int] | None) -> str:
    first, last = step.start, step.end - 1
    if old is not None and last >= first:
        first, last = old[first], old[last]
    return f"sign {first + 1}" if last <= first else f"signs {first + 1} to {last + 1}"


def _quoted(text: str) -> str:
    return f" ({text})" if text else ""


def _sign(read: Profile, step: Step, kana: str, length: int) -> tuple[float, str]:
    """Distance and note of one sign against one kana."""
    i = step.start
    if read.unread[i]:
        return 0.0, ""
    shares = read.shares[i]
    best = float(shares.max())
    there = kana[step.begin] if kana else ""
    code = codes(there)[0] if there else OTHER
    if not kana:
        return (0.0, "") if best <= 0 or read.signs[i].argmax() == shares.argmax() else (SPELLING, "")
    label = read.labels[i]
    if shares[code] > 0.0:
        cost = 1.0 - float(shares[code]) / best
        mark = read.marked.get(i)
        if mark and fold(mark) == fold(there) and mark != there:
            return cost, f"{mark} with its mark: the verse has {there}"
        return cost, f"{label}: the verse has {there}, a less likely candidate" if cost > 0.05 else ""
    if best <= 0.0:
        return 0.0, ""  # a kanji or a mark alone
    likely = ALPHABET[int(shares.argmax())] if int(shares.argmax()) < OTHER else label
    # え for へ is a spelling of the time and no other word.
    if fold(there) in {fold(a) for a in exchange.alike(likely)}:
        return SPELLING, f"{label}: spelling of {there}"
    return 1.0, f"{label}: the verse has {there}"
