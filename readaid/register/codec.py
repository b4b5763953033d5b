"""Records as JSON text and back, and the fingerprint of a revision.

Conventions
-----------
* A body is compact JSON with sorted keys, UTF-8, every field written out, so
  that a default changed later does not change what was saved.
* A digest is the first 32 hex digits of SHA-256 over all that a revision says.
"""

from __future__ import annotations

import functools
import hashlib
import json
import re
from functools import cache
from typing import Any

import cattrs

from readaid.core.contents import KINDS, Record
from readaid.core.errors import RegisterError, unknown_option

_KIND_OF: dict[type, str] = {cls: kind for kind, cls in KINDS.items()}


@cache
def _converter() -> cattrs.Converter:
    # A field that nobody knows is refused: read and saved again, it would be gone.
    return cattrs.Converter(forbid_extra_keys=True, detailed_validation=False)  # twice as fast


def kind_of(record: object) -> str:
    """Name of a record's kind.

    >>> from readaid.core.piece import Note
    >>> kind_of(Note("x", "seen under raking light"))
    'note'
    """
    try:
        return _KIND_OF[type(record)]
    except KeyError:
        raise RegisterError(f"A {type(record).__name__} is not a record of the register",
                            cure=f"the kinds are {', '.join(KINDS)}", given=record) from None


def as_kind(kind: str | type) -> str:
    """Accept a kind by name or by its type; raises OptionError with the nearest right name."""
    if isinstance(kind, type):
        if kind in _KIND_OF:
            return _KIND_OF[kind]
        kind = kind.__name__
    if kind not in KINDS:
        raise unknown_option("kind of record", kind, KINDS)
    return kind


def plain(record: Record) -> dict[str, Any]:
    """A record as JSON-ready lists, dicts and scalars."""
    return dict(_converter().unstructure(record))


def encode(record: Record) -> str:
    """A record as JSON text.

    >>> from readaid.core.piece import Note
    >>> encode(Note("x", "菊", id="n"))
    '{"about":"x","id":"n","place":null,"private":false,"text":"菊"}'

    Raises
    ------
    RegisterError: if a number is not finite or a text holds half a character.
    """
    try:
        text = json.dumps(plain(record), ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
        text.encode("utf-8")
    except (TypeError, ValueError) as error:  # UnicodeEncodeError (a lone surrogate from a bad paste) is a ValueError
        raise RegisterError("The record holds something that cannot be stored", f"{kind_of(record)} {record.id}",
                            f"correct the field: {error}", record=record) from error
    return text


def structure(kind: str, data: object) -> Record:
    """A record from JSON-ready data; raises RegisterError if it does not fit its kind."""
    try:
        return _converter().structure(data, KINDS[as_kind(kind)])  # type: ignore[no-any-return]
    except RegisterError:
        raise
    except Exception as error:  # cattrs groups its errors; the record's own checks raise ReadaidError
        raise RegisterError(f"A record of kind '{kind}' is not well formed", cure="restore it from a backup",
                            data=data) from error


@functools.lru_cache(maxsize=8192)
def decode(kind: str, body: str, shown: bool = False) -> Record:
    """A record from its JSON text; records never change, so a text read before gives the record made then.

    ``shown``: control characters, which no XML and no Word file may hold, become their pictures (U+2400 and on).

    >>> decode("note", '{"about":"x","id":"n","text":"菊"}').text
    '菊'
    """
    try:
        data = json.loads(body)
    except ValueError as error:
        raise RegisterError(f"A record of kind '{kind}' is not JSON", cure="restore it from a backup") from error
    if kind == "character" and isinstance(data, dict) and "editorial" not in data and data.get("damage") == "intact":
        data["damage"] = "not stated"  # an older version's default: see ``stated_damage``
    if shown and _UNSHOWN.search(body):
        data = _pictured(data)
    return structure(kind, data)


#: What may be a control character or a noncharacter in JSON text; looked at first, since hardly any body has one.
_UNSHOWN = re.compile(r"\\u00[01]|[\ufffe\uffff]")
#: All that XML 1.0 forbids (section 2.2) but surrogates, which ``encode`` refuses.
_PICTURES = {n: chr(0x2400 + n) for n in range(32) if chr(n) not in "\t\n\r"} | {0xFFFE: "\ufffd", 0xFFFF: "\ufffd"}


def _pictured(data: Any) -> Any:
    if isinstance(data, str):
        return data.translate(_PICTURES)
    if isinstance(data, list):
        return [_pictured(item) for item in data]
    return {name: _pictured(item) for name, item in data.items()} if isinstance(data, dict) else data


def digest(*parts: object) -> str:
    """Fingerprint of a revision's parts, in order.

    >>> len(digest(1, "note", None)), digest("ab", "c") == digest("a", "bc")
    (32, False)
    """
    text = json.dumps(parts, ensure_ascii=False, separators=(",", ":"))
    # Half a character from a damaged file must give a wrong digest, not an error of its own.
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32]
