"""Makes the text face of the screen: one woff2 with Latin, kana, JIS X 0208 kanji and the old forms our tables hold.

    python -P data/make_tables/text_face.py /usr/share/fonts/opentype/noto/NotoSerifCJK-Regular.ttc
    python -P data/make_tables/text_face.py    (only the small cut, out of the face that is there)

The small cut holds the face's Latin letters and signs: it travels with the style sheet, so that words of the screen
have their widths from the first picture on and nothing moves when the whole face comes (kanji are as wide in any face).

Source: Noto Serif CJK JP Regular 2.001 (Debian package fonts-noto-cjk), SIL Open Font License 1.1, licence beside the
result. The cut bears a name of its own ("Readaid Text"): "Source" is a reserved font name of the outlines' maker, and
a cut face should not be taken for the whole one.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTCollection, TTFont

ROOT = Path(__file__).resolve().parents[2]
TARGET = ROOT / "readaid" / "core" / "fonts" / "readaid-text.woff2"
SMALL = TARGET.with_name("readaid-latin.woff2")
NAME, SMALL_NAME = "Readaid Text", "Readaid Latin"
#: Latin with macrons, punctuation, and the signs of the screen.
LATIN = {*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x2010, 0x2028), *range(0x2030, 0x203B),
         *map(ord, "⁂←↑→↓↩−×□▴▸▾◂○●✓⟦⟧")}


def characters() -> set[int]:
    """Code points of the face: Latin with macrons, punctuation, JIS X 0208, and every kanji in our own tables."""
    wanted = set(LATIN)
    for row in range(0x21, 0x75):  # JIS X 0208, rows 1 to 84, as EUC
        for cell in range(0x21, 0x7F):
            try:
                wanted.update(map(ord, bytes((row | 0x80, cell | 0x80)).decode("euc_jp")))
            except UnicodeDecodeError:
                continue
    for table in (ROOT / "readaid" / "script" / "tables").glob("*.tsv"):  # 龝 and its like, which JIS X 0208 lacks
        wanted.update(ord(c) for c in table.read_text(encoding="utf-8") if "\u3400" <= c <= "\u9fff")
    return wanted


def cut(font: TTFont, wanted: set[int], name: str, target: Path) -> None:
    """Write a cut of a font under a name of its own."""
    options = subset.Options(
        flavor="woff2", name_IDs=[0, 1, 2, 3, 4, 5, 6, 13, 14], notdef_outline=True, desubroutinize=True, hinting=False,
        layout_features=["kern", "vert", "vrt2", "vkrn", "locl", "ccmp", "liga", "mark", "mkmk"])
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=wanted)
    cutter.subset(font)
    for record in list(font["name"].names):
        if record.nameID in (1, 4):
            record.string = name
        elif record.nameID in (3, 6):
            record.string = name.replace(" ", "") + "-Regular"
    if "CFF " in font:
        top = font["CFF "].cff.topDictIndex[0]
        font["CFF "].cff.fontNames[0] = name.replace(" ", "") + "-Regular"
        top.FamilyName, top.FullName = name, name
    subset.save_font(font, str(target), options)
    print(f"{target.name}: {len(font.getBestCmap())} characters, {target.stat().st_size:,} bytes")


def main(source: str = "") -> None:
    """Cut the face out of ``source`` (a collection whose first font is the Japanese one), and the small one out of it.

    Without a source the face stays as it is.
    """
    if source:
        cut(TTCollection(source).fonts[0], characters(), NAME, TARGET)
    cut(TTFont(TARGET), LATIN, SMALL_NAME, SMALL)


if __name__ == "__main__":
    main(*sys.argv[1:])
