"""A reading attempt: what a reader wrote down, how sure, and why.

Conventions: ``confidence`` is the reader's, 0..1; ``probability`` the
computed share when the attempt was taken from a ranked list, else None.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from readaid.core.confidence import Status, checked
from readaid.core.identity import new_id, now


@dataclass(frozen=True, slots=True)
class Attempt:
    """One reading of one inscription as it stood when written down."""

    inscription: str
    written: str
    kana: str = ""
    normal: str = ""
    modern: str = ""
    romaji: str = ""
    lines: tuple[str, ...] = ()
    morae: tuple[int, ...] = ()
    form: str | None = None
    confidence: float = 0.5
    probability: float | None = None
    status: Status = Status.OPEN
    reader: str = ""
    made: str = field(default_factory=now)
    evidence: str = ""
    reasons: tuple[str, ...] = ()
    chosen: tuple[tuple[str, str], ...] = ()  # (character id, character read there)
    alternatives: tuple[str, ...] = ()
    note: str = ""
    rejected: str = ""  # why it was set aside or withdrawn
    id: str = field(default_factory=new_id)

    def __post_init__(self) -> None:
        checked(self.confidence, self.written)
