"""The movement of the work in a real JupyterLab: zone, candidate, metre, attempt, register, report."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import ROOMS, at, drag, more, painted, point, scale, settled, unfold

pytestmark = pytest.mark.browser


def test_draw_a_zone_in_image_pixels(show, place):
    page = show(1)
    painted(page)
    at(page, "marks")
    page.get_by_role("button", name="Draw zones").click()
    page.wait_for_timeout(200)
    drag(page, point(page, 1700, 300), point(page, 1800, 450))
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '18'")
    labs.keep_picture(page, "zones")
    with OpenPiece(place) as piece:
        box = piece.contents.zones[-1].box
    near = 2 / scale(page) + 1
    assert box == pytest.approx((1700, 300, 100, 150), abs=near)
    page.get_by_role("button", name="Look and change").click()
    settled(page)
    drag(page, point(page, 1750, 375), point(page, 1780, 395))
    settled(page)
    with OpenPiece(place) as piece:
        moved = piece.contents.zones[-1].box
        assert moved == pytest.approx((box[0] + 30, box[1] + 20, box[2], box[3]), abs=near)
        assert len(piece.register.history(piece.contents.zones[-1].id)) == 2
    page.keyboard.press("Control+z")
    settled(page)
    page.keyboard.press("Control+z")
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '17'")


def test_order_is_changed_in_the_columns(show, place):
    page = show(1)
    painted(page)
    with OpenPiece(place) as piece:
        before = piece.contents.inscriptions[0].columns
        second = next(k for k in piece.contents.characters if k.id == before[0][1])
        x, y, w, h = next(z for z in piece.contents.zones if z.id == second.zones[0]).box
    at(page, "marks")
    page.wait_for_timeout(200)
    page.mouse.click(*point(page, x + w / 2, y + h / 2))
    page.locator(f".sh-on[data-id='{second.id}']").wait_for()
    expect(page.locator(".sh-on")).to_have_attribute("aria-label", re.compile("^Sign 2,"))
    page.get_by_role("button", name="Earlier", exact=False).click()
    settled(page)
    page.wait_for_function("/^Sign 1,/.test(document.querySelector('.sh-on').getAttribute('aria-label'))")
    with OpenPiece(place) as piece:
        after = piece.contents.inscriptions[0].columns
    assert after[0][:2] == (before[0][1], before[0][0])
    assert after[1:] == before[1:]


def test_zooming_in_brings_full_tiles(show):
    page = show(1)
    painted(page)
    page.locator(".pb-view").scroll_into_view_if_needed()
    page.mouse.click(*point(page, 300, 900))
    page.mouse.move(*point(page, 1470, 360))
    for _ in range(10):
        page.mouse.wheel(0, -240)
        page.wait_for_timeout(20)
    page.wait_for_function(
        "document.querySelector('.pb').boardStats.tiles > 0 && document.querySelector('.pb').dataset.waiting === '0'"
    )
    assert scale(page) > 1
    labs.keep_picture(page, "zoomed")


def test_lost_tiles_are_asked_again(show):
    page = show(1)
    painted(page)
    page.locator(".pb-view").scroll_into_view_if_needed()
    labs.evaluate(
        page,
        "[setattr(page.panel('board'), '_kept_send', page.panel('board').send), setattr(page.panel('board'), 'send', "
        "lambda m, buffers=None: None if m.get('type') == 'tile' else page.panel('board')._kept_send(m, buffers))][0]",
    )
    page.mouse.click(*point(page, 300, 900))
    page.get_by_role("button", name="Full size").click()
    page.wait_for_function("Number(document.querySelector('.pb').dataset.waiting) > 0")
    page.wait_for_timeout(500)
    labs.evaluate(page, "setattr(page.panel('board'), 'send', page.panel('board')._kept_send)")
    page.wait_for_function(
        "document.querySelector('.pb').dataset.waiting === '0' && document.querySelector('.pb').boardStats.tiles > 0"
    )


def test_a_candidate_changes_the_metre_and_the_attempt_is_found(show, place, window):
    page = show(2)
    painted(page)
    page.wait_for_function("Number(document.querySelector('.rp').dataset.turn) > 0")
    expect(page.locator(".rp-metre")).to_have_text("5-7-5", use_inner_text=True)
    more(page)
    expect(page.locator(".rp-open .rp-morae")).to_have_text(
        ["5 of 5 morae", "7 of 7 morae", "5 of 5 morae"], use_inner_text=True)
    turn = page.locator(".rp").get_attribute("data-turn")
    # 鳧 reads けり, two morae: in the place of the last sign it makes the last line too long by one.
    page.get_by_role("option", name="Sign 17", exact=False).first.click()
    settled(page)
    page.locator(".cp-type").fill("鳧")
    page.locator(".cp-type").press("Enter")
    page.wait_for_selector(".cp-cand [lang=ja]:text('鳧')")
    page.get_by_role("radiogroup", name="Certainly this").get_by_role("radio", name="鳧").click()
    page.wait_for_function(
        "(turn) => { const panel = document.querySelector('.rp'), lines = panel.querySelector('.rp-open .rp-lines');"
        " return panel.dataset.turn !== turn && panel.dataset.busy === 'false' && /けり/.test(lines?.textContent); }",
        arg=turn,
    )
    assert page.locator(".rp-open .rp-morae").all_inner_texts()[-1] == "6 of 5 morae"
    expect(page.locator(".rp-open .rp-off")).to_have_text(["1 too many"], use_inner_text=True)
    labs.keep_picture(page, "reading")
    page.locator(".rp-open").get_by_role("button", name="Keep as an attempt").click()
    page.get_by_role("radiogroup", name="How sure", exact=True).get_by_role("radio", name="guess").click()
    page.get_by_label("Why? (what is seen, which light, who agrees)").fill(
        "the last sign looks like けり under the top lamp"
    )
    page.get_by_role("button", name="Write it into the register").click()
    page.wait_for_function("[...document.querySelectorAll('.rp td')].some((e) => e.textContent === 'guess 0.20')")
    with OpenPiece(place) as piece:
        kept = piece.contents.attempts[-1]
    assert kept.confidence == 0.2
    assert kept.kana.endswith("けり")
    labs.end(page, window)  # what is in the register is all that lasts

    page = show(4)
    unfold(page, "gp")
    page.wait_for_selector(".gp[data-total='3']")
    page.get_by_label("Find in all columns").fill("top lamp")
    page.wait_for_selector(".gp[data-total='1']")
    page.locator(".gp-open").first.click()
    page.wait_for_selector(".gp-detail h3")
    expect(page.locator(".gp-facts")).to_contain_text("the last sign looks like けり")
    page.get_by_role("radiogroup", name="Status").get_by_role("radio", name="set aside").click()
    page.get_by_label("Why (kept with the change)").fill("seen again by daylight")
    page.get_by_role("button", name="Save the change").click()
    page.wait_for_selector(".gp-detail td:text('seen again by daylight')")
    labs.keep_picture(page, "register")
    with OpenPiece(place) as piece:
        assert [a.status.value for a in piece.contents.attempts if a.id == kept.id] == ["set aside"]
        assert len(piece.register.history(kept.id)) == 2


def test_the_report_is_written_and_looked_at(show, place):
    page = show(4)
    page.get_by_role("button", name="Write the report").click()
    page.wait_for_selector(".tp[data-written='report.html']")
    frame = page.frame_locator("iframe.tp-look")
    frame.get_by_text("water dropper").first.wait_for()
    labs.keep_picture(page, "report")
    assert (place / "exports" / "report.html").stat().st_size > 10_000
    with page.expect_download() as download:
        page.locator(".tp-save").click()
    assert download.value.suggested_filename == "report.html"
    folders = {name: page.locator(f"[data-key=fold-{name}]") for name in ROOMS["report"]}

    def spoken(language):
        page.locator("[data-key=speak]").click()  # every panel is laid anew
        page.wait_for_function("(l) => document.querySelector('.gp')?.lang === l", arg=language)
        page.locator(".gp .ra-holds").wait_for(state="attached")
        settled(page)
        return [name for name, f in folders.items() if f.get_attribute("aria-expanded") == "true"]

    expect(page.locator(".gp .ra-holds"), "folded, it tells what it holds").to_have_text("Reading attempts: 2")
    folders["gp"].focus()
    page.keyboard.press("Enter")
    expect(page.locator(".gp .ra-body")).to_be_visible()
    expect(page.locator(".tp .ra-body"), "one panel is open: the one before gives its room").to_be_hidden()
    page.keyboard.press("Enter")
    expect(page.locator(".gp .ra-body"), "no room stands empty").to_be_visible()
    at(page, "marks")
    at(page, "report")
    assert spoken("ja") == ["gp"], "as the reader left it"
    page.evaluate("localStorage.removeItem('readaid-open')")
    assert spoken("en") == ["tp"], "as a new reader finds it"
    folders["ip"].focus()
    page.keyboard.press(" ")
    expect(page.locator(".ip .ra-body")).to_be_visible()
    assert page.evaluate("JSON.parse(localStorage['readaid-open'])") == {"report": "ip"}


def test_signature_dates_and_two_forms(show, place):
    page = show(3)
    page.wait_for_function("Number(document.querySelector('.sp').dataset.parses) > 0")
    page.get_by_label("The date as it stands", exact=False).fill("文化〇年壬申")
    page.get_by_label("The date as it stands", exact=False).press("Enter")
    page.wait_for_selector(".sp td:text('文化 9')")
    page.wait_for_function(
        "document.querySelector('.xp').dataset.likeness > 0 && document.querySelector('.xp').dataset.forms"
    )
    unfold(page, "xp")
    first = page.locator(".xp").get_attribute("data-likeness")
    page.locator(".xp-form").nth(5).get_by_role("button", name="Second", exact=False).click()
    page.wait_for_function(
        "(first) => { const now = document.querySelector('.xp').dataset.likeness; return now && now !== first; }",
        arg=first,
    )
    for look in ("Slider", "Side by side", "Two colours"):
        page.get_by_role("radio", name=look).click()
    labs.keep_picture(page, "compare")
    page.get_by_role("button", name="Keep this comparison").click()
    page.wait_for_function(
        "[...document.querySelectorAll('.xp .ra-live')].some((e) => /in the register/.test(e.textContent))"
    )
