"""The strip at the foot of the mat at every width that a page leaves it: nothing is cut off, the view can be read."""

import pytest

from readaid.core import texts
from readaid.piece.open_piece import OpenPiece
from readaid.widgets.desk import Desk
from readaid.widgets.photo_board import PhotoBoard
from tests.browser.plain_page import laid

pytestmark = pytest.mark.browser

#: Of each width of the mat: the room of the view's name, and the buttons that end outside the strip.
AT = """(widths) => widths.map((width) => {
  document.querySelector('.pb-mat').style.width = `${width}px`;
  const strip = document.querySelector('.pb-strip'), edge = strip.getBoundingClientRect().right;
  return [width, document.querySelector('[data-key=view]').getBoundingClientRect().width,
    [...strip.children].filter((e) => e.checkVisibility() && e.getBoundingClientRect().right > edge)
      .map((e) => e.textContent)]; })"""


@pytest.mark.parametrize("language", ["en", "ja"])
@pytest.mark.parametrize("place", ["marks", "school"])
def test_the_strip_keeps_its_buttons_and_the_name_of_the_view(browser, demo_folder, monkeypatch, language, place):
    """84 pixels hold six letters and the arrow; without that room the name shrank to 26 where the mat was 600 wide."""
    monkeypatch.setattr(texts, "_now", [language])
    page = browser.new_page(viewport={"width": 1280, "height": 720})
    page.route("http://plain/", lambda route: route.fulfill(
        body="<!doctype html><meta charset=utf-8><body>", content_type="text/html"))
    page.goto("http://plain/")
    with OpenPiece(demo_folder, read_only=True) as piece:
        laid(page, PhotoBoard(Desk(piece)), place)
    found = page.evaluate(AT, list(range(380, 1001, 10)))
    page.close()
    assert [at for at in found if at[1] < 84 or at[2]] == []
