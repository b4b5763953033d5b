"""A school of twelve makers by mouse: from a folder of pictures to a figure to print, every gesture counted."""

import importlib.util
import sys
import time

import pytest
from playwright.sync_api import expect

from tests.browser import lab as labs
from tests.browser.hands import settled

pytestmark = pytest.mark.browser


@pytest.fixture
def pictures(tmp_path):
    """Twelve invented makers, three pictures each, named as a collector names them."""
    path = labs.PROJECT / "data" / "simulate_school" / "simulate.py"
    spec = importlib.util.spec_from_file_location("simulate", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["simulate"] = module
    spec.loader.exec_module(module)
    module.write(tmp_path / "made", seed=2, makers=12, each=3)
    folder = tmp_path / "scans"
    folder.mkdir()
    for n, line in enumerate((tmp_path / "made" / "forms.csv").read_text(encoding="utf-8").splitlines()[1:]):
        name, maker, year = line.split(",")
        (tmp_path / "made" / name).rename(folder / f"{maker}_{year}_{n}.png")
    return sorted(folder.glob("*.png"))


def test_twelve_makers_by_mouse_to_a_printed_figure(window, page, pictures, tmp_path):
    place = tmp_path / "school_folder"
    place.mkdir()
    begun = f"widgets.album({str(place / 'school')!r}, 'Twelve hands', 'Mori')"
    source = f"from readaid import widgets\npage = {begun}\npage"
    labs.open_window(page, window, place, code=source)
    page.wait_for_selector(".al")
    start, gestures = time.monotonic(), 0

    def press(key):
        nonlocal gestures
        gestures += 1
        page.locator(f".al [data-key={key}]").click()
        settled(page)

    with page.expect_file_chooser() as chooser:
        press("add")
    chooser.value.set_files([str(p) for p in pictures])
    gestures += 1  # choosing all files of the folder in the system's own window
    page.wait_for_selector(".al[data-forms='36']", timeout=120_000)
    expect(page.locator(".al-form")).to_have_count(36)
    press("all")
    page.wait_for_selector(".al[data-done=true]", timeout=240_000)
    press("tree")
    page.wait_for_selector(".al-figure img")
    press("pdf")
    page.wait_for_selector(".al a[download='tree.pdf']")
    labs.keep_picture(page, "album")
    seconds = time.monotonic() - start
    print(f"a school of twelve makers by mouse: {gestures} gestures, {seconds:.0f} s with the waiting")
    assert (place / "school" / "exports" / "tree.pdf").read_bytes()[:5] == b"%PDF-"
    assert gestures <= 6
    assert labs.evaluate(page, "len(page.school.makers), len(page.school.studies)") == (12, 1)
