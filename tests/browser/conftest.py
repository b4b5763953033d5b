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

#: The reader of these tests has opened every panel of the long pages once; what a test folds then stays folded in it.
UNFOLDED = """if (location.protocol === 'http:' && !sessionStorage.opened) { sessionStorage.opened = '1';
  localStorage['readaid-folds'] = JSON.stringify(Object.fromEntries(
    ['sp', 'xp', 'lp', 'gp', 'ip', 'tp', 'hp'].map((name) => [name, true]))); }"""


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
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=labs.chromium(), args=labs.ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="session")
def lab(home: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[labs.Lab]:
    """One server for all tests; each test works in its own folder below its root."""
    with labs.serve(tmp_path_factory.mktemp("root"), home) as running:
        yield running


@pytest.fixture
def place(lab: labs.Lab, home: Path, demo_folder: Path, tmp_path: Path) -> Path:
    """A copy of the demo piece, and notebooks whose first cell names it."""
    folder = lab.root / tmp_path.name
    shutil.copytree(demo_folder, folder)
    (folder / "notebooks").mkdir()
    for source in sorted((labs.PROJECT / "notebooks").glob("*.ipynb")):
        text = source.read_text(encoding="utf-8").replace("_page()", f"_page('{folder}')")
        (folder / "notebooks" / source.name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def context(browser: Any) -> Iterator[Any]:
    """One browser context for all tests: what the notebook's own pages are made of is fetched and compiled once."""
    opened = browser.new_context(viewport={"width": 1400, "height": 1000}, locale="ja-JP")
    yield opened
    opened.close()


@pytest.fixture
def page(context: Any) -> Iterator[Any]:
    """A browser page; page errors and requests that leave this machine fail the test."""
    from playwright.sync_api import Error

    shown = context.new_page()
    shown.set_default_timeout(30_000)
    shown.add_init_script(UNFOLDED)
    faults: list[str] = []
    outside: list[str] = []
    shown.on("pageerror", lambda error: faults.append(str(error)))
    shown.on(
        "request",
        lambda request: (
            outside.append(request.url)
            if request.url.startswith(("http", "ws")) and "//127.0.0.1" not in request.url
            else None
        ),
    )
    yield shown
    seen = list(faults)  # what the end of its kernel brings up is no fault of the page
    with contextlib.suppress(Error):  # the page may be on its way elsewhere
        shown.evaluate(END)
    shown.close()
    assert not outside, outside
    assert not seen, seen


@pytest.fixture
def show(lab: labs.Lab, home: Path, place: Path, page: Any) -> Callable[[int], Any]:
    """Open notebook 1 to 4 of the piece, trusted: the page extension runs it."""

    def opened(number: int) -> Any:
        notebook = next((place / "notebooks").glob(f"{number}_*.ipynb"))
        labs.trust(home, notebook)
        labs.open_notebook(page, lab, f"{place.name}/notebooks/{notebook.name}")
        page.wait_for_selector("[data-readaid-run=done]")
        page.wait_for_selector(".ra")
        return page

    return opened
