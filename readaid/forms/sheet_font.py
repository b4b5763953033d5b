"""The label font cut down to the signs that a sheet uses: the one door to fontTools in this room.

Conventions: TrueType bytes; a sign that the font lacks is left to whatever font the reader has.
"""

from __future__ import annotations

import io

from fontTools import subset
from fontTools.ttLib import TTFont

from readaid.core.places import label_font


def only(signs: str) -> bytes:
    """The font with these signs and no others.

    >>> only("花押")[:4] == bytes((0, 1, 0, 0))
    True
    """
    font = TTFont(label_font(), recalcTimestamp=False)
    options = subset.Options()
    options.layout_features, options.hinting, options.notdef_outline = [], False, True
    cut = subset.Subsetter(options)
    cut.populate(unicodes={ord(c) for c in signs} & set(font.getBestCmap()) | {0x20})
    cut.subset(font)
    buffer = io.BytesIO()
    font.save(buffer)
    return buffer.getvalue()
