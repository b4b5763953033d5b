"""Where the dictionary lies: the one door to the installed dictionary package.

Conventions: returns an absolute path to a folder with ``sys.dic``,
``matrix.bin``, ``char.bin``, ``unk.dic`` and ``left-id.def``; nothing is read here.
"""

from __future__ import annotations

from pathlib import Path

from readaid.core.errors import DictionaryError

FILES = ("sys.dic", "matrix.bin", "char.bin", "unk.dic", "left-id.def")


def folder() -> Path:
    """Folder of the installed dictionary; raises DictionaryError with the cure if there is none.

    >>> folder().name
    'dicdir'
    """
    try:
        import unidic_lite
    except ImportError as error:
        raise DictionaryError("No dictionary is installed", "unidic-lite",
                              "run: pip install unidic-lite") from error
    place = Path(unidic_lite.DICDIR)
    missing = [name for name in FILES if not (place / name).is_file()]
    if missing:
        raise DictionaryError(f"The dictionary lacks {', '.join(missing)}", str(place),
                              "run: pip install --force-reinstall unidic-lite")
    return place
