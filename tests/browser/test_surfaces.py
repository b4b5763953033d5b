"""Several photographs of one surface on the board: laid over, relief, squared up; a kanji by a part."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from readaid.core.photo import Evidence
from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import lay, painted, point, settled, shown

pytestmark = pytest.mark.browser


def test_zones_appear_on_a_photograph_laid_over(show, place):
    page = show(1)
    painted(page)
    board = page.locator(".pb").first
    lay(page, "verse_top")
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '0'")
    page.locator("[data-key=fold-about]").click()
    board.locator("[data-key=over]").select_option(label="verse_left")
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '17'")
    expect(page.locator(".pb-zone").first).to_have_attribute("aria-label", re.compile("drawn on verse_left$"))
    page.get_by_role("button", name="Undo", exact=True).first.click()
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '0'")


def test_relief_and_squaring_up(show, place):
    page = show(1)
    painted(page)
    page.get_by_role("button", name="Relief from the lights").click()
    page.get_by_role("button", name="Stop").click()
    settled(page)
    page.get_by_role("button", name="Relief from the lights").click()
    shown(page, "Relief of front")
    painted(page)
    settled(page)
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '17'")
    labs.keep_picture(page, "relief")
    page.get_by_role("button", name="Surface under a lamp you move").click()
    shown(page, "Surface shape of front")
    painted(page)
    settled(page)
    assert page.get_by_label("View", exact=True).first.evaluate("(s) => s.selectedOptions[0].text") == "Lamp moved"
    page.get_by_role("slider", name="Lamp's height").focus()
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    settled(page)
    labs.keep_picture(page, "lamp")
    lay(page, "verse_left")
    page.get_by_role("button", name="Square up").click()
    page.wait_for_timeout(200)
    for x, y in ((300, 250), (1700, 240), (1710, 1150), (310, 1160)):
        page.mouse.click(*point(page, x, y))
    shown(page, "verse_left, squared up")
    with OpenPiece(place) as piece:
        made = [p for p in piece.contents.photos if p.evidence is Evidence.COMPUTED]
        assert sorted(p.file for p in made) == ["photos/computed-normals-verse_left.png",
                                                "photos/computed-relief-verse_left.png",
                                                "photos/computed-square-verse_left.png"]
        assert len({p.reference for p in made}) == 1
        assert not piece.check_photos()


def test_a_kanji_is_found_by_a_part(show, place):
    """On the page of the signs; 海 is filed under water (from memory)."""
    page = show(2)
    settled(page)
    finder = page.locator(".cp-finder")
    finder.get_by_role("radio", name="By part", exact=True).click()
    finder.get_by_label("Part that can be seen", exact=False).fill("氵")
    page.keyboard.press("Enter")
    card = finder.locator("[data-key='l-海']")
    card.wait_for()
    card.click()
    page.locator(".cp-list").get_by_text("海").first.wait_for()
