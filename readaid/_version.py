"""The version, one place; the changelog in DEVELOPERS.md names the same."""

__version__ = "0.2.0"
