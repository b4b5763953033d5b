"""The stores of this room's tests, see ``tests.stores``."""

from tests.stores import address, empty_server, postgres, postgres_control, register

__all__ = ["address", "empty_server", "postgres", "postgres_control", "register"]
