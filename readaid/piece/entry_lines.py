"""An entry's fields as lines of plain text, for a form or a command, and back.

Conventions: one item a line; the parts of an item are parted by `` | `` in the order of its dataclass. What is left out
at the end of a line is empty. Lists of words are parted by ``、`` or a comma.
"""

from __future__ import annotations

from typing import Any

from readaid.core.entry import CUTS, VERDICTS, Allusion, Entry, GlossedWord, Translation
from readaid.core.errors import OptionError, unknown_option
from readaid.script.lengths import length

#: Fields a form shows, in the order of the entry, and whether each takes more than a line.
FIELDS: tuple[tuple[str, bool], ...] = (
    ("edited", False), ("read_out", False), ("romanised", False), ("paraphrase", True), ("translations", True),
    ("words", True), ("season", False), ("cutting", False), ("places", False), ("pillows", False), ("allusions", True),
    ("picture", True), ("date_argument", True), ("comment", True), ("not_read", True), ("cut", False),
    ("tool_width", False))
_ITEMS: dict[str, tuple[type, tuple[str, ...]]] = {
    "translations": (Translation, ("text", "language", "translator")),
    "words": (GlossedWord, ("form", "lemma", "part", "gloss", "source")),
    "allusions": (Allusion, ("verdict", "text", "reference"))}
#: No tool that cuts signs is as wide as this, in mm: a number like it is a slip.
MOST_WIDE = 100.0
_LISTS = ("season", "cutting", "places", "pillows")


def shown(entry: Entry, name: str) -> str:
    """A field of an entry as text.

    >>> shown(Entry("i", translations=(Translation("soot", "en", "Mori"),), season=("煤払い",)), "translations")
    'soot | en | Mori'
    """
    value = getattr(entry, name)
    if name in _ITEMS:
        parts = _ITEMS[name][1]
        return "\n".join(" | ".join(getattr(item, p) for p in parts).rstrip(" |") for item in value)
    if name in _LISTS:
        return "、".join(value)
    return "" if value is None or value == "not stated" else f"{value:g}" if isinstance(value, float) else str(value)


def taken(name: str, text: str) -> Any:
    """The value that a text stands for; OptionError with the cure where it stands for none.

    >>> taken("allusions", "a variant | ふるいけや | first print"), taken("season", "春、 雁")
    ((Allusion(text='ふるいけや', reference='first print', verdict='a variant'),), ('春', '雁'))
    """
    if name not in dict(FIELDS):
        raise unknown_option("entry field", name, dict(FIELDS))
    text = text.strip()
    if name in _ITEMS:
        return tuple(_item(name, line) for line in text.splitlines() if line.strip())
    if name in _LISTS:
        return tuple(w.strip() for w in text.replace(",", "、").split("、") if w.strip())
    if name == "tool_width":
        return _width(text)
    if name == "cut":
        if (text or "not stated") not in CUTS:
            raise unknown_option("cut", text, CUTS)
        return text or "not stated"
    return text


def _item(name: str, line: str) -> Any:
    kind, parts = _ITEMS[name]
    values = [v.strip() for v in line.split("|")]
    if len(values) > len(parts):
        raise OptionError(f"The line has {len(values)} parts", line[:60], "part them as: " + " | ".join(parts))
    fields = {p: v for p, v in zip(parts, values, strict=False) if v}
    if name == "allusions" and fields.get("verdict", "not traced") not in VERDICTS:
        raise unknown_option("verdict", fields["verdict"], VERDICTS)
    if parts[0] not in fields:
        raise OptionError("The line says nothing first", line[:60], "part it as: " + " | ".join(parts))
    return kind(**fields)


def _width(text: str) -> float | None:
    if not text:
        return None
    value = length(text)
    if value >= MOST_WIDE:
        raise OptionError("That is no width of a tool", text, "write a number of mm such as 0.4")
    return value
