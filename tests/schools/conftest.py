"""A real PostgreSQL server for the school that lies on one, see ``tests.stores``."""

from tests.stores import empty_server, postgres, postgres_control

__all__ = ["empty_server", "postgres", "postgres_control"]
