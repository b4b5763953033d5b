"""The stores of this room's tests, see ``tests.stores``."""

from tests.stores import address, postgres, postgres_control, register

__all__ = ["address", "postgres", "postgres_control", "register"]
