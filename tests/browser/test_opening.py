"""Opening a notebook: run at once only if trusted and ours; usable without our extension; nothing saved in it."""

from __future__ import annotations

import json
import shutil

import pytest

from tests.browser import lab as labs
from tests.browser.hands import painted

pytestmark = pytest.mark.browser


def test_an_untrusted_notebook_is_not_run(lab, notebooks, page):
    notebook = notebooks / "1_photograph_and_zones.ipynb"
    content = json.loads(notebook.read_text(encoding="utf-8"))
    content["cells"][0]["source"] = ["# Changed by somebody: no longer the one that was signed"]
    notebook.write_text(json.dumps(content), encoding="utf-8")
    labs.open_notebook(page, lab, f"{notebooks.name}/1_photograph_and_zones.ipynb")
    page.wait_for_timeout(1500)
    assert page.locator(".ra").count() == 0
    assert page.locator("[data-readaid-run]").count() == 0


def test_a_stranger_s_notebook_is_not_run_even_if_trusted(lab, home, notebooks, page):
    notebook = notebooks / "other.ipynb"
    content = json.loads((notebooks / "1_photograph_and_zones.ipynb").read_text(encoding="utf-8"))
    del content["metadata"]["readaid"]
    notebook.write_text(json.dumps(content), encoding="utf-8")
    labs.trust(home, notebook)
    labs.open_notebook(page, lab, f"{notebooks.name}/other.ipynb")
    page.wait_for_timeout(1500)
    assert page.locator(".ra").count() == 0
    assert not page.evaluate("document.body.classList.contains('readaid-page-open')")


def test_run_from_the_menu_without_trust(lab, notebooks, page):
    notebook = notebooks / "1_photograph_and_zones.ipynb"
    notebook.write_text(notebook.read_text(encoding="utf-8").replace("step by step", "in five steps"), encoding="utf-8")
    labs.open_notebook(page, lab, f"{notebooks.name}/1_photograph_and_zones.ipynb")
    labs.run_all(page)
    painted(page)


def test_run_from_the_start_button_without_the_extension(tmp_path, demo_folder, page):
    root, home = tmp_path / "root", tmp_path / "home"
    shutil.copytree(demo_folder, root)
    shutil.copyfile(labs.PROJECT / "notebooks" / "1_photograph_and_zones.ipynb", root / "1.ipynb")
    home.mkdir()
    with labs.serve(root, home, extension=False, env={"READAID_PIECE": str(root)}) as bare:
        labs.trust(home, root / "1.ipynb")
        labs.open_notebook(page, bare, "1.ipynb")
        page.get_by_role("button", name="Start this page").click()
        painted(page)
        before = labs.cells(page)
        for key in ("d", "d", "x", "a", "b", "m"):
            page.locator(".pb-view").press(key)
        assert labs.cells(page) == before
        labs.keep_picture(page, "without_extension")


def test_after_a_restart_the_page_comes_back_from_the_register(show_notebook):
    page = show_notebook(1)
    painted(page)
    page.evaluate(
        "async () => { await window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.restart(); }"
    )
    page.wait_for_function("window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.status === 'idle'")
    labs.run_all(page)
    page.wait_for_function("document.querySelector('.pb')?.dataset.zones === '17'")


def test_a_long_cell_does_not_keep_the_photograph_away(show_notebook):
    """Tiles come while another cell runs (the asking goes through a subshell), or at the latest when it has ended."""
    page = show_notebook(1)
    painted(page)
    page.evaluate("""() => { const k = window.jupyterapp.shell.currentWidget.sessionContext.session.kernel;
        k.requestExecute({code: 'import time; time.sleep(3)', silent: true, store_history: false}); }""")
    page.get_by_role("button", name="Full size").click()
    page.wait_for_function(
        "document.querySelector('.pb').dataset.waiting === '0' && document.querySelector('.pb').boardStats.tiles > 0"
    )


def test_a_busy_kernel_is_told_and_then_caught_up_with(show):
    page = show(1)
    painted(page)
    labs.evaluate(page, "setattr(page.panel('board'), 'do_undo', lambda: __import__('time').sleep(4))")
    page.locator(".pb-view").focus()
    page.keyboard.press("Control+z")
    page.wait_for_selector(".ra-wait:text('Busy with earlier work')")
    page.wait_for_function("document.querySelector('.pb .ra-wait').textContent === ''")
