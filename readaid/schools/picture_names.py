"""What a picture's file name says: maker and year, where a collector has named the files so.

Conventions: "蘆香_1818_2.png" and "Rokusen 1790 (3).jpg" say maker and year; numbers that are no year number the
pictures. A name that holds only numbers, or begins as cameras do (IMG, DSC), says nothing. It is a proposal to be
looked at: a file name is nobody's evidence.
"""

from __future__ import annotations

import re
from pathlib import Path

_PARTS = re.compile(r"[\s_\-.,()\[\]（）]+")
#: What cameras and scanners begin names with.
_MACHINES = {"img", "dsc", "dscn", "dscf", "scan", "image", "photo", "p"}


def told(name: str) -> tuple[str, int | None]:
    """Maker ("" where the name tells none) and year from a file's name.

    >>> told("蘆香_1818_2.png"), told("Rokusen II 1790 (3).jpg"), told("IMG_20261103.jpg"), told("0012.png")
    (('蘆香', 1818), ('Rokusen II', 1790), ('', None), ('', None))
    """
    words: list[str] = []
    year = None
    for part in _PARTS.split(Path(name).stem):
        if part.isdigit():
            if year is None and len(part) == 4 and 1000 <= int(part) < 2000:
                year = int(part)
            continue
        if part and year is None:
            words.append(re.sub(r"\d+$", "", part))  # "kiku2" is the second picture of kiku
    maker = " ".join(w for w in words if w)
    return ("", None) if not maker or maker.lower() in _MACHINES else (maker, year)
