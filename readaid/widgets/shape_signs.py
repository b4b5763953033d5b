"""Signs that nobody judged and shape alone read: which they are, how they are marked and told, what is kept of them.

Conventions: ``unread`` holds the places (0-based) of the signs that shape spoke for in a search, none where it was not
asked. What is read so is a proposal: it is marked wherever it is shown, and no attempt keeps it as its reader's.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Set
from typing import Any

from readaid.core.character import Character
from readaid.core.lattice import Reason
from readaid.core.reading import Reading
from readaid.piece.decipherment import unjudged
from readaid.widgets.verse_lines import line_rows


def unread_places(signs: Iterable[Character]) -> frozenset[int]:
    """Places of the signs that shape may speak for."""
    return frozenset(at for at, k in enumerate(signs) if unjudged(k))


def from_shape(reading: Reading, unread: Set[int]) -> dict[int, str]:
    """What a reading takes the signs for that only shape spoke for, by place."""
    return {at: sign for at, sign in enumerate(reading.chosen) if sign and at in unread}


def shape_note(reading: Reading, unread: Set[int], named: bool = True) -> str:
    """How many signs of a reading nobody has judged, and which if ``named``; "" if there is none."""
    found = from_shape(reading, unread)
    if not found:
        return ""
    signs = ", ".join(f"{sign} at {at + 1}" for at, sign in found.items())
    return (f"{len(found)} sign{'' if len(found) == 1 else 's'} from shape alone, judged by nobody: "
            f"a proposal to check sign by sign{f' ({signs})' if named else ''}.")


def shape_words(best: Reading | None, unread: Set[int]) -> str:
    """What asking shape for the unread signs gave, in plain sentences."""
    if not unread:
        return "Every sign with a zone has been judged: nothing is left to be read by its shape."
    silent = len(unread) - len(from_shape(best, unread)) if best else len(unread)
    rest = (f"{silent} unread sign{'' if silent == 1 else 's'} could not be read by shape: nothing that fits is to be "
            "seen in the zone." if silent else "")
    return " ".join(x for x in (shape_note(best, unread, False) if best else "", rest) if x)


def to_keep(reading: Reading, unread: Set[int]) -> Reading:
    """A reading as it may be written down: signs from shape stay unread in it, and its reasons say what was proposed.

    What an attempt chose for a sign counts as its reader's judgement, in the edition and where readers are compared.
    """
    found = from_shape(reading, unread)
    if not found:
        return reading
    chosen = tuple("" if at in found else sign for at, sign in enumerate(reading.chosen))
    told = Reason("from shape", note=shape_note(reading, unread))
    return dataclasses.replace(reading, chosen=chosen, written="".join(c or "?" for c in chosen),
                               reasons=(told, *reading.reasons))


def shape_lines(reading: Reading, unread: Set[int]) -> tuple[list[dict[str, Any]], list[str]]:
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
        parts: list[dict[str, Any]] = []
        for part in row["parts"]:
            for sign in part["text"]:
                marks = {"restored": part["restored"], "shape": at in places and not part["restored"]}
                at += 1
                if parts and {k: parts[-1][k] for k in marks} == marks:
                    parts[-1]["text"] += sign
                else:
                    parts.append({"text": sign, **marks})
        row["parts"] = parts
    return rows, general


def written_parts(reading: Reading, unread: Set[int] = frozenset()) -> list[dict[str, Any]]:
    """The signs as they stand in parts, supplied ones in square brackets; those from shape alone have ``shape``."""
    filled = {r.at: r.kana for r in reading.restored}
    doubtful = from_shape(reading, unread)
    if not (filled or doubtful) or not reading.chosen:
        return [{"text": reading.written, "shape": False}]
    parts: list[dict[str, Any]] = []
    for at, sign in enumerate(reading.chosen):
        text = f"[{filled[at]}]" if at in filled and not sign else sign
        if parts and parts[-1]["shape"] == (at in doubtful):
            parts[-1]["text"] += text
        else:
            parts.append({"text": text, "shape": at in doubtful})
    return parts
