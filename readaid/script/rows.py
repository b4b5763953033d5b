"""The tables of this room: TSV in ``tables/``, read by ``core.tsv``."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from readaid.core import tsv
from readaid.core.tsv import Row

TABLES = Path(__file__).resolve().parent / "tables"


def load(name: str, columns: Sequence[str], make: Callable[[dict[str, str]], Row],
         path: Path | None = None) -> list[Row]:
    """Rows of ``tables/name`` (or of ``path/name``); see :func:`readaid.core.tsv.load`.

    >>> load("cycle_signs.tsv", ("kind", "sign", "number", "sound", "meaning"), lambda r: r["sign"])[:2]
    ['甲', '乙']
    """
    return tsv.load((path or TABLES) / name, columns, make)
