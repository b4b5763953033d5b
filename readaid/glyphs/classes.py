"""The classes the character model tells apart: kana, hentaigana by parent kanji, kanji.

Conventions: one row of ``character_model/classes.tsv`` a class, in the order of the model's
outputs; ``sounds`` are hiragana, from the Unicode names; ``letters`` the hentaigana
code points merged in the class (a parent kanji in grass script *is* a hentaigana);
``weight`` how common the class is among its kind, a coarse scale; ``crops`` how many
crops of real old hands the training saw of it (0 for hiragana, whose real crops told a sound).
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from readaid.core.errors import TableError

FOLDER = Path(__file__).parent / "character_model"
KINDS = ("hiragana", "katakana", "letter", "kanji")


@dataclass(frozen=True, slots=True)
class ShapeClass:
    """One class: ``character``, its ``kind``, ``sounds`` and hentaigana ``letters`` (empty for plain kanji)."""

    number: int
    character: str
    kind: str
    sounds: tuple[str, ...]
    letters: tuple[str, ...]
    weight: float
    crops: int = 0

    @property
    def usual(self) -> float:
        """How usual it is as a kanji, above 0: the square root of its crops in old books and one more.

        花 stands in old books a hundred times as often as 鐔; crops were capped at 400 and signatures are not books, so
        the root is taken (chosen on crops left out for choosing, see the model card).
        """
        return float((self.crops + 1) ** 0.5)


def read(path: Path) -> tuple[ShapeClass, ...]:
    """Read and check a class table. Raises TableError with every faulty row."""
    faults: list[str] = []
    out: list[ShapeClass] = []
    seen: set[str] = set()
    with path.open(encoding="utf-8", newline="") as file:
        lines = [(n, line) for n, line in enumerate(file, 1) if not line.startswith("#")]
    for (number, _), row in zip(lines[1:], csv.DictReader((text for _, text in lines), delimiter="\t"), strict=True):
        where = f"{path.name}, row {number}"
        char, kind, weight = row.get("character") or "", row.get("kind") or "", row.get("weight") or ""
        if len(char) != 1 or char in seen:
            faults.append(f"{where}: '{char}' is not one new character")
        if kind not in KINDS:
            faults.append(f"{where}: kind '{kind}'")
        try:
            share = float(weight)
        except ValueError:
            share = 0.0
        try:
            crops = int(row.get("crops") or "0")
        except ValueError:
            crops = -1
        if crops < 0:
            faults.append(f"{where}: crops '{row.get('crops')}' is not a number from 0")
        if not 0 < share <= 1:
            faults.append(f"{where}: weight '{weight}' is not above 0 and at most 1")
        seen.add(char)
        out.append(ShapeClass(len(out), char, kind, tuple(row["sounds"] or ""), tuple(row["letters"] or ""), share,
                              crops))
    if faults:
        raise TableError("The class table is faulty", "; ".join(faults), "install readaid again")
    return tuple(out)


@lru_cache(maxsize=1)
def classes() -> tuple[ShapeClass, ...]:
    """All classes in the model's order.

    >>> len(classes()) > 2000
    True
    """
    return read(FOLDER / "classes.tsv")


@lru_cache(maxsize=1)
def index() -> dict[str, int]:
    """Class number by character; hentaigana letters lead to their parent's class.

    >>> classes()[index()["\N{HENTAIGANA LETTER HA-3}"]].sounds
    ('は',)
    """
    out = {letter: c.number for c in classes() for letter in c.letters}
    out.update((c.character, c.number) for c in classes())
    return out


@lru_cache(maxsize=1)
def sounds() -> tuple[str, ...]:
    """The 48 sounds told apart (voicing is not written), in the order of the syllabary.

    >>> sounds()[:5]
    ('あ', 'い', 'う', 'え', 'お')
    """
    return tuple(c.character for c in classes() if c.kind == "hiragana")
