"""Backups that rotate by themselves, and the journal beside them.

Conventions: everything lies in ``backups/`` beside the register. A backup is a
whole register, ``NAME-v<revision>-<UTC time>.sqlite``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any


class Keeper:
    """Keeps the backups of one register file."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def before_writing(self) -> None:
        """Called before each write."""

    def written(self, rows: list[dict[str, Any]]) -> None:
        """Called after each durable write, with the rows of the revision table."""

    def closing(self, version: int) -> None:
        """Called when the register is closed."""
