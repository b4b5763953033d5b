"""A file is written beside its place and put there whole: a full disk or a crash leaves the former one as it was.

Conventions: what is half-written is named ``NAME.<number>-<letters>.part``; nothing else bears that ending.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from readaid.core.identity import new_id

#: Ending of every half-written file; archives leave such files out, so no photograph may bear it.
PART = ".part"


@contextmanager
def beside(target: Path) -> Iterator[Path]:
    """The path to write to in place of ``target``; when the block ends well the file takes its place, else it is gone.

    >>> import tempfile
    >>> place = Path(tempfile.mkdtemp()) / "note.txt"
    >>> with beside(place) as part:
    ...     _ = part.write_text("whole")
    >>> place.read_text(), len(list(place.parent.iterdir()))
    ('whole', 1)
    """
    part = target.with_name(f"{target.name}.{os.getpid()}-{new_id()[:8]}{PART}")
    try:
        yield part
        with part.open("rb+") as stream:
            os.fsync(stream.fileno())
        os.replace(part, target)
    finally:
        part.unlink(missing_ok=True)
