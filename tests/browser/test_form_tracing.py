"""A form of a school traced by mouse: proposed, two strokes joined, kept; the gestures of one mend counted."""


import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser import lab as labs
from tests.browser.hands import settled
from tests.schools.test_album import STROKES, drawn

pytestmark = pytest.mark.browser


def test_one_mend_takes_six_gestures(window, page, tmp_path):
    place = tmp_path / "school_folder"
    place.mkdir()
    Image.fromarray(np.asarray(drawn(next(iter(STROKES)), 1).convert("RGB"))).save(place / "form.png")
    source = (f"from readaid import widgets\npage = widgets.album({str(place / 'school')!r}, 'One hand', 'Mori')\n"
              f"page.school.add_picture({str(place / 'form.png')!r})\npage.refresh()\npage")
    labs.open_window(page, window, place, code=source)
    page.wait_for_selector(".al[data-forms='1']")
    gestures = 0

    def press(where, **how):
        nonlocal gestures
        gestures += 1
        page.locator(where).first.click(**how)
        settled(page)

    press(".al-form")
    press(".al [data-key=trace]")
    page.wait_for_selector(".np[data-strokes]:not([data-strokes='0']) .np-stroke")
    before = int(page.locator(".np").get_attribute("data-strokes"))
    assert before >= 2
    press(".np [data-key=m-join]")
    box = page.locator(".np-sheet").bounding_box()
    lines = labs.evaluate(page, "page.tracing.strokes")
    wide, high = labs.evaluate(page, "page.tracing.size")
    for stroke in lines[:2]:
        x, y = stroke[len(stroke) // 2]
        press(".np-sheet", position={"x": x / wide * box["width"], "y": y / high * box["height"]})
    assert int(page.locator(".np").get_attribute("data-strokes")) == before - 1
    press(".np [data-key=keep]")
    page.wait_for_selector(".al-traced")
    labs.keep_picture(page, "form-tracing")
    assert labs.evaluate(page, "int(page.school.tracings.counts['strokes'].iloc[0])") == before - 1
    expect(page.locator(".np .ra-hint").last).to_contain_text("by hand")
    assert gestures == 6
