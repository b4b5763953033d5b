"""Lines of a verse for the screen: morae against the form, the rules used in each, what was supplied.

Conventions: lines are those of the verse, not of the carving; a rule belongs
to the line in which the word at its position begins.
"""

from __future__ import annotations

from readaid.core.reading import Reading, Verse
from readaid.core.texts import told, wording
from readaid.widgets.reading_states import LinePart, LineRow

#: Kind of the reasons that only say which sound a letter has; they are told once for the whole (``letters``).
LETTER = "hentaigana"


def wanted(form: str | None, lines: int) -> list[int | None]:
    """Morae each line should have, None where the form does not say.

    >>> wanted("hokku", 3), wanted(None, 2)
    ([5, 7, 5], [None, None])
    """
    from readaid.script.verse_forms import BY_NAME

    found = BY_NAME.get(form or "")
    lengths = list(found.lines) if found else []
    if found and found.repeats:
        lengths = lengths * lines
    return [lengths[i] if i < len(lengths) else None for i in range(lines)]


def counted(form: str | None) -> str:
    """What the lines of a form are counted in: Chinese verse has signs, not sounds.

    >>> counted("hokku"), counted(None)
    ('morae', 'morae')
    """
    from readaid.script.verse_forms import BY_NAME

    found = BY_NAME.get(form or "")
    return "characters" if found is not None and found.unit == "character" else "morae"


def verse_rows(verse: Verse) -> list[LineRow]:
    """Lines of counted text."""
    want = wanted(verse.form, len(verse.lines))
    return [
        {
            "parts": [{"text": text, "restored": False}],
            "morae": morae,
            "want": want[i],
            "unit": told(counted(verse.form)),
            "surplus": verse.surplus[i] if i < len(verse.surplus) else None,
            "rules": [],
        }
        for i, (text, morae) in enumerate(zip(verse.lines, verse.morae, strict=False))
    ]


def line_rows(reading: Reading) -> tuple[list[LineRow], list[str]]:
    """Lines of a reading with their rules and supplied signs, and the reasons that belong to the whole."""
    want = wanted(reading.form, len(reading.lines))
    starts = line_of_positions(reading)
    rules: dict[int, list[str]] = {}
    general: list[str] = []
    for reason in reading.reasons:
        line = starts.get(reason.at) if reason.at >= 0 else None
        if reason.kind == LETTER:
            continue
        words = told(str(reason))
        if line is None:
            if words not in general:
                general.append(words)
        elif words not in rules.setdefault(line, []):
            rules[line].append(words)
    supplied = supplied_places(reading)
    rows: list[LineRow] = []
    at = 0
    for i, text in enumerate(reading.lines):
        parts: list[LinePart] = []
        for offset, sign in enumerate(text):
            is_supplied = at + offset in supplied
            if parts and parts[-1]["restored"] == is_supplied:
                parts[-1]["text"] += sign
            else:
                parts.append({"text": sign, "restored": is_supplied})
        at += len(text)
        rows.append(
            {
                "parts": parts,
                "morae": reading.morae[i] if i < len(reading.morae) else 0,
                "want": want[i],
                "unit": told(counted(reading.form)),
                "surplus": reading.surplus[i] if i < len(reading.surplus) else None,
                "rules": rules.get(i, []),
            }
        )
    return rows, general


def _spans(reading: Reading) -> list[tuple[int, int, int, int]]:
    """(first position, last + 1, first kana, last + 1) of each word, counted over the whole reading."""
    spans, at = [], 0
    for w in reading.words:
        spans.append((w.start, w.end, at, at + len(w.kana)))
        at += len(w.kana)
    return spans


def line_of_positions(reading: Reading) -> dict[int, int]:
    """Verse line of each position of the inscription, where words tell it."""
    ends, total = [], 0
    for text in reading.lines:
        total += len(text)
        ends.append(total)
    found = {}
    for start, end, kana, kana_end in _spans(reading):
        for p in range(start, end):
            k = kana + min(p - start, max(kana_end - kana - 1, 0))
            found[p] = next((i for i, e in enumerate(ends) if k < e), max(len(ends) - 1, 0))
    return found


def supplied_places(reading: Reading) -> set[int]:
    """Places in the joined lines of kana that were supplied, where one sign is one kana."""
    filled = {r.at: r.kana for r in reading.restored}
    joined = "".join(reading.lines)
    places: set[int] = set()
    for start, end, kana, kana_end in _spans(reading):
        if kana_end - kana == end - start:
            places |= {
                kana + p - start
                for p in range(start, end)
                if p in filled and joined[kana + p - start : kana + p - start + 1]
            }
    return places


def letters(reading: Reading) -> str:
    """Old letters of a reading with their sound and parent kanji, each once."""
    from readaid.script.hentaigana import letter

    sounds = {}
    for reason in reading.reasons:
        if reason.kind == LETTER and reason.written not in sounds:
            found = letter(reason.written)
            parent = f" ({found.parent})" if found and found.parent else ""
            sounds[reason.written] = f"{reason.written} {reason.read}{parent}"
    return "、".join(sounds.values())


def percent(p: float) -> str:
    """A share in words for the screen: never a bare 0 % or 100 % for what is only near it.

    >>> percent(0.999), percent(0.0001), percent(0.42), percent(0.007)
    ('over 99 %', 'under 1 %', '42 %', '1 %')
    """
    if p > 0.995:
        return wording("over 99 %")
    return wording("under 1 %") if p < 0.005 else f"{p:.0%}".replace("%", " %")
