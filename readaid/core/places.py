"""Where the project's own data and notebooks lie: beside the package in a checkout, inside it when installed.

Conventions: returns absolute paths; nothing is created.
"""

from __future__ import annotations

from pathlib import Path

from readaid.core.errors import ReadaidError

_PACKAGE = Path(__file__).resolve().parent.parent


def share(name: str) -> Path:
    """Folder ``data`` or ``notebooks`` of the project.

    >>> share("data").name
    'data'
    """
    for base in (_PACKAGE / "_share", _PACKAGE.parent):
        if (base / name).is_dir():
            return base / name
    raise ReadaidError(f"The project's '{name}' folder is missing", str(_PACKAGE),
                       "install readaid again, from the whole checkout")


def hentaigana_font() -> Path:
    """The font shipped to show hentaigana (Noto Serif Hentaigana, woff2; licence OFL beside it).

    >>> hentaigana_font().suffix
    '.woff2'
    """
    return _PACKAGE / "core" / "fonts" / "noto-serif-hentaigana.woff2"


def label_font() -> Path:
    """The font shipped for labels of figures in either script (VL PGothic, JIS X 0208; licence beside it).

    >>> label_font().suffix
    '.ttf'
    """
    return _PACKAGE / "core" / "fonts" / "labels.ttf"


def text_font() -> Path:
    """The font shipped for running text of screen and print: Latin, kana, JIS X 0208 kanji and old forms (cut from
    Noto Serif CJK JP; licence OFL beside it).

    >>> text_font().stat().st_size < 4_000_000
    True
    """
    return _PACKAGE / "core" / "fonts" / "readaid-text.woff2"


def latin_font() -> Path:
    """The Latin letters and signs of the text face by themselves, small enough to travel with a style sheet.

    >>> latin_font().stat().st_size < 60_000
    True
    """
    return _PACKAGE / "core" / "fonts" / "readaid-latin.woff2"
