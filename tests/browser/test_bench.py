"""The bench in a real browser: silence, lamps and what survives them, a piece started on screen, nothing that jumps."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import expect

from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import at, more, painted, scale, settled, shown

pytestmark = pytest.mark.browser


def test_lamps_are_lit_by_key_place_and_zoom_survive_and_two_are_seen_at_once(show, place):
    page = show(1)
    painted(page)
    lamps = page.locator(".pb-lamp")
    assert [lamps.nth(n).get_attribute("aria-label") for n in range(4)] == [
        f"{n}: lamp at the {side}, low, verse_{side}"
        for n, side in enumerate(("left", "top", "right", "bottom"), start=1)]
    boxes = [lamps.nth(n).bounding_box() for n in range(4)]
    assert boxes[0]["x"] < boxes[1]["x"] < boxes[2]["x"], "each stands where its lamp stood"
    assert boxes[1]["y"] < boxes[0]["y"] < boxes[3]["y"]
    page.locator(".pb-view").focus()
    for _ in range(4):
        page.keyboard.press("+")
    page.wait_for_timeout(150)
    before = json.loads(page.locator(".pb").get_attribute("data-view"))
    page.keyboard.press("2")
    shown(page, "verse_top")
    settled(page)
    assert json.loads(page.locator(".pb").get_attribute("data-view")) == pytest.approx(before, abs=0.01)
    page.keyboard.press("]")  # brighter, this photograph only
    assert "brightness(1.15)" in page.locator(".pb-view canvas").first.evaluate("(c) => c.style.filter")
    page.keyboard.press(" ")  # the one before
    shown(page, "verse_left")
    assert "brightness" not in page.locator(".pb-view canvas").first.evaluate("(c) => c.style.filter")
    asked = page.evaluate("() => !window.dispatchEvent(new Event('beforeunload', { cancelable: true }))")
    assert not asked, "all is saved: nobody is asked whether to leave"
    assert page.evaluate("() => { window.scrollTo(0, 300); document.body.scrollTop = 300; "
                         "return [scrollY, document.body.scrollTop]; }") == [0, 0], "nothing behind the bench scrolls"
    page.keyboard.press("/")
    page.wait_for_function("!document.querySelector('.pb-cut').hidden")
    assert page.locator(".pb-names").inner_text().split("\n")[0].startswith("lamp at the left")
    page.keyboard.press("g")
    box = page.locator(".pb-view").bounding_box()
    page.mouse.move(box["x"] + 300, box["y"] + 300)
    page.wait_for_function("!document.querySelector('.pb-loupe').hidden")
    labs.keep_picture(page, "line_and_loupe")
    page.keyboard.press("t")
    page.wait_for_function("JSON.parse(document.querySelector('.pb').dataset.view).turn === 1")
    assert scale(page) == pytest.approx(before["s"], rel=0.01)
    page.locator("[data-key=stage-reading]").click()
    settled(page)
    page.locator(".cp-type").focus()
    page.keyboard.press("Alt+3")  # from the sign, without leaving it
    shown(page, "verse_right")
    assert page.evaluate("document.activeElement.classList.contains('cp-type')")


def test_nothing_is_claimed_before_something_was_said_and_nothing_jumps(show, place):
    with OpenPiece(place) as piece:
        signs = [k for column in piece.decipherment.characters(piece.contents.inscriptions[0]) for k in column]
        for k in signs:
            piece.decipherment.clear(k)
        for a in piece.contents.attempts:
            piece.decipherment.set_status(a, "withdrawn")
    page = show(2)
    painted(page)
    settled(page)
    page.wait_for_timeout(600)
    assert set(page.locator(".rp-text").inner_text()) == {"·"}
    assert page.locator(".sh-edition").count() == 0
    assert page.locator("[data-key=keep-0]").count() == 0
    assert set(page.locator(".sh-said").all_inner_texts()) == {"·"}
    places = page.evaluate("() => ['.cp-crop', '.cp-results', '.rp-text', '.sh-paper', '.pb-mat'].map((s) => "
                           "JSON.stringify(document.querySelector(s).getBoundingClientRect()))")
    page.locator("[data-key=way-shape]").click()
    page.wait_for_function("document.querySelector('.cp').dataset.shape === 'ready'")
    page.evaluate("""() => { window.shifts = []; new PerformanceObserver((l) => { for (const e of l.getEntries())
        window.shifts.push([e.value, ...e.sources.map((s) => s.node?.className ?? s.node?.nodeName ?? '')]); })
        .observe({ type: 'layout-shift' }); }""")
    page.locator(".cp-card").nth(2).hover()
    expect(page.locator(".cp-over"), "the form lies over the cut while it is pointed at").to_be_visible()
    page.locator(".cp-type").focus()
    page.keyboard.press("1")  # the first proposal
    page.locator(".cp-cand").wait_for()
    page.keyboard.press("Enter")  # and on to the next sign, which is asked about by shape at once
    page.wait_for_function("document.querySelector('.cp-which').textContent === 'Sign 2 of 17'"
                           " && document.querySelector('.cp').dataset.shape === 'ready'")
    page.wait_for_function("document.querySelector('.rp').dataset.busy === 'false'"
                           " && document.querySelector('.rp-warn')", timeout=60_000)
    expect(page.locator(".rp-now.rp-machine"), "mostly the machine's, and looks it").to_have_count(1)
    expect(page.locator("[data-key=keep-0]")).to_have_text(re.compile("^Keep as a proposal"))
    assert page.evaluate("window.shifts") == []
    assert page.evaluate("() => ['.cp-crop', '.cp-results', '.rp-text', '.sh-paper', '.pb-mat'].map((s) => "
                         "JSON.stringify(document.querySelector(s).getBoundingClientRect()))")[0] == places[0]
    labs.keep_picture(page, "mostly_machine")


def test_a_piece_is_started_on_the_screen(show, place):
    page = show(1)
    painted(page)
    page.locator("[data-key=piece]").click()
    page.get_by_label("A new piece: what it is called").fill("鐔 with two signs")
    page.keyboard.press("Enter")
    page.wait_for_function("/with two signs/.test(document.querySelector('.hd-name')?.textContent)")
    page.get_by_text("Reading must not touch the piece").first.wait_for()
    with OpenPiece(place.parent / "鐔-with-two-signs") as piece:
        assert piece.contents.piece.title == "鐔 with two signs"
    page.locator("input[type=file]").first.set_input_files(str(place / "photos" / "verse_left.jpg"))
    painted(page)
    page.wait_for_function("document.querySelectorAll('.pb-photo').length === 1")
    page.locator("[data-key=piece]").click()
    page.get_by_role("listitem").filter(has_text=place.name).click()
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '17'")


def test_the_still_stands_before_the_kernel_and_goes_when_the_bench_is_there(show, page, place):
    page.add_init_script("""new MutationObserver(() => { const s = document.getElementById('readaid-still');
        if (s) window.sawStill = !document.querySelector('.ra-bench'); }).observe(document, { childList: true,
        subtree: true })""")
    show(1)
    painted(page)
    assert page.evaluate("window.sawStill") is not None
    expect(page.locator("#readaid-still")).to_be_hidden()
    assert page.locator(".ra-bench").bounding_box() == {"x": 0, "y": 0, "width": 1400, "height": 1000}
    page.locator("[data-key=help]").click()
    page.get_by_role("dialog", name="Steps, keys, cautions").get_by_text("No chalk, powder, ink").wait_for()
    page.keyboard.press("Escape")
    at(page, "reading")
    more(page)
    page.keyboard.press("Escape")
    page.wait_for_function("document.querySelector('.rp-drawer').hidden")
