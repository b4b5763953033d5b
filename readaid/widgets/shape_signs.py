"""Signs that nobody judged and shape alone read: how they are marked and told on the screen (see ``piece.claims``)."""

from __future__ import annotations

from collections.abc import Sequence, Set

from readaid.core.reading import Reading
from readaid.core.texts import plural, wording
from readaid.piece.claims import from_shape, shape_note
from readaid.widgets.reading_states import LinePart, LineRow, WrittenPart
from readaid.widgets.verse_lines import line_rows


def shape_words(best: Reading | None, unread: Set[int], notes: Sequence[str] = ()) -> str:
    """What asking shape for the unread signs gave, in plain sentences; ``notes`` are those of the proposal."""
    if not unread:
        return wording("Every sign with a zone has been judged: nothing is left to be read by its shape.")
    silent = len(unread) - len(from_shape(best, unread)) if best else len(unread)
    rest = (plural(
        silent,
        "{0} unread sign could not be read by shape: nothing that fits is to be seen in the zone.",
        "{0} unread signs could not be read by shape: nothing that fits is to be seen in the zone.") if silent else "")
    return " ".join(x for x in (shape_note(best, unread, False) if best else "", rest, *notes) if x)


def shape_lines(reading: Reading, unread: Set[int]) -> tuple[list[LineRow], list[str]]:
    """As ``line_rows``; parts read from shape alone have ``shape``.

    A whole word has it where its kana are not those of its signs one by one (山 read やま).
    """
    rows, general = line_rows(reading)
    found = from_shape(reading, unread)
    if not found:
        return rows, general
    places: set[int] = set()
    at = 0
    for w in reading.words:
        single = len(w.kana) == w.end - w.start
        for p in range(w.start, w.end):
            if p in found:
                places |= {at + p - w.start} if single else set(range(at, at + len(w.kana)))
        at += len(w.kana)
    at = 0
    for row in rows:
        parts: list[LinePart] = []
        for part in row["parts"]:
            for sign in part["text"]:
                restored, shape = part["restored"], at in places and not part["restored"]
                at += 1
                if parts and (parts[-1]["restored"], parts[-1]["shape"]) == (restored, shape):
                    parts[-1]["text"] += sign
                else:
                    parts.append({"text": sign, "restored": restored, "shape": shape})
        row["parts"] = parts
    return rows, general


def written_parts(reading: Reading, unread: Set[int] = frozenset()) -> list[WrittenPart]:
    """The signs as they stand in parts, supplied ones in square brackets; those from shape alone have ``shape``."""
    filled = {r.at: r.kana for r in reading.restored}
    doubtful = from_shape(reading, unread)
    if not (filled or doubtful) or not reading.chosen:
        return [{"text": reading.written, "shape": False}]
    parts: list[WrittenPart] = []
    for at, sign in enumerate(reading.chosen):
        text = f"[{filled[at]}]" if at in filled and not sign else sign
        if parts and parts[-1]["shape"] == (at in doubtful):
            parts[-1]["text"] += text
        else:
            parts.append({"text": text, "shape": at in doubtful})
    return parts
