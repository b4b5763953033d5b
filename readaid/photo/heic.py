"""HEIC photographs, as telephones take them: known by their first bytes, opened where the decoder is installed.

Conventions: the decoder is ``pi-heif`` (``pip install readaid[heic]``; its wheels bring libheif and libde265 under the
LGPL 3 and only decode). It turns a picture upright itself, so its orientation is 1; more than 8 bits come as 8.
"""

from __future__ import annotations

import functools

#: Brands of still pictures (ISO/IEC 23008-12, annex B); "hevc" and "msf1" are sequences and stay out.
BRANDS = (b"heic", b"heix", b"heim", b"heis", b"mif1")
#: The format's name in Pillow.
NAME = "HEIF"


def is_heic(head: bytes) -> bool:
    """Whether a file that begins so is a HEIC still picture; ``head`` are its first 12 bytes or more.

    >>> is_heic(b"\\0\\0\\0\\x18ftypheic"), is_heic(b"\\0\\0\\0\\x18ftypcrx ")
    (True, False)
    """
    return head[4:8] == b"ftyp" and head[8:12] in BRANDS


@functools.cache
def decoder() -> bool:
    """Whether the decoder is here; tells Pillow of it at the first asking."""
    try:
        from pi_heif import register_heif_opener
    except ImportError:
        return False
    register_heif_opener(thumbnails=False, decode_threads=1)
    return True
