"""Lengths and weights as they are written: millimetres and grams, and the old units.

Conventions: lengths in millimetres, weights in grams. A measure may be written with its unit: ``12.5``, ``12,5 mm``,
``3 cm``, ``1 sun``, ``2 bu``, ``38.5 g``, ``2 匁``.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping

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


#: Grams of each unit. 1 momme = 3.75 g by the same law.
WEIGHTS = {"": 1.0, "g": 1.0, "kg": 1000.0, "momme": 3.75, "匁": 3.75}
#: A number as it is written, with what may be its unit behind it.
_WRITTEN = re.compile(r"(\d+(?:\.\d+)?|\.\d+)\s*([^\d\s.]*)")


def length(text: str) -> float:
    """Millimetres from what was typed; OptionError where it is no length.

    >>> length("12,5"), length("3 cm"), round(length("１寸"), 3)
    (12.5, 30.0, 30.303)
    """
    value = _measure(text, UNITS)
    if value is None:
        raise OptionError("That is no length", text, "write millimetres as a number, such as 12.5")
    return value


def weight(text: str) -> float:
    """Grams from what was typed; OptionError where it is no weight.

    >>> weight("38,5 g"), weight("2 匁")
    (38.5, 7.5)
    """
    value = _measure(text, WEIGHTS)
    if value is None:
        raise OptionError("That is no weight", text, "write grams as a number, such as 38.5")
    return value


def _measure(text: str, units: Mapping[str, float]) -> float | None:
    """A number above 0 in the first of the units, None where the text is none."""
    match = _WRITTEN.fullmatch(unicodedata.normalize("NFKC", text).strip().lower().replace(",", "."))
    if not match or match[2] not in units:
        return None
    value = float(match[1]) * units[match[2]]
    return value if 0 < value < math.inf else None
