"""Fixtures for tests in a real browser. Without Chromium all are skipped (``tests/conftest.py``: a failure in CI)."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser import lab as labs
from tests.widgets.made import demo_piece

HERE = Path(__file__).parent
#: End the page's kernel, or ten tests leave ten kernels behind; the server of a test may have gone before.
END = "() => window.jupyterapp?.shell.currentWidget?.sessionContext?.shutdown().catch(() => null)"

#: Each test finds the places as a new reader does; what it opens then stays open in it.
UNTOUCHED = """if (location.protocol === 'http:' && !sessionStorage.opened) { sessionStorage.opened = '1';
  localStorage.removeItem('readaid-open'); }"""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if labs.chromium():
        return
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.skip(reason="no Chromium: install it, or name it in READAID_CHROMIUM"))


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_piece(tmp_path_factory.mktemp("browser") / "piece")


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=30_000)  # what comes by a message takes its time on a loaded machine
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=labs.chromium(), args=labs.ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="session")
def lab(home: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[labs.Lab]:
    """One JupyterLab for all tests that look at notebooks; each works in its own folder below its root."""
    with labs.serve(tmp_path_factory.mktemp("root"), home) as running:
        yield running


@pytest.fixture(scope="session")
def window(tmp_path_factory: pytest.TempPathFactory) -> Iterator[labs.Lab]:
    """The window's server, one for all tests."""
    with labs.windows(tmp_path_factory.mktemp("window"), tmp_path_factory.mktemp("window_home")) as running:
        yield running


@pytest.fixture
def place(demo_folder: Path, tmp_path: Path) -> Path:
    """A copy of the demo piece."""
    folder = tmp_path / "piece"
    shutil.copytree(demo_folder, folder)
    return folder


@pytest.fixture
def notebooks(lab: labs.Lab, place: Path, tmp_path: Path) -> Path:
    """The four notebooks, below the root of JupyterLab; the first cell of each names the piece."""
    folder = lab.root / tmp_path.name
    folder.mkdir()
    for source in sorted((labs.PROJECT / "notebooks").glob("*.ipynb")):
        text = source.read_text(encoding="utf-8").replace("_page()", f"_page('{place}')")
        (folder / source.name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def context(browser: Any) -> Iterator[Any]:
    """One browser context for all tests: what the notebook's own pages are made of is fetched and compiled once."""
    # Playwright waits with words that it lets the page evaluate, which the page's own policy forbids (tested apart)
    opened = browser.new_context(viewport={"width": 1400, "height": 1000}, locale="ja-JP", bypass_csp=True)
    yield opened
    opened.close()


@pytest.fixture
def page(context: Any, request: pytest.FixtureRequest) -> Iterator[Any]:
    """A browser page; page errors and requests that leave this machine fail the test."""
    from playwright.sync_api import Error

    shown = context.new_page()
    shown.set_default_timeout(30_000)
    shown.add_init_script(UNTOUCHED)
    faults: list[str] = []
    outside: list[str] = []
    shown.on("pageerror", lambda error: faults.append(str(error)))
    shown.on(
        "request",
        lambda asked: (
            outside.append(asked.url)
            if asked.url.startswith(("http", "ws")) and "//127.0.0.1" not in asked.url
            else None
        ),
    )
    yield shown
    seen = list(faults)  # what the end of its kernel brings up is no fault of the page
    with contextlib.suppress(Error):  # the page may be on its way elsewhere
        if "window" in request.fixturenames:
            labs.end(shown, request.getfixturevalue("window"))
        shown.evaluate(END)
    shown.close()
    assert not outside, outside
    assert not seen, seen


#: Place of the bench that each notebook opens.
PLACES = {1: "photographs", 2: "reading", 3: "school", 4: "report"}


@pytest.fixture
def show(window: labs.Lab, place: Path, page: Any) -> Callable[[int], Any]:
    """Open the bench of the piece in its window, at the place of notebook 1 to 4."""

    def opened(number: int) -> Any:
        labs.open_window(page, window, place, PLACES[number])
        page.wait_for_selector(".ra")
        return page

    return opened


@pytest.fixture
def show_notebook(lab: labs.Lab, home: Path, notebooks: Path, page: Any) -> Callable[[int], Any]:
    """Open notebook 1 to 4 of the piece in JupyterLab, trusted: the page extension runs it."""

    def opened(number: int) -> Any:
        notebook = next(notebooks.glob(f"{number}_*.ipynb"))
        labs.trust(home, notebook)
        labs.open_notebook(page, lab, f"{notebooks.name}/{notebook.name}")
        page.wait_for_selector("[data-readaid-run=done]")
        page.wait_for_selector(".ra")
        return page

    return opened
