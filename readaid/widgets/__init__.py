"""The notebook face: panels on one desk, laid out as pages.

Conventions: Python decides, JavaScript displays; nothing is kept in the
notebook, the register holds everything. Each page loads its panels at first use.
"""

from __future__ import annotations

from readaid.widgets.page import Page, photo_page, reading_page, register_page, school_page

__all__ = ["Page", "photo_page", "reading_page", "register_page", "school_page"]
