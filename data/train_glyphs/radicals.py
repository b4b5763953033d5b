"""Write the table of radicals and strokes of the model's kanji, from the Unicode Han database.

Run: ``python radicals.py CLASSES.tsv OUT.tsv [UNICODE_FOLDER]``.
"""

from __future__ import annotations

import bz2
import sys
from pathlib import Path

from glyphs_table import rows


def main(table: str, out: str, folder: str = "/usr/share/unicode") -> None:
    radical: dict[str, tuple[int, int]] = {}
    strokes: dict[str, int] = {}
    with bz2.open(Path(folder) / "Unihan_IRGSources.txt.bz2", "rt", encoding="utf-8") as lines:
        for line in lines:
            parts = line.split()
            if len(parts) < 3 or parts[1] not in ("kRSUnicode", "kTotalStrokes"):
                continue
            char = chr(int(parts[0][2:], 16))
            if parts[1] == "kRSUnicode":
                number, _, more = parts[2].partition(".")
                radical[char] = (int(number.rstrip("'")), int(more))
            else:
                strokes[char] = int(parts[2])
    with open(out, "w", encoding="utf-8", newline="\n") as file:
        file.write(
            "# Radical (1-214), strokes besides it, strokes in all, of the kanji the model knows.\n"
            "# Source: Unicode 15 Unihan kRSUnicode (first value) and kTotalStrokes (first value).\n"
            "character\tradical\tmore\tstrokes\n"
        )
        for row in rows(Path(table)):
            char = row["character"]
            if row["kind"] in ("kanji", "letter") and char in radical:
                file.write(f"{char}\t{radical[char][0]}\t{radical[char][1]}\t{strokes[char]}\n")


if __name__ == "__main__":
    main(*sys.argv[1:4])
