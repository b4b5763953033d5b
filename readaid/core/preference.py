"""What a reader likes, kept on this computer for each reader and never in a piece: language, tone of the mat.

Conventions: one JSON file in the account's configuration folder (``$XDG_CONFIG_HOME``, else ``~/.config``, on Windows
``%APPDATA%``). A file that cannot be read or written counts as empty: a preference keeps nobody from reading.
``READAID_LANGUAGE`` stands above what is kept, for one start.
"""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path

VARIABLE = "READAID_LANGUAGE"
#: What may be kept, with the values that are known; another one in the file is passed over.
KNOWN = {"language": ("en", "ja"), "mat": ("dark", "light")}


def place() -> Path:
    """The file that holds the preferences of every reader who works with this account."""
    base = os.environ.get("XDG_CONFIG_HOME") or os.environ.get("APPDATA") or Path.home() / ".config"
    return Path(base) / "readaid" / "readers.json"


def _all() -> dict[str, dict[str, str]]:
    try:
        held = json.loads(place().read_text(encoding="utf-8"))
        return {str(r): dict(v) for r, v in held.items() if isinstance(v, dict)}
    except (OSError, ValueError, AttributeError):
        return {}


def preferred(reader: str, name: str) -> str:
    """What ``reader`` chose for ``name``; else the first known value.

    >>> preferred("nobody of this name", "mat")
    'dark'
    """
    if name == "language" and os.environ.get(VARIABLE) in KNOWN[name]:
        return os.environ[VARIABLE]
    chosen = _all().get(reader, {}).get(name)
    return chosen if chosen in KNOWN[name] else KNOWN[name][0]


def prefer(reader: str, name: str, value: str) -> None:
    """Keep that ``reader`` chose ``value``; nothing happens where the folder cannot be written."""
    held = _all()
    held.setdefault(reader, {})[name] = value
    with contextlib.suppress(OSError):
        path = place()
        path.parent.mkdir(parents=True, exist_ok=True)
        other = path.with_suffix(f".{os.getpid()}")  # two kernels write at once: the later whole one stands
        other.write_text(json.dumps(held, ensure_ascii=False, indent=1), encoding="utf-8")
        other.replace(path)
