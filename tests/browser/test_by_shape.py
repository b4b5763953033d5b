"""Unread signs read by their shape, in a real browser: asked for by keys, marked as nobody's, kept with its note."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import more, painted, settled

pytestmark = pytest.mark.browser

#: Places (0-based) of the verse that nobody has judged in this test.
UNREAD = (5, 6, 8, 9)


@pytest.fixture
def unread(place):
    """The demo piece with four signs of the verse marked as unread."""
    with OpenPiece(place) as piece:
        signs = [k for column in piece.decipherment.characters(piece.contents.inscriptions[0]) for k in column]
        for at in UNREAD:
            piece.decipherment.clear(signs[at])
    return place


def searched(page) -> None:
    """Wait until no search runs or waits."""
    page.wait_for_timeout(600)  # longer than the pause before a search
    page.wait_for_function("document.querySelector('.rp').dataset.busy === 'false'")
    settled(page)


def test_unread_signs_are_read_by_shape_when_asked(unread, show):
    page = show(2)
    page.set_viewport_size({"width": 1280, "height": 1000})
    painted(page)
    searched(page)
    panel = page.locator(".rp")
    more(page)
    box = panel.get_by_label("Read unread signs by their shape")
    assert not box.is_checked(), "off by default"
    assert panel.locator(".rp-shape").count() == 0
    box.focus()
    page.keyboard.press("Space")
    panel.get_by_text("signs from shape alone, judged by nobody: a proposal to check sign by sign").first.wait_for()
    searched(page)
    assert page.evaluate("document.activeElement.dataset.key") == "shape", "the hand stays where it was"
    expect(panel.get_by_role("radio", name="All letters")).to_have_attribute("aria-checked", "true")
    marked = page.locator(".sh-said .sh-pencil")
    assert 1 <= marked.count() <= len(UNREAD)
    dots = panel.locator(".rp-open .rp-line .rp-shape").first.evaluate(
        "(e) => [getComputedStyle(e).textEmphasisPosition, getComputedStyle(e).textEmphasisStyle]")
    assert dots[0].startswith("under")
    assert "dot" in dots[1]
    page.locator(".sh-sign:has(.sh-pencil)").first.click()
    panel.locator(".rp-one :text('nobody has judged this sign')").wait_for()
    settled(page)
    labs.keep_picture(page, "by_shape")
    panel.get_by_role("button", name="Keep as an attempt …").first.click()
    panel.get_by_role("button", name="Write it into the register").click()
    page.wait_for_function("/is saved in the register/.test(document.querySelector('.rp').textContent)")
    with OpenPiece(unread) as piece:
        signs = [k for column in piece.decipherment.characters(piece.contents.inscriptions[0]) for k in column]
        assert all(signs[at].candidates == () for at in UNREAD), "never a candidate unasked"
        kept = max(piece.contents.attempts, key=lambda a: a.made)
        assert "judged by nobody" in kept.note
        assert kept.note in kept.reasons
        assert all(dict(kept.chosen)[signs[at].id] == "" for at in UNREAD)
    box.uncheck()
    searched(page)
    assert panel.locator(".rp-shape").count() == 0
    over = panel.evaluate("(e) => e.scrollWidth - e.clientWidth")
    assert over <= 2
