"""Make the fonts of the tests: the signs that tests draw, cut out of five public-domain fonts and one under the OFL.

    pip install fonttools brotli
    python -m tests.fonts.make                     # reads Debian's fonts, writes beside this script
    python -m tests.fonts.make --unseen FILE       # cuts the font of the examination out of FILE instead

FILE is ``files/zhi-mang-xing-chinese-simplified-400-normal.woff2`` of npm's ``@fontsource/zhi-mang-xing``: grass script
that no model was trained on (``data/train_glyphs/fonts.tsv``: held).

Conventions: only outlines, advances, hints and names are kept, so that a sign is drawn pixel by pixel as the whole
font draws it (``test_fonts.py`` compares them where Debian's packages are installed). Signs a font does not hold stay
out of its cut, and are drawn as its empty box, as before.
"""

from __future__ import annotations

import argparse
import random
from pathlib import Path

HERE = Path(__file__).resolve().parent
DEBIAN = Path("/usr/share/fonts/truetype")
FILES = ("kouzan-mouhitsu/KouzanBrushFontSousyo.ttf", "kouzan-mouhitsu/kouzan-mouhitsu.ttf",
         "kouzan-mouhitsu/kouzan-mouhitsu-gyosho.ttf", "aoyagi-soseki/aoyagi-soseki.ttf",
         "aoyagi-kouzan-t/AoyagiKouzanT.ttf")
HIRAGANA = "".join(map(chr, range(0x3041, 0x3094))) + "ゝゞ"
#: What ``data/demo/make.py`` cuts: the verse by its parent kanji, date and signature.
DEMO = "須ゝ者良飛止飛良能う良尓王良飛こ衛文政己丑季冬霜野鷺汀鐫之"
UNSEEN = HERE / "ZhiMangXing.ttf"
LEFT_OUT = ("gasp", "mort", "vhea", "vmtx", "DSIG", "VORG")  # gasp of one font is longer than the format allows


def signs() -> str:
    """Every sign that a test, a bench or the script of the demo draws in one of these fonts."""
    from tests.photo.rendered import KANA, SIGNS

    return "".join(sorted(set(SIGNS + KANA + HIRAGANA + DEMO)))


def cut(source: Path, target: Path, text: str) -> None:
    """Write the part of a font that draws ``text``."""
    from fontTools import subset

    options = subset.Options()
    options.drop_tables += LEFT_OUT
    options.layout_features = []
    options.notdef_outline = True
    options.hinting = True
    options.name_IDs, options.name_languages = ["*"], ["*"]
    options.recalc_timestamp = False
    font = subset.load_font(str(source), options)
    chosen = subset.Subsetter(options)
    chosen.populate(text=text)
    chosen.subset(font)
    subset.save_font(font, str(target), options)


def held(font: Path) -> str:
    """The signs a cut holds."""
    from fontTools.ttLib import TTFont

    return "".join(map(chr, sorted(c for c in TTFont(font).getBestCmap() if c > 0x3000)))


def drawn(font: Path, many: int = 120) -> str:
    """Kanji of the examination: a seeded draw of those that the font holds and the model tells apart."""
    from readaid.glyphs.classes import classes

    there = held(font)
    known = sorted(c.character for c in classes() if c.kind == "kanji" and c.weight == 1 and c.character in there)
    return "".join(sorted(random.Random(1829).sample(known, many)))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--unseen", type=Path)
    chosen = parser.parse_args()
    if chosen.unseen:
        cut(chosen.unseen, UNSEEN, drawn(chosen.unseen))
    else:
        for name in FILES:
            cut(DEBIAN / name, HERE / Path(name).name, signs())
