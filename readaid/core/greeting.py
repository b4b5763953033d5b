"""What a window says and shows of a piece before any program has opened it."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Greeting:
    """Title of the piece, its reader, a small picture of it as a data address ("": none).

    The launcher writes it down, the window's server reads it, which need not open the piece for it.
    """

    title: str = "readaid"
    reader: str = ""
    still: str = ""

    def write(self, path: Path) -> None:
        """Keep it in a file."""
        path.write_text(json.dumps(asdict(self), ensure_ascii=False), encoding="utf-8")

    @classmethod
    def read(cls, path: Path) -> Greeting:
        """What was kept in a file."""
        return cls(**json.loads(path.read_text(encoding="utf-8")))
