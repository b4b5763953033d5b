"""The notebook face: panels on one desk, laid on one bench.

Conventions: Python decides, JavaScript displays; nothing is kept in the
notebook, the register holds everything. Each place of the bench loads its panels at first use.
"""

from __future__ import annotations

from readaid.widgets.bench import Bench
from readaid.widgets.page import album, open_bench, photo_page, reading_page, register_page, school_page

__all__ = ["Bench", "album", "open_bench", "photo_page", "reading_page", "register_page", "school_page"]
