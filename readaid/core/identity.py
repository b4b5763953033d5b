"""Record identity and time.

Conventions: every record carries a UUID (RFC 9562, version 4, lower case);
times are UTC, ISO 8601 with seconds or finer and the suffix ``+00:00``.
Reading order, file names and row numbers are never keys.
"""

from __future__ import annotations

import uuid
from datetime import UTC, datetime


def new_id() -> str:
    """A fresh UUID as text.

    >>> len(new_id())
    36
    """
    return str(uuid.uuid4())


def now() -> str:
    """The present moment, UTC, to the millisecond.

    >>> now().endswith("+00:00")
    True
    """
    return datetime.now(UTC).isoformat(timespec="milliseconds")
