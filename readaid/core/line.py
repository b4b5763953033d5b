"""What kind of line a row of signs is, each kind with its probability.

Conventions: kinds are told likeliest first and their probabilities sum to 1; they are computed from the signs alone.
"verse" comes with its likeliest form.
"""

from __future__ import annotations

from dataclasses import dataclass

LINE_KINDS = ("verse", "signature", "date", "signature with date", "title or place", "Chinese line", "seal text",
              "prose")


@dataclass(frozen=True, slots=True)
class LineKind:
    """One kind a line may be: probability 0..1 and what in the signs speaks for it."""

    kind: str
    probability: float
    why: str = ""
    form: str | None = None  # of a verse or a Chinese line
