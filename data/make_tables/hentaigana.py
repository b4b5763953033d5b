"""Make readaid/script/tables/hentaigana.tsv from the Unicode names list.

Run from the repository root: ``python data/make_tables/hentaigana.py [NamesList.txt]``. The names list comes
with Debian's ``unicode-data`` (/usr/share/unicode/NamesList.txt). Facts only: code point, sounds, parent.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

LIST = Path("/usr/share/unicode/NamesList.txt")
OUT = Path(__file__).resolve().parents[2] / "readaid" / "script" / "tables" / "hentaigana.tsv"
#: Sound labels of the Unicode names. YE stands nowhere in them; WI WE WO are ゐ ゑ を.
ROWS = {"": "あいうえお", "K": "かきくけこ", "S": "さしすせそ", "T": "たちつてと", "N": "なにぬねの", "H": "はひふへほ",
        "M": "まみむめも", "R": "らりるれろ"}
SOUNDS = {c + v: k for c, row in ROWS.items() for v, k in zip("AIUEO", row, strict=True)}
SOUNDS |= {"YA": "や", "YU": "ゆ", "YO": "よ", "WA": "わ", "WI": "ゐ", "WE": "ゑ", "WO": "を", "N": "ん"}


def letters(names_list: str) -> list[tuple[int, str, str]]:
    """(code point, name, parent kanji) of each letter; U+1B001 by its corrected name (the line that begins with %)."""
    found = []
    pattern = re.compile(r"^(1B[0-9A-F]{3})\t(.+)\n((?:\t.*\n)*)", re.M)
    for code, name, notes in pattern.findall(names_list):
        corrected = re.search(r"^\t% (HENTAIGANA.+)$", notes, re.M)
        label = corrected[1] if corrected else name
        parent = re.search(r"derived from ([0-9A-F]{4,5})", notes)
        if label.startswith("HENTAIGANA LETTER") and parent:
            found.append((int(code, 16), label, chr(int(parent[1], 16))))
    return found


def sounds(name: str) -> list[str]:
    """Hiragana of a name such as HENTAIGANA LETTER N-MU-MO-1 or A-WO."""
    return [SOUNDS[p] for p in name.removeprefix("HENTAIGANA LETTER ").split("-") if not p.isdigit()]


def table(names_list: str) -> str:
    """The whole table as text."""
    head = ("# The 286 hentaigana: U+1B002..U+1B11E, and U+1B001 by its corrected name E-1.\n"
            "# Source: the Unicode names list (names, name corrections and 'derived from' notes), made by\n"
            "# data/make_tables/hentaigana.py. Sounds in hiragana, joined by / where one letter has several.\n"
            "code\tcharacter\tsounds\tparent\tname\n")
    return head + "".join(f"{code:04X}\t{chr(code)}\t{'/'.join(sounds(name))}\t{parent}\t{name}\n"
                          for code, name, parent in letters(names_list))


if __name__ == "__main__":
    source = Path(sys.argv[1]) if len(sys.argv) > 1 else LIST
    OUT.write_text(table(source.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"{OUT}: {len(letters(source.read_text(encoding='utf-8')))} letters from {source}")
