"""What may come into a piece folder from outside: pictures, known by what they hold, under names that run nothing.

Conventions
-----------
* A picture is a JPEG, PNG, TIFF or WebP by its own first bytes and header, opened by the list of ``photo.file``.
* It lies directly in ``photos/``; its name ends as its content says. A record that names any other place
  (``notebooks/readaid.py``, ``jupyter.py``: both once ran) gets a name made here, from its id.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path

from readaid.core.errors import ArchiveError, PhotoError
from readaid.core.photo import Photo
from readaid.core.veil import neutral
from readaid.register.safezip import safe_name

FOLDER = "photos"
#: Endings a picture's name may have, by its format; the first is the one we give.
ENDINGS = {"JPEG": (".jpg", ".jpeg"), "MPO": (".jpg", ".jpeg"), "PNG": (".png",), "TIFF": (".tif", ".tiff"),
           "WEBP": (".webp",), "HEIF": (".heic", ".heif")}
_CURE = "do not use it; ask for a new copy from someone you trust"


def format_of(path: Path, shown: str = "") -> str:
    """The format of a picture by its content.

    Raises
    ------
    ArchiveError: if it is no picture, whatever its name says.
    """
    from readaid.photo.file import opened

    try:
        with opened(path) as picture:
            return picture.format or ""
    except PhotoError as error:
        raise ArchiveError("What should be a photo is none", f"{shown or path.name}: {error.what}", _CURE) from error


def plain(file: str) -> bool:
    """Whether a photo's name is one that a picture in ``photos/`` may have.

    >>> [plain(n) for n in ("photos/菊 1.jpg", "photos/a/b.jpg", "notebooks/1.ipynb", "jupyter.py", "photos/.x.jpg")]
    [True, False, False, False, False]
    """
    folder, _, name = file.partition("/")
    odd = any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn") for c in name)  # a turned "gpj.exe", too
    # A name with a turning mark in it shows as "jpg" what ends in ".exe"; a leading dot hides a file.
    return (folder == FOLDER and "/" not in name and safe_name(file) and not odd and not name.startswith(".")
            and len(name) <= 150 and Path(name).suffix.lower() in {e for some in ENDINGS.values() for e in some})


def fits(file: str, format: str) -> bool:
    """Whether a plain name ends as its content says.

    >>> fits("photos/a.JPG", "MPO"), fits("photos/a.jpg", "PNG")
    (True, False)
    """
    return plain(file) and Path(file).suffix.lower() in ENDINGS[format]


def made(photo: Photo, format: str) -> str:
    """A name of our own for a photo's file; the same record gets the same name again.

    >>> made(Photo("jupyter.py", "", 1, 1, id="x"), "PNG")
    'photos/photo-2d711642b726.png'
    """
    return neutral(photo, ENDINGS[format][0])


def folded(file: str) -> str:
    """A name as a file system compares it that knows no capitals: two such names are one file on some machines."""
    return unicodedata.normalize("NFC", file).casefold()
