"""Find a kanji by a part that can still be seen, by where it stands, and by its strokes.

Conventions: a part is a character (水, or its form in a character, 氵), or the English name of a radical as Unicode has
it ("water", "roof"); a number 1-214 means the radical itself. Radicals and strokes come with readaid (Unicode Han
database, kRSUnicode and kTotalStrokes); a kanji has *one* radical. Any other part, and where it stands, is known
where the open table of :mod:`readaid.glyphs.components` is installed; without it only radicals are found (寺 does not
find 時).
"""

from __future__ import annotations

import csv
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from readaid.core.errors import OptionError, TableError, unknown_option
from readaid.glyphs import components
from readaid.glyphs.classes import FOLDER, index

#: First of the 214 Kangxi radical signs; each decomposes to its kanji and bears its English name.
FIRST = 0x2F00
#: Forms a radical takes inside a character that Unicode does not decompose to it (CJK Radicals Supplement names).
INSIDE = {"氵": 85, "亻": 9, "忄": 61, "扌": 64, "犭": 94, "刂": 18, "灬": 86, "辶": 162,
          "⻌": 162, "艹": 140, "⺾": 140, "礻": 113, "衤": 145, "阝": 170, "钅": 167, "訁": 149, "糹": 120, "飠": 184,
          "攵": 66,
          "王": 96, "月": 74, "罒": 122, "耂": 125}


@dataclass(frozen=True, slots=True)
class Parts:
    """A kanji with its radical (number and character), the strokes besides it and in all."""

    character: str
    radical: int
    part: str
    more: int
    strokes: int


def radical(part: str | int) -> int:
    """Number of a radical by its character, form, number or English name.

    >>> radical("氵"), radical("water"), radical("水"), radical(85)
    (85, 85, 85, 85)
    """
    if isinstance(part, int) and not isinstance(part, bool) and 1 <= part <= 214:
        return part
    text = str(part).strip()
    names = _names()
    found = INSIDE.get(text) or names.get(unicodedata.normalize("NFKC", text)) or names.get(text.lower())
    if found is None:
        raise unknown_option("part", text, [n for n in names if n.isascii()])
    return found


def by_part(part: str | int, strokes: int | tuple[int, int] | None = None,
            place: str | None = None) -> tuple[Parts, ...]:
    """Kanji with this part, fewest strokes first; ``strokes`` in all, one number or (fewest, most).

    One number allows one stroke either way, since counts differ between countries (海: 9 in Japan, 10 in the table).
    ``place`` is one of ``components.PLACES`` ("left", "top" ...), its trade name ("hen", "kanmuri"), or two from the
    outside in ("bottom left"); it needs the table of parts, and TableError says how to install it. Raises OptionError
    for an unknown part or place.

    >>> "海" in [p.character for p in by_part("water", (9, 10))]
    True
    """
    low, high = (0, 99) if strokes is None else strokes if isinstance(strokes, tuple) else (strokes - 1, strokes + 1)
    fitting = [p for p in _table() if low <= p.strokes <= high]
    if place is None and (not isinstance(part, str) or not components.installed()):
        number = radical(part)
        return tuple(p for p in fitting if p.radical == number)
    where = components.place_named(place) if place is not None else None
    number, forms = _forms(part)
    found = tuple(p for p in fitting if _has(p.character, forms, where)
                  or (where is None and p.radical == number and number))
    if not found and not number and not any(_has(p.character, forms, None) for p in _table()):
        raise OptionError(f"No kanji with the part '{part}' is known", cure="give a part as a character, such as 寺")
    return found


def _forms(part: str | int) -> tuple[int, frozenset[str]]:
    """Number of the radical (0: not one) and every way in which the part may be written."""
    text = unicodedata.normalize("NFKC", str(part).strip())
    try:
        number = radical(part)
    except OptionError:
        if len(text) != 1 or text.isascii():
            raise
        return 0, frozenset({text})
    if not (isinstance(part, str) and len(text) == 1):  # a name means the radical in all its forms
        text = unicodedata.normalize("NFKC", chr(FIRST + number - 1))
    return number, frozenset({text, unicodedata.normalize("NFKC", chr(FIRST + number - 1)),
                              *(form for form, n in INSIDE.items() if n == number)})


def _has(character: str, forms: frozenset[str], place: str | None) -> bool:
    return any((c.part in forms or c.original in forms) and place in (None, c.place)
               for c in components.components(character))


@lru_cache(maxsize=1)
def _names() -> dict[str, int]:
    out: dict[str, int] = {}
    for number in range(1, 215):
        sign = chr(FIRST + number - 1)
        out[unicodedata.normalize("NFKC", sign)] = number
        out[unicodedata.name(sign).removeprefix("KANGXI RADICAL ").lower()] = number
    return out


@lru_cache(maxsize=1)
def _table() -> tuple[Parts, ...]:
    faults: list[str] = []
    out: list[Parts] = []
    path = FOLDER / "radicals.tsv"
    with path.open(encoding="utf-8", newline="") as file:
        lines = [(n, line) for n, line in enumerate(file, 1) if not line.startswith("#")]
    for (number, _), row in zip(lines[1:], csv.DictReader((t for _, t in lines), delimiter="\t"), strict=True):
        try:
            which, more, strokes = int(row["radical"]), int(row["more"]), int(row["strokes"])
        except (TypeError, ValueError):
            which, more, strokes = 0, 0, 0
        if row["character"] not in index() or not 1 <= which <= 214 or strokes < 1:
            faults.append(f"{path.name}, row {number}: {row['character']}")
            continue
        out.append(Parts(row["character"], which, unicodedata.normalize("NFKC", chr(FIRST + which - 1)), more, strokes))
    if faults:
        raise TableError("The radical table is faulty", "; ".join(faults), "install readaid again")
    return tuple(sorted(out, key=lambda p: (p.strokes, p.character)))
