"""Confidence, damage and status: three different things, never mixed.

Conventions: a *confidence* is the reader's own, 0..1. A *probability* is
computed. *Damage* says how much of the sign survives. None of the three is
ever written over another.
"""

from __future__ import annotations

from enum import StrEnum

from readaid.core.errors import OptionError

#: Upper bound (inclusive) of each word, in ascending order. Common practice, no source.
WORDS: tuple[tuple[str, float], ...] = (
    ("guess", 0.35), ("unsure", 0.6), ("probable", 0.9), ("certain", 1.0))
#: The value a word stands for when the reader picks the word instead of a number.
VALUES: dict[str, float] = {"guess": 0.2, "unsure": 0.5, "probable": 0.8, "certain": 0.97}


class Damage(StrEnum):
    """What survives of a sign (independent of how sure the reader is)."""

    INTACT = "intact"
    WORN = "worn"
    TRACES = "traces"  # seen, but no sign can be told
    LOST = "lost"
    NOT_STATED = "not stated"  # nobody looked yet: that is not "intact"


class Status(StrEnum):
    """What became of a reading attempt."""

    OPEN = "open"
    PREFERRED = "preferred"
    SET_ASIDE = "set aside"
    WITHDRAWN = "withdrawn"
    SETTLED = "settled"


def word(confidence: float) -> str:
    """The word for a confidence.

    >>> word(0.95), word(0.2)
    ('certain', 'guess')
    """
    checked(confidence)
    return next(name for name, top in WORDS if confidence <= top)


def checked(confidence: float, where: str = "") -> float:
    """Return ``confidence`` if it is a number 0..1, else raise OptionError.

    >>> checked(0.5)
    0.5
    """
    if not 0.0 <= confidence <= 1.0:  # NaN fails too
        raise OptionError(f"Confidence {confidence!r} is not between 0 and 1", where,
                          "give a number from 0 (no idea) to 1 (certain)")
    return float(confidence)
