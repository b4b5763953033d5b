"""Order of the whole run (the browser last), and what a skip means: where CI is set all is installed, a skip fails.

Conventions: a skip says what is missing and how to get it. ``RIGHTS`` are the beginnings of the reasons that may stand
in CI, since no package mends them.
"""

from __future__ import annotations

import ctypes
import gc
import os
import sys
import tempfile
from collections.abc import Generator
from typing import Any

import pytest

#: What cannot be installed: rights of the machine, another system.
RIGHTS = ("no right to mount", "no file system may be mounted here", "not a git checkout")


def pytest_configure() -> None:
    """A reader's choices are neither read nor written: a bench that speaks Japanese at home would fail half of it."""
    # jsonschema takes it in where it is there, and it builds a grammar for seconds (``piece.lab.LEAN``)
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    os.environ["XDG_CONFIG_HOME"] = tempfile.mkdtemp(prefix="readaid-tests-")


def unexpected(report: pytest.TestReport | pytest.CollectReport) -> str:
    """Why a skip is not allowed here; "" where it is, or where nothing was skipped."""
    if not (os.environ.get("CI") and report.skipped) or hasattr(report, "wasxfail"):
        return ""
    told = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
    reason = str(told).removeprefix("Skipped: ")
    return "" if reason.startswith(RIGHTS) else f"expected here, but skipped: {reason}"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Run browser tests after all others: their driver leaves an event loop running in this thread until the end, and
    the panels' tests without a browser would then wait for it instead of running their work at once."""
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)


@pytest.hookimpl(trylast=True)  # after the fixtures of the file have ended
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> None:
    """Give memory back after each file: a worker goes through hundreds, ipywidgets holds every widget that nobody
    closed, with the piece it shows, and the C library keeps what they took."""
    if nextitem is not None and nextitem.path == item.path:
        return
    if "ipywidgets" in sys.modules:
        sys.modules["ipywidgets"].Widget.close_all()
    gc.collect()
    if sys.platform == "linux":
        trim = getattr(ctypes.CDLL(None), "malloc_trim", None)  # of the GNU library
        if trim:
            trim(0)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, Any, pytest.TestReport]:
    return _failed_if_unexpected((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, Any, pytest.CollectReport]:
    return _failed_if_unexpected((yield))


def _failed_if_unexpected(report: Any) -> Any:
    reason = unexpected(report)
    if reason:
        report.outcome, report.longrepr = "failed", reason
    return report


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """One line for the only large group that a bare machine leaves out."""
    browser = [r for r in terminalreporter.stats.get("skipped", []) if "no Chromium" in str(r.longrepr)]
    if browser:
        terminalreporter.write_line(
            f"{len(browser)} browser tests were skipped: install a Chromium and a Japanese font (Debian: apt-get "
            "install --no-install-recommends chromium fonts-noto-cjk), or name one in READAID_CHROMIUM")
