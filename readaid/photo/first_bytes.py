"""What a file is by its first bytes: raw files of cameras, and the usual things that people take for photos.

Conventions: names are told to the user; "" where nothing is known. Signs are those of the formats' own specifications;
those of raw files from memory.
"""

from __future__ import annotations

import os
from pathlib import Path

#: First bytes of files that people take for photos.
_SIGNS = ((b"GIF8", "GIF"), (b"BM", "BMP"), (b"%!PS", "PostScript"), (b"\xc5\xd0\xd3\xc6", "PostScript"),
          (b"%PDF", "PDF"))
#: First bytes of raw files, and the endings of those that are TIFF inside.
_RAW = ((b"FUJIFILMCCD-RAW", "RAF"), (b"IIRO", "ORF"), (b"IIRS", "ORF"), (b"MMOR", "ORF"), (b"IIU\0", "RW2"),
        (b"FOVb", "X3F"), (b"\0MRM", "MRW"))
_RAW_ENDINGS = (".nef", ".nrw", ".arw", ".sr2", ".srf", ".dng", ".pef", ".srw", ".3fr", ".fff", ".iiq", ".erf", ".kdc",
                ".dcr", ".mos", ".rwl")


def head(path: str | os.PathLike[str]) -> bytes:
    """The first 16 bytes of a file."""
    with open(path, "rb") as stream:
        return stream.read(16)


def other(path: str | os.PathLike[str]) -> str:
    """What the file is, where it is one of the usual things that are no photo for us; else ""."""
    begins = head(path)
    return next((name for start, name in _SIGNS if begins.startswith(start)), "")


def raw(path: str | os.PathLike[str]) -> str:
    """Which raw file this is, "" for none. Many are TIFF inside: Pillow would open the small picture they carry."""
    if os.path.isdir(path):
        return ""
    begins, ending = head(path), Path(path).suffix.lower()
    if begins[8:10] == b"CR" and begins[:4] == b"II*\0":
        return "CR2"
    if begins[4:12] == b"ftypcrx ":
        return "CR3"
    return next((name for start, name in _RAW if begins.startswith(start)),
                ending[1:].upper() if ending in _RAW_ENDINGS and begins[:4] in (b"II*\0", b"MM\0*") else "")
