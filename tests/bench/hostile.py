"""What a stranger may send, tried: copies received and merged, folders opened, bags restored, a piece opened for real.

Conventions: the cases are those of ``tests.copies.hostile``; tell-tale words those of ``tests.piece.test_veil``. Run
``python -m tests.bench hostile``; with READAID_LIST set each case is printed with what became of it.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.copies import hostile


def bench() -> Iterator[tuple[str, int, str, str]]:
    """Cases tried, and those in which something was wrong."""
    for what, tried in (("copies", hostile.try_copies), ("folders and bags", hostile.try_folders)):
        with tempfile.TemporaryDirectory() as place:
            outcomes = list(tried(Path(place)))
        if os.environ.get("READAID_LIST"):
            for o in outcomes:
                print(f"{o.way:8} {o.name:60} {', '.join(o.wrong) or o.told}")
        yield f"hostile {what}, each by each way", len(outcomes), "tries", "40 copies and bags"
        yield f"hostile {what}: refused in words", sum(not o.told.startswith("accepted") for o in outcomes), "tries", ""
        yield f"hostile {what}: code run, files that run, written elsewhere", sum(map(bool, (o.wrong for o in outcomes))
                                                                                ), "tries", "0"
