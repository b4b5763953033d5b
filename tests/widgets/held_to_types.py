"""What panels tell, held against the types that say it: states in ``widgets.states``, messages in ``widgets.messages``.

Conventions: ``watch`` is on in every test of the notebook face (``conftest.py``), so each state and message of each
test counts; ``SEEN`` are the kinds of rows that were met, ``WRONG`` the places that were of no type.
"""

from __future__ import annotations

import functools
import types
import typing

import pytest

from readaid.widgets import messages, states
from readaid.widgets.panel import Panel

SEEN: set[str] = set()
WRONG: list[str] = []


@functools.cache
def _fields(kind) -> dict[str, typing.Any]:
    return typing.get_type_hints(kind, include_extras=True)


def unlike(value, kind, where="") -> list[str]:
    """Where a value is not of a type, down into lists, pairs and records."""
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if kind is typing.Any:
        return []
    if origin is typing.Literal:
        return [] if value in inside else [f"{where}: {value!r} is none of {inside}"]
    if origin is typing.NotRequired:
        return unlike(value, inside[0], where)
    if origin in (types.UnionType, typing.Union):
        found = [unlike(value, one, where) for one in inside]
        return [] if not all(found) else min(found, key=len)
    if typing.is_typeddict(kind):
        fields = _fields(kind)
        if not isinstance(value, dict):
            return [f"{where}: {value!r} is no {kind.__name__}"]
        SEEN.add(kind.__name__)
        gone = [f"{where}.{k} is not there" for k, its in fields.items()
                if k not in value and typing.get_origin(its) is not typing.NotRequired]
        new = [f"{where}.{k} has no type" for k in set(value) - set(fields)]
        return gone + new + [x for k in set(value) & set(fields) for x in unlike(value[k], fields[k], f"{where}.{k}")]
    if origin is list and isinstance(value, list | tuple):
        return [x for one in value for x in unlike(one, inside[0], f"{where}[]")]
    if origin is tuple and isinstance(value, list | tuple) and len(value) == len(inside):
        return [x for one, its in zip(value, inside, strict=True) for x in unlike(one, its, f"{where}()")]
    if origin is dict and isinstance(value, dict):
        return [x for one in value.values() for x in unlike(one, inside[1], f"{where}{{}}")]
    plain = {float: (int, float)}.get(kind, kind)
    right = origin is None and isinstance(value, plain) and (kind is bool or not isinstance(value, bool))
    return [] if right else [f"{where}: {value!r} is no {kind}"]


def told(panel) -> list[str]:
    """Where the state that a panel tells now is not of its type."""
    kind = states.STATES[type(panel).__name__]
    return unlike(panel.state, kind, kind.__name__)


def message(content) -> None:
    """Hold a message against the kinds that there are."""
    WRONG.extend(unlike(content, messages.Told, f"message {content}"))


def watch(patch: pytest.MonkeyPatch) -> None:
    """From here on every state that a panel of ours is given, and every message it sends, is held against its type."""
    trait, send = Panel.state, Panel.send
    plain = trait.validate

    def validate(panel, value):
        kind = states.STATES.get(type(panel).__name__)
        if value and kind is not None:
            WRONG.extend(unlike(value, kind, kind.__name__))
        return plain(panel, value)

    def sent(panel, content, buffers=None):
        message(content)
        send(panel, content, buffers)

    patch.setattr(trait, "validate", validate)
    patch.setattr(Panel, "send", sent)
