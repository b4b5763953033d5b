"""Record identity and time.

Conventions: every record carries a UUID (RFC 9562, version 4, lower case);
times are UTC, ISO 8601 with seconds or finer and the suffix ``+00:00``.
Reading order, file names and row numbers are never keys.
"""

from __future__ import annotations

import hashlib
import os
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

from readaid.core.progress import Progress, unheard

#: Bytes that are read at once: between two such blocks of a large file the work may be stopped.
BLOCK = 1 << 20


def new_id() -> str:
    """A fresh UUID as text.

    >>> len(new_id())
    36
    """
    return str(uuid.uuid4())


def now() -> str:
    """The present moment, UTC, to the millisecond.

    >>> now().endswith("+00:00")
    True
    """
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def sha256_of(path: str | os.PathLike[str], progress: Progress = unheard) -> str:
    """SHA-256 of a file's bytes, lower-case hexadecimal, read in pieces of 1 MiB. Raises OSError if it cannot be read.

    ``progress`` is told the bytes that were read of those that there are, before each piece.

    >>> import tempfile
    >>> with tempfile.NamedTemporaryFile() as file:
    ...     sha256_of(file.name)[:8]
    'e3b0c442'
    """
    digest = hashlib.sha256()
    with Path(path).open("rb") as stream:
        for block in blocks(stream, progress):
            digest.update(block)
    return digest.hexdigest()


def blocks(stream: BinaryIO, progress: Progress = unheard) -> Iterator[bytes]:
    """What is left of an opened file, piece by piece, ``progress`` told before each the bytes that came of all."""
    done, of = stream.tell(), os.fstat(stream.fileno()).st_size
    while block := stream.read(BLOCK):
        progress(min(done, of), of)
        yield block
        done += len(block)
