"""Photographs coming from the reader's own disk, part by part.

Conventions: parts are counted from 0 and come in order, 1 MiB each but the
last. One large message would cut the connection to the notebook, so that
the ready-made upload field fails above 10 MiB.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from readaid.core.errors import PhotoError

#: Bytes a photograph may have at most.
LARGEST = 2 * 1024**3


class Incoming:
    """Files under way; each in a folder of its own, so that its name stays as it is."""

    def __init__(self) -> None:
        self._folders: dict[str, Path] = {}
        self._next: dict[str, int] = {}

    def part(self, id: str, name: str, at: int, of: int, data: bytes) -> Path | None:
        """Take a part; the path of the whole file after the last one, else None. Raises PhotoError out of order.

        >>> store = Incoming()
        >>> store.part("a", "x.jpg", 0, 2, b"12") is None
        True
        >>> store.part("a", "x.jpg", 1, 2, b"3").read_bytes()
        b'123'
        >>> store.forget("a")
        """
        if at == 0:
            self.forget(id)
            self._folders[id], self._next[id] = Path(tempfile.mkdtemp(prefix="readaid-in-")), 0
        if self._next.get(id) != at:
            self.forget(id)
            raise PhotoError("A part of the photograph was lost on the way", name, "add it again")
        # Only the last part of the name counts: a browser may send a path, and a path must not lead out of the folder.
        path = self._folders[id] / (Path(name.replace("\\", "/")).name or "photo")
        with path.open("ab") as stream:
            stream.write(data)
        if path.stat().st_size > LARGEST:
            self.forget(id)
            raise PhotoError("The photograph is larger than 2 GB", name, "save it as JPEG or TIFF with less than 2 GB")
        self._next[id] = at + 1
        return path if at + 1 == of else None

    def forget(self, id: str) -> None:
        """Remove what came of a file."""
        folder = self._folders.pop(id, None)
        self._next.pop(id, None)
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)

    def forget_all(self) -> None:
        """Remove what came of every file."""
        for id in list(self._folders):
            self.forget(id)


class Batch:
    """Several files under way one after the other, to be taken in together."""

    def __init__(self) -> None:
        self._incoming = Incoming()
        self._came: dict[str, Path] = {}

    def part(self, id: str, name: str, at: int, of: int, last: bool, data: bytes) -> list[Path] | None:
        """Take a part; the paths of all files after the last part of the ``last`` one, else None.

        Raises PhotoError out of order; then what came is gone.

        >>> store = Batch()
        >>> store.part("a", "x.jpg", 0, 1, False, b"1") is None
        True
        >>> [p.name for p in store.part("b", "y.jpg", 0, 1, True, b"2")]
        ['x.jpg', 'y.jpg']
        >>> store.forget()
        """
        try:
            whole = self._incoming.part(id, name, at, of, data)
        except PhotoError:
            self.forget()
            raise
        if whole is not None:
            self._came[id] = whole
        return list(self._came.values()) if whole is not None and last else None

    def forget(self) -> None:
        """Remove what came, of a file under way, too."""
        self._came.clear()
        self._incoming.forget_all()
