"""Two forms on a plate to print: laid on each other as photographed, or stroke by stroke as traced.

Conventions: sheets in millimetres (``sheet``); the first form is blue and drawn through, the second vermilion and
broken, so that the plate can be read in black and white. Strokes bear their numbers: of the first plain, of the
second in brackets. A scale bar stands only where the unit is known.
"""

from __future__ import annotations

import numpy as np
from PIL import Image

from readaid.forms.comparison import Comparison
from readaid.forms.correspondence import Correspondence
from readaid.forms.overlay import BLUE, BOTH, ORANGE, RING
from readaid.forms.sheet import Sheet
from readaid.forms.sheet_items import COLOURS, width_of
from readaid.forms.wording import about_pair

_FIRST, _SECOND, _RING = COLOURS[0], COLOURS[1], COLOURS[3]
_SIDE = 84.0


def stroke_plate(found: Correspondence, names: tuple[str, str] = ("first", "second"), unit: str = "", note: str = ""
                 ) -> Sheet:
    """Two tracings on each other: numbered strokes, what only one has heavier, bends ringed, a scale bar.

    Parameters
    ----------
    found: what ``correspondence.correspond`` gave. names: what the two are called. unit: of the first tracing's points
    ("mm" draws a scale bar; "" says that the scale is not known). note: method and version, for the caption.
    """
    every = np.concatenate([np.asarray(s) for s in (*found.a, *found.laid)])
    low, span = every.min(0), np.ptp(every, axis=0)
    scale = (_SIDE - 12) / max(float(span.max()), 1e-9)
    sheet = Sheet(_SIDE + 16, 200, f"{names[0]} and {names[1]}, stroke by stroke")

    def at(point: tuple[float, float]) -> tuple[float, float]:
        x, y = (np.asarray(point) - low) * scale
        return float(x) + 12, float(y) + 10

    matched = {p.b for p in found.pairs}
    dash: tuple[float, ...]
    for strokes, colour, dash, lone, mark in (
            (found.a, _FIRST, (), found.dropped, "{}"), (found.laid, _SECOND, (1.6, 1.0), found.added, "({})")):
        for k, stroke in enumerate(strokes, 1):
            points = [at(p) for p in stroke]
            if len(points) == 1:
                sheet.mark(*points[0], 0 if colour == _FIRST else 8, 2.2)
            else:
                sheet.line(*points, colour=colour, width=1.1 if k in lone else 0.6, dash=dash)
            x, y = points[0]
            shift = -1.6 if colour == _FIRST else 2.2
            sheet.words(x + shift, y - 1.2, mark.format(k), size=7, colour=colour,
                        anchor="end" if colour == _FIRST else "start")
    for pair in found.pairs:
        if pair.bends:
            x, y = at(pair.at)
            turn = np.linspace(0, 2 * np.pi, 36)
            sheet.line(*((x + 4 * float(np.cos(t)), y + 4 * float(np.sin(t))) for t in turn), colour=_RING, width=0.5)
    foot = 12 + float(span[1]) * scale + 8
    if unit == "mm":
        bar = 10 ** float(np.floor(np.log10(max(40 / scale, 1e-9))))
        bar *= 5 if bar * 5 * scale <= 45 else 2 if bar * 2 * scale <= 45 else 1
        sheet.line((10, foot), (10 + bar * scale, foot), width=0.8)
        sheet.words(10, foot + 4, f"{bar:g} mm", size=7)
    else:
        sheet.words(10, foot + 1, "scale not known", size=7)
    x = 42.0
    for k, (name, colour, dash) in enumerate(((f"1, 2 …: {names[0]}", _FIRST, ()),
                                              (f"(1), (2) …: {names[1]}", _SECOND, (1.6, 1.0)))):
        sheet.line((x, foot + 4.5 * k - 1), (x + 7, foot + 4.5 * k - 1), colour=colour, width=0.6, dash=dash)
        sheet.words(x + 9, foot + 4.5 * k, name, size=7)
    heavy = "; heavy: only one has it" if found.dropped or len(matched) < len(found.laid) else ""
    sheet.caption = (f"{names[1]} laid on {names[0]}, as traced{heavy}; rings: where a stroke bends away. {found.text}"
                     f"{' ' + note if note else ''}")
    sheet.height = sheet.paragraph(6, foot + 11, sheet.width - 12, sheet.caption) + 2
    return sheet


def overlay_plate(found: Comparison, pictures: tuple[Image.Image, Image.Image],
                  names: tuple[str, str] = ("first", "second"), note: str = "") -> Sheet:
    """Both photographs and the second form laid on the first, with what was measured below.

    ``pictures`` are the two as photographed; ``note`` method and version, for the caption.
    """
    side = 52.0
    sheet = Sheet(3 * side + 22, 200, f"{names[1]} laid on {names[0]}")
    overlay = found.picture(620).crop((0, 0, 620, 620))
    shown = ((pictures[0], names[0]), (pictures[1], names[1]), (overlay, "laid on each other"))
    for k, (picture, name) in enumerate(shown):
        x = 6 + k * (side + 5)
        sheet.picture(x, 5, side, side, picture, name)
        sheet.words(x + side / 2, side + 10, name, size=8, anchor="middle")
    foot, x = side + 17, 6.0
    for colour, said in ((BLUE, names[0]), (ORANGE, names[1]), (BOTH, "both"), (RING, "ring: differs")):
        sheet.box(x, foot - 2.6, 4, 3, fill="#{:02x}{:02x}{:02x}".format(*colour), edge=0)
        sheet.words(x + 5.5, foot, said, size=7)
        x += 11 + width_of(said, 7)
    told = about_pair(found, names[0], names[1])
    sheet.caption = f"{told}{' ' + note if note else ''}"
    sheet.height = sheet.paragraph(6, foot + 6, sheet.width - 12, sheet.caption) + 2
    return sheet
