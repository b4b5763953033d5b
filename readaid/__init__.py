"""readaid: an inscription and signature reading aid. Public names load their rooms at first use."""

from readaid._version import __version__

__all__ = ["__version__"]
