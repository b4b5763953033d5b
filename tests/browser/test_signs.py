"""The chosen sign in a real browser: reference forms, other photographs, tracing, own crops, parts, look-alikes."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from readaid.piece.open_piece import OpenPiece
from readaid.widgets.letter_rows import alike_rows
from tests.browser import lab as labs
from tests.browser.hands import more, painted, settled

pytestmark = pytest.mark.browser

BENCH, SMALL = {"width": 1280, "height": 800}, {"width": 1024, "height": 720}


def way(page, name: str) -> None:
    """Choose one of the ways to find a letter; typing is always there."""
    if name == "Type it":
        return
    page.locator(".cp").get_by_role("radio", name=name, exact=True).click()


def proposals(page) -> list[str]:
    """Wait for proposals by shape; the characters in their order."""
    page.wait_for_function("document.querySelector('.cp').dataset.shape === 'ready'")
    settled(page)
    return page.locator(".cp-card .cp-big").all_inner_texts()


def laid_over(place) -> None:
    """The photographs of the front lie over each other by construction; the identity says so."""
    with OpenPiece(place) as piece:
        first, top = (next(p for p in piece.contents.photos if p.title == t) for t in ("verse_left", "verse_top"))
        piece.change(top, to_reference=(1.0, 0, 0, 0, 1, 0, 0, 0, 1), reference=first.id)


def first_sign(place):
    with OpenPiece(place) as piece:
        order = piece.contents.inscriptions[0].columns[0]
        return next(k for k in piece.contents.characters if k.id == order[0])


def test_every_proposal_bears_a_picture_and_is_entered_by_keys(show, place):
    page = show(2)
    page.set_viewport_size(BENCH)
    painted(page)
    way(page, "By shape")
    found = proposals(page)
    assert len(found) == 12
    pictures = page.evaluate(
        "() => [...document.querySelectorAll('.cp-card img.cp-ref')].map((i) => [i.naturalWidth, i.alt])")
    assert len(pictures) >= 12
    assert all(width == 48 and alt for width, alt in pictures)
    expect(page.locator(".cp-none")).to_have_text(re.compile("^None of these"))
    assert page.locator(".cp-sounds button").count() >= 1
    labs.keep_picture(page, "shape")
    page.locator(".cp-card").nth(0).focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    page.wait_for_function("document.querySelectorAll('.cp-cand').length === 3")
    assert found[1] in [c.character for c in first_sign(place).candidates]
    expect(page.locator(".cp-why"), "of the surest nobody asks why not").to_have_count(2)
    why = page.locator(".cp-why").last
    sign = why.get_attribute("data-key").removeprefix("why-")
    why.fill("払いがない")
    page.keyboard.press("Enter")
    page.wait_for_selector(".cp-why[title='払いがない']")
    assert {c.character: c.rejected for c in first_sign(place).candidates if c.rejected} == {sign: "払いがない"}
    labs.keep_picture(page, "why_not")
    page.locator(".cp-sounds button").first.click()
    page.wait_for_selector(".cp-finder :text('letters, the usual ones first')")


def test_the_crop_may_come_from_another_photograph(show, place):
    laid_over(place)
    page = show(2)
    page.set_viewport_size(BENCH)
    painted(page)
    before = page.locator(".cp-crop img:first-child").get_attribute("src")
    page.get_by_label("Crop taken from").select_option(label="verse_top")
    page.wait_for_function("(was) => document.querySelector('.cp-crop img').src !== was", arg=before)
    page.locator(".cp").get_by_label("Seen through").select_option(label="Fine cut")
    settled(page)
    page.wait_for_function("!document.querySelector('.cp-looked').hidden")
    way(page, "By shape")
    page.wait_for_selector(".cp-finder :text('Compared: verse_top, view fine cut.')")
    proposals(page)
    labs.keep_picture(page, "crop_elsewhere")
    card = page.locator(".cp-card[aria-pressed=false]").first
    sign = card.locator(".cp-big").inner_text()
    card.click()
    page.wait_for_selector(".cp-note:text('seen on verse_top, view fine cut')")
    with OpenPiece(place) as piece:
        record = first_sign(place)
        assert next(c for c in record.candidates if c.character == sign).source == "shape"
        assert piece.register.history(record.id)[-1].reason == (
            "candidate entered by shape, seen on verse_top, view fine cut")


def test_the_crop_follows_the_board_when_asked(show, place):
    laid_over(place)
    page = show(2)
    painted(page)
    assert page.get_by_role("button", name="As on the mat").count() == 0
    chosen = page.locator(".sh").get_attribute("data-chosen")
    page.get_by_role("radio", name="verse_top").click()
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '17'")
    settled(page)
    expect(page.locator(".sh"), "another lamp does not let go of the sign").to_have_attribute("data-chosen", chosen)
    page.get_by_role("button", name="As on the mat").click()
    page.wait_for_function("!document.querySelector('.cp-looked').hidden")
    shown = page.get_by_label("Crop taken from").evaluate("(s) => s.selectedOptions[0].text")
    assert shown == "verse_top"
    assert page.get_by_role("button", name="As on the mat").count() == 0


def stroke(page, *points: tuple[float, float]) -> None:
    """Draw on the tracing sheet with the mouse; points are shares of its width and height."""
    box = page.locator(".np-sheet").bounding_box()
    at = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in points]
    page.mouse.move(*at[0])
    page.mouse.down()
    for place in at[1:]:
        page.mouse.move(*place, steps=8)
    page.mouse.up()


def strokes(page, n: int) -> None:
    page.wait_for_function("(n) => document.querySelector('.np').dataset.strokes === String(n)", arg=n)


def test_tracing_from_the_mouse_to_the_report(show, place):
    page = show(2)
    page.set_viewport_size(BENCH)
    painted(page)
    tools = page.locator(".np")
    page.get_by_role("button", name="Trace", exact=True).click()
    page.locator(".np-sheet").wait_for()
    assert tools.get_by_role("button", name="Keep the tracing").is_disabled(), "an empty sheet has nothing to keep"
    page.wait_for_timeout(300)
    stroke(page, (0.2, 0.3), (0.22, 0.5), (0.19, 0.75))
    stroke(page, (0.5, 0.2), (0.75, 0.2), (0.6, 0.55), (0.8, 0.75))
    stroke(page, (0.9, 0.9))
    strokes(page, 3)
    tools.get_by_role("button", name="Undo", exact=True).click()
    strokes(page, 2)
    page.locator(".np-sheet").focus()
    page.keyboard.press("Control+z")
    strokes(page, 1)
    page.keyboard.press("Control+Shift+z")
    strokes(page, 2)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Delete")
    strokes(page, 1)
    tools.get_by_role("button", name="Undo", exact=True).click()
    strokes(page, 2)
    labs.keep_picture(page, "tracing")
    # what is not kept waits for the reader to come back
    page.locator(".np-sheet").focus()
    page.keyboard.press("PageDown")
    strokes(page, 0)
    page.keyboard.press("PageUp")
    strokes(page, 2)
    tools.get_by_role("button", name="Keep the tracing").click()
    page.wait_for_function("/is in the register/.test(document.querySelector('.np').textContent)")
    with OpenPiece(place) as piece:
        (kept,) = piece.contents.tracings
        assert (kept.unit, kept.by, len(kept.strokes)) == ("mm", "reader", 2)
        zone = next(z for z in piece.contents.zones if z.id == kept.zone)
        photo = next(p for p in piece.contents.photos if p.id == zone.photo)
        wide = zone.box[2] * photo.scale.mm_per_pixel
        assert all(-0.2 * wide < x < 1.2 * wide for line in kept.strokes for x, _ in line), "millimetres of the zone"
    page.get_by_role("button", name="Back to the sign").click()
    way(page, "By shape")
    proposals(page)
    page.get_by_role("radio", name="The tracing").click()
    page.wait_for_selector(".cp-finder :text('Compared: the tracing.')")
    proposals(page)
    expect(page.locator(".cp-card")).to_have_count(12)
    page = show(4)
    page.get_by_role("button", name="Write the report").click()
    page.wait_for_selector(".tp[data-written='report.html']")
    page.frame_locator("iframe.tp-look").get_by_alt_text("tracing 1", exact=False).first.wait_for(state="attached")


def test_a_tracing_of_one_dot_and_an_empty_one(show, place):
    page = show(2)
    painted(page)
    page.get_by_role("button", name="Trace", exact=True).click()
    page.locator(".np-sheet").wait_for()
    page.wait_for_timeout(300)
    tools = page.locator(".np")
    stroke(page, (0.5, 0.5))
    tools.get_by_role("button", name="Keep the tracing").click()
    page.wait_for_function("/is in the register/.test(document.querySelector('.np').textContent)")
    page.get_by_role("button", name="Back to the sign").click()
    way(page, "By shape")
    proposals(page)
    page.get_by_role("radio", name="The tracing").click()
    page.wait_for_selector(".cp-finder :text('Compared: the tracing.')")
    assert len(proposals(page)) == 12
    page.get_by_role("button", name="Trace", exact=True).click()
    tools.get_by_role("button", name="Clear").click()
    tools.get_by_role("button", name="Take the tracing away").click()
    page.wait_for_function("/Trace what you see/.test(document.querySelector('.np').textContent)")
    with OpenPiece(place) as piece:
        assert piece.contents.tracings == ()
    tools.get_by_role("button", name="Propose by computer").click()
    page.wait_for_function("Number(document.querySelector('.np').dataset.strokes) > 1")


def test_own_crops_are_told_in_the_row_and_taken_back(show, place):
    page = show(2)
    page.set_viewport_size(BENCH)
    painted(page)
    way(page, "Type it")
    page.locator(".cp-type").fill("鷺")
    page.locator(".cp-type").press("Enter")
    page.wait_for_selector(".cp-cand [lang=ja]:text('鷺')")
    page.get_by_role("radiogroup", name="How sure of 鷺").get_by_role("radio", name="certain").click()
    way(page, "By shape")
    page.get_by_role("radio", name="All letters").click()
    before = proposals(page)
    assert before[0] != "鷺"
    page.get_by_role("button", name="Remember this crop as 鷺").click()
    page.wait_for_selector(".cp-card .cp-own:text('your example')")
    assert proposals(page)[0] == "鷺"
    expect(page.locator(".cp-card").first.locator("img").first).to_have_attribute("alt", "鷺, your own example")
    labs.keep_picture(page, "own_crop")
    page.get_by_role("button", name="Take back your example of 鷺, sign 1").click()
    page.wait_for_function("!document.querySelector('.cp-own') && !document.querySelector('.cp-ownrow')")
    assert proposals(page) == before


def test_parts_and_look_alikes_by_keys_alone(show, place):
    page = show(2)
    page.set_viewport_size(SMALL)
    painted(page)
    page.locator(".cp").get_by_role("radio", name="By sound").focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")  # parent, part, shape, look-alikes
    page.wait_for_selector(".cp-forms img")
    assert page.locator(".cp-card img.cp-ref").count() >= 2
    labs.keep_picture(page, "look_alikes")
    field = page.get_by_label("Look-alikes of", exact=False).first
    field.fill("は")
    field.press("Enter")
    page.wait_for_selector(".cp-card .cp-big:text-is('ほ')")
    assert field.evaluate("(e) => e === document.activeElement"), "the field keeps the focus"
    alone = next(k for k in "けすなみゑあいうえお" if not alike_rows(k)["rows"])  # which has none is the table's to say
    field.fill(alone)
    field.press("Enter")
    page.wait_for_selector(f".cp-finder :text('Nothing is known to be taken for {alone}')")
    page.keyboard.press("Shift+Tab")
    while page.evaluate("() => document.activeElement.getAttribute('aria-label')") != "By part":
        assert page.evaluate("() => document.querySelector('.cp-finder').contains(document.activeElement)")
        page.keyboard.press("ArrowLeft" if page.evaluate("() => document.activeElement.role === 'radio'")
                            else "Shift+Tab")
    field = page.get_by_label("Part that can be seen", exact=False).first
    field.fill("watr")
    field.press("Enter")
    page.wait_for_selector(".cp .ra-fault:has-text(\"did you mean 'water'\")")
    field.fill("water")
    field.press("Enter")
    page.wait_for_selector("[data-key='l-海'] img.cp-ref")
    labs.keep_picture(page, "by_part")


def test_a_conversion_goes_on_while_something_is_found(show, place):
    """Letters that come in while a Japanese conversion is open do not take the field away (the browser's protocol)."""
    page = show(2)
    painted(page)
    way(page, "Look-alikes")
    page.wait_for_selector(".cp-forms")
    field = page.get_by_label("Look-alikes of", exact=False).first
    field.fill("")
    input_method = page.context.new_cdp_session(page)
    for text in ("ｎ", "の"):
        input_method.send("Input.imeSetComposition", {"text": text, "selectionStart": 1, "selectionEnd": 1})
        page.wait_for_timeout(60)
    labs.evaluate(page, "page.panel('sign').parts[0].do_alike('は')")  # a result arrives meanwhile
    page.wait_for_selector(".cp-card .cp-big:text-is('ほ')")
    assert field.input_value() == "の"
    input_method.send("Input.insertText", {"text": "野"})
    assert field.input_value() == "野"


@pytest.mark.parametrize("mark", ["?", "？"])
def test_a_question_mark_marks_the_sign_as_unread(show, place, mark):
    page = show(2)
    page.wait_for_selector(".cp-cand")
    way(page, "Type it")
    page.locator(".cp-type").fill(mark)
    page.locator(".cp-type").press("Enter")
    page.wait_for_function("document.querySelectorAll('.cp-cand').length === 0")
    assert first_sign(place).candidates == ()


def test_long_own_words_do_not_hold_the_page(show, place):
    page = show(2)
    page.wait_for_function("Number(document.querySelector('.rp').dataset.turn) > 0")
    more(page)
    own = page.get_by_label("Your own reading", exact=False)
    own.fill("すすはらひ" * 600)
    own.blur()
    page.wait_for_selector(".rp-counted progress")
    page.locator(".cp").get_by_role("button", name="Next sign").click()
    page.wait_for_function("document.querySelector('.cp-which').textContent === 'Sign 2 of 17'")
    page.wait_for_selector(".rp-counted table")
    assert page.locator(".rp-counted small").inner_text() != ""


def test_shares_are_explained(show, place):
    page = show(2)
    page.set_viewport_size(BENCH)
    page.wait_for_function("Number(document.querySelector('.rp').dataset.turn) > 0")
    more(page)
    page.wait_for_selector(".rp-spread")
    summary = page.locator(".rp-spread summary")
    assert "as the second" in summary.inner_text()
    summary.focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(".rp-spread p:has-text('is spread over many more spellings')")
    page.locator(".rp-spread").scroll_into_view_if_needed()
    labs.keep_picture(page, "shares")


#: Buttons of the mat's strip that are cut off at its edge; every width of it is tried in ``test_strip.py``.
CUT_OFF = """() => { const edge = document.querySelector('.pb-strip').getBoundingClientRect().right;
  return [...document.querySelectorAll('.pb-strip > *')]
    .filter((e) => e.checkVisibility() && e.getBoundingClientRect().right > edge).map((e) => e.textContent); }"""


@pytest.mark.parametrize("number", [2, 3, 4])
def test_nothing_runs_over_the_side(show, number):
    page = show(number)
    painted(page)
    for size in (BENCH, SMALL):
        page.set_viewport_size(size)
        page.wait_for_timeout(600)
        over = page.evaluate(
            "() => [...document.querySelectorAll('.ra, .rb-wide .ra-body')]"
            ".filter((r) => r.scrollWidth > r.clientWidth + 2)"
            ".map((r) => [r.className, r.scrollWidth, r.clientWidth])")
        assert over == []
        bench = page.locator(".ra-bench").bounding_box()
        assert (bench["width"], bench["height"]) == (size["width"], size["height"]), "the bench fills the window"
        beside = [".sh", ".cp"] if number == 2 else [".rb-wide"]
        for area in [".hd", ".pb-mat", ".rp", *beside]:
            box = page.locator(area).first.bounding_box()
            assert box["x"] >= 0
            assert box["y"] >= 0
            assert box["x"] + box["width"] <= size["width"] + 1, area
            assert box["y"] + box["height"] <= size["height"] + 1, area
        assert page.evaluate(CUT_OFF) == [], size
    for language in ("ja", "en"):  # what is chosen is kept: the next test's bench speaks English again
        page.locator("[data-key=speak]").click()
        page.wait_for_function("(l) => document.querySelector('.pb')?.lang === l", arg=language)
        painted(page)
        settled(page)
        assert page.evaluate(CUT_OFF) == [], language
