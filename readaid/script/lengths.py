"""Lengths as they are written: millimetres, and the old units of the carpenter's foot.

Conventions: lengths in millimetres. A length may be written with its unit: ``12.5``, ``12,5 mm``, ``3 cm``, ``1 sun``,
``2 bu``.
"""

from __future__ import annotations

import re
import unicodedata

from readaid.core.errors import OptionError

#: Millimetres of each unit. 1 shaku = 10/33 m by the weights and measures law of 1891.
UNITS = {
    "": 1.0,
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,
    "shaku": 10000 / 33,
    "尺": 10000 / 33,
    "sun": 1000 / 33,
    "寸": 1000 / 33,
    "bu": 100 / 33,
    "分": 100 / 33,
}


def length(text: str) -> float:
    """Millimetres from what was typed.

    >>> length("12,5"), length("3 cm"), round(length("１寸"), 3)
    (12.5, 30.0, 30.303)
    """
    plain = unicodedata.normalize("NFKC", text).strip().lower().replace(",", ".")
    match = re.fullmatch(r"(\d+(?:\.\d+)?|\.\d+)\s*([^\d\s.]*)", plain)
    if not match or match[2] not in UNITS or float(match[1]) <= 0:
        raise OptionError("That is no length", text, "write millimetres as a number, such as 12.5")
    return float(match[1]) * UNITS[match[2]]
