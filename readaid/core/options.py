"""Checks of what a caller gives beside the text: numbers and seconds. Wrong types are told in words.

Conventions: a check returns the value in its own type or raises ``OptionError`` with the cure; ``where`` names the
option's owner. A bool is no number.
"""

from __future__ import annotations

import itertools
import math
import operator
from collections.abc import Iterable, Mapping, Set
from enum import StrEnum
from typing import Any, TypeVar

from readaid.core.errors import OptionError, TextError, unknown_option

E = TypeVar("E", bound=StrEnum)


def whole(value: Any, name: str, what: str, most: int, least: int = 1) -> int:
    """A whole number from ``least`` to ``most``: how many of ``what`` are asked for.

    >>> whole(5, "k", "readings", 200)
    5
    >>> whole("x", "k", "readings", 200)
    Traceback (most recent call last):
    readaid.core.errors.OptionError: k = 'x' is no whole number (readings): give a number from 1 to 200.
    """
    cure = f"give a number from {least} to {most}"
    if isinstance(value, bool):
        raise OptionError(f"{name} = {value!r} is no whole number", what, cure)
    try:
        number = operator.index(value)
    except TypeError:
        raise OptionError(f"{name} = {_short(value)} is no whole number", what, cure) from None
    if number < least:
        raise OptionError(f"{name} = {number} asks for no {what}", cure=cure)
    if number > most:
        raise OptionError(f"{name} = {number} asks for more {what} than are given", cure=cure)
    return number


def seconds(value: Any, name: str = "time_limit") -> float | None:
    """A span of time in seconds, 0 or more; None where no limit is given.

    >>> seconds(None) is None, seconds(2)
    (True, 2.0)
    """
    if value is None:
        return None
    try:
        number = math.nan if isinstance(value, bool | str | bytes) else float(value)
    except (TypeError, ValueError, OverflowError):
        number = math.nan
    if not number >= 0.0:
        raise OptionError(f"{name} = {_short(value)} is no span of time", "seconds", "give 0 or more, or None")
    return number


def member(kind: type[E], value: E | str, name: str) -> E:
    """The member of a list of words that a value names; OptionError with the nearest right one for another.

    >>> from readaid.core.confidence import Status
    >>> member(Status, "open", "status")
    <Status.OPEN: 'open'>
    >>> member(Status, "opened", "status")
    Traceback (most recent call last):
    readaid.core.errors.OptionError: Unknown status 'opened': did you mean 'open'? Known: open, preferred, ...
    """
    try:
        return kind(value)
    except ValueError:
        raise unknown_option(name, str(value), [m.value for m in kind]) from None


def listed(value: Any, most: int = 5_000) -> list[Any]:
    """Signs given as a list: any iterable but a text, bytes, a mapping or a set. Raises TextError for anything else.

    >>> listed(("か", "な"))
    ['か', 'な']
    >>> listed(5)
    Traceback (most recent call last):
    readaid.core.errors.TextError: A int is no text and no list of signs: give text, or for each sign a list of pairs
    of a character and a confidence from 0 to 1.
    """
    if not isinstance(value, Iterable) or isinstance(value, str | bytes | bytearray | Mapping | Set):
        told = "None" if value is None else f"A {type(value).__name__}"
        raise TextError(f"{told} is no text and no list of signs",
                        cure="give text, or for each sign a list of pairs of a character and a confidence from 0 to 1")
    found = list(itertools.islice(value, most + 1))  # an endless one too
    if len(found) > most:
        raise TextError(f"More than {most:,} signs cannot be read", cure=f"give up to {most:,}")
    return found


def _short(value: Any) -> str:
    told = repr(value)
    return told if len(told) <= 60 else told[:57] + "..."
