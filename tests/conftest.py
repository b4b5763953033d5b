"""Order of the whole run: the browser last."""

import pytest

#: Run on the version whose registers it keeps, by hand: it imports that version's modules, not today's.
collect_ignore = ["register/fixtures/make.py"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Run browser tests after all others: their driver leaves an event loop running in this thread until the end, and
    the panels' tests without a browser would then wait for it instead of running their work at once."""
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)
