"""Make ``readaid/core/fonts/labels.ttf``: the font that labels of printed figures are set in.

From VL PGothic (Debian ``fonts-vlgothic`` 20220612, ``VL-PGothic-Regular.ttf``): its signs of JIS X 0208 and Latin
letters, without hinting and typographic features, so that 4 MB become 1.7. Licence beside the font.

    python data/make_tables/label_font.py VL-PGothic-Regular.ttf readaid/core/fonts/labels.ttf
"""

import sys

from fontTools import subset
from fontTools.ttLib import TTFont


def wanted():
    signs = {*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x2010, 0x2040), 0x2212, 0x00D7}
    for row in range(1, 95):
        for cell in range(1, 95):
            try:
                signs.add(ord(bytes([0xA0 + row, 0xA0 + cell]).decode("euc_jp")))
            except UnicodeDecodeError:  # a place of the table that holds no sign
                continue
    return signs


def main(source, target):
    font = TTFont(source)
    options = subset.Options()
    options.layout_features, options.hinting, options.name_IDs, options.notdef_outline = [], False, ["*"], True
    options.drop_tables += ["GSUB", "GPOS", "GDEF", "DSIG", "vhea", "vmtx", "mort"]
    cut = subset.Subsetter(options)
    cut.populate(unicodes=wanted() & set(font.getBestCmap()))
    cut.subset(font)
    font.save(target)


if __name__ == "__main__":
    main(*sys.argv[1:])
