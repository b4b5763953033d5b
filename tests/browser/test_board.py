"""The photo board in a real browser: a curved column, a rubbing, a slider, a lost file, a tall photograph, a ruler."""

from __future__ import annotations

import json

import numpy as np
import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import expect

from readaid.core.photo import Evidence
from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import at, focused, lay, painted, point, scale, settled, shown

pytestmark = pytest.mark.browser
LINE = [(1470, 300), (1485, 500), (1490, 700), (1480, 1150)]


def idle(page):
    """Wait until long work has ended and every asking is answered."""
    page.wait_for_timeout(300)
    page.wait_for_function("!document.querySelector('.pb-work progress')")
    settled(page)


def told(page):
    return page.locator(".pb .ra-live").inner_text()


def choose(page, label, option):
    page.get_by_label(label, exact=True).first.select_option(label=option)
    settled(page)
    page.wait_for_timeout(200)


def bends(place):
    with OpenPiece(place) as piece:
        return [p for p in piece.contents.photos if p.bend]


def test_a_curved_column_is_straightened_with_the_mouse(show, place):
    page = show(1)
    painted(page)
    page.get_by_role("button", name="Straighten a column").click()
    page.locator(".pb-view").scroll_into_view_if_needed()
    page.wait_for_timeout(200)
    for there in LINE[:2]:
        page.mouse.click(*point(page, *there))
    expect(page.locator(".pb-band")).to_have_count(2)
    page.keyboard.press("Escape")  # leaves, and nothing is made
    page.wait_for_function("document.querySelector('.pb-view').dataset.mode === 'hand'")
    assert page.locator(".pb-band").count() == 0
    page.get_by_role("button", name="Straighten a column").click()
    for there in LINE[:-1]:
        page.mouse.click(*point(page, *there))
        page.wait_for_timeout(60)
    labs.keep_picture(page, "straighten")
    page.mouse.dblclick(*point(page, *LINE[-1]))
    shown(page, "verse_left, column straightened")
    painted(page)
    settled(page)
    labs.keep_picture(page, "straightened")
    (made,) = bends(place)
    assert np.allclose(made.bend, LINE, atol=2 / 0.39)
    assert made.evidence is Evidence.COMPUTED
    labels = page.locator(".pb-zone").evaluate_all("(zs) => zs.map((z) => z.getAttribute('aria-label'))")
    assert [word.split(",")[0] for word in labels] == [f"Zone {n}" for n in range(1, 7)]  # the right-hand column
    assert all(word.endswith("drawn on verse_left") for word in labels)
    page.get_by_role("button", name="Undo", exact=True).first.click()
    shown(page, "verse_left")
    assert not bends(place)


def test_a_curved_column_is_straightened_with_the_keyboard(show, place):
    page = show(1)
    painted(page)
    page.get_by_role("button", name="Straighten a column").focus()
    page.keyboard.press("Enter")
    assert "pb-view" in focused(page)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    assert "at least two points" in told(page)
    for press in ["Space", *["Shift+ArrowDown"] * 3, "Space", *["ArrowLeft"] * 3, "Space"]:
        page.keyboard.press(press)
    expect(page.locator(".pb-point")).to_have_count(3)
    page.keyboard.press("Backspace")
    expect(page.locator(".pb-point")).to_have_count(2)
    page.keyboard.press("Enter")
    shown(page, "verse_left, column straightened")
    assert len(bends(place)[0].bend) == 2


def test_a_right_click_ends_the_line(show, place):
    page = show(1)
    painted(page)
    page.get_by_role("button", name="Straighten a column").click()
    page.locator(".pb-view").scroll_into_view_if_needed()
    page.wait_for_timeout(200)
    for there in LINE:
        page.mouse.click(*point(page, *there))
        page.wait_for_timeout(60)
    page.mouse.click(*point(page, *LINE[0]), button="right")
    shown(page, "verse_left, column straightened")
    assert len(bends(place)[0].bend) == 4


def test_a_mirrored_rubbing_is_laid_over_and_nothing_is_doubled(show, place, tmp_path):
    with OpenPiece(place) as piece:
        left = next(p for p in piece.contents.photos if p.title == "verse_left")
        with Image.open(piece.path(left)) as picture:
            taken = picture.convert("RGB").resize((left.width * 4 // 5, left.height * 4 // 5))
        Image.fromarray(255 - np.asarray(taken)[:, ::-1]).save(tmp_path / "rubbing.png")
        piece.add_photo(tmp_path / "rubbing.png", surface=left.surface, evidence=Evidence.RUBBING)
        signs = len(piece.contents.inscriptions[0].characters)
    page = show(1)
    painted(page)
    lay(page, "rubbing")
    at(page, "marks")
    page.get_by_role("button", name="Propose zones").click()
    page.get_by_text("they would be counted twice").first.wait_for()
    page.locator("[data-key=ask-lay]").click()
    page.wait_for_function("/nothing was doubled/.test(document.querySelector('.pb .ra-live').textContent)",
                           timeout=90_000)
    settled(page)
    labs.keep_picture(page, "rubbing")
    with OpenPiece(place) as piece:
        rubbing = next(p for p in piece.contents.photos if p.title == "rubbing")
        verse = piece.contents.inscriptions[0]
        on = piece.surfaces.zones_on(rubbing)
        assert rubbing.mirrored
        assert len(on) >= signs
        # a sign that is there is found again on its zone: what is new lies elsewhere
        former = {k.id: k for k in piece.contents.characters}
        old = [z for z in piece.contents.zones if z.confidence is None and z.photo == left.id]
        new = [z for z in piece.contents.zones if z.confidence is not None and z.photo == rubbing.id]
        boxes = [piece.surfaces.zone_on(z, rubbing).box for z in old]
        for zone in new:
            x, y, w, h = zone.box
            middle = x + w / 2, y + h / 2
            assert not any(b[0] < middle[0] < b[0] + b[2] and b[1] < middle[1] < b[1] + b[3] for b in boxes)
        assert len(verse.characters) == signs + len(new)
        assert set(verse.characters) <= set(former)
    # on the screen the right-hand column stands at the right again
    xs = page.locator(".pb-zone[aria-label^='Zone 1,'] .pb-edge").evaluate(
        "(e) => e.getBoundingClientRect().left - e.closest('svg').getBoundingClientRect().left")
    assert xs > page.locator(".pb-view").bounding_box()["width"] / 2


def test_the_picture_follows_a_slider(show, place):
    page = show(1)
    painted(page)
    choose(page, "View", "Fine cut")
    page.get_by_role("button", name="Full size").click()
    page.wait_for_function("document.querySelector('.pb').dataset.waiting === '0'")
    with OpenPiece(place) as piece:
        version = piece.version
    layer = labs.evaluate(page, "page.panel('board').layer")
    slider = page.locator(".pb-looks input[type=range]").first
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    page.mouse.move(box["x"] + 20, box["y"] + box["height"] / 2)
    page.mouse.down()
    for step in range(1, 13):
        page.mouse.move(box["x"] + 20 + step * 5, box["y"] + box["height"] / 2)
        page.wait_for_timeout(120)
    assert labs.evaluate(page, "page.panel('board').layer") >= layer + 2
    with OpenPiece(place) as piece:
        assert piece.version == version
    page.mouse.up()
    settled(page)
    page.wait_for_function("document.querySelector('.pb').dataset.waiting === '0'")
    with OpenPiece(place) as piece:
        assert piece.version == version + 1
        kept = dict(next(v for v in piece.contents.views if v.view == "fine cut").values)
    assert kept["width_mm"] == pytest.approx(float(slider.input_value()), abs=1e-6)
    labs.keep_picture(page, "slider")


def test_a_file_that_goes_while_the_page_is_open(show, place):
    page = show(1)
    painted(page)
    (place / "photos" / "verse_left.jpg").rename(place / "away.jpg")
    page.get_by_role("button", name="Full size").click()
    alert = page.locator(".pb-trouble")
    alert.get_by_text("copy it back from the original").wait_for()
    expect(page.locator(".pb")).to_have_attribute("data-waiting", "0")  # the failed tiles' word comes after
    labs.keep_picture(page, "lost")
    (place / "away.jpg").rename(place / "photos" / "verse_left.jpg")
    alert.get_by_role("button", name="Try again").click()
    page.wait_for_function("document.querySelector('.pb-trouble').hidden")
    page.wait_for_function(
        "document.querySelector('.pb').boardStats.tiles > 0 && document.querySelector('.pb').dataset.waiting === '0'")


def test_a_very_tall_photograph_does_not_open_as_a_sliver(show, place, tmp_path):
    picture = Image.new("RGB", (600, 9000), (210, 205, 195))
    pen = ImageDraw.Draw(picture)
    for n in range(18):
        pen.rectangle([220, 200 + n * 480, 380, 400 + n * 480], outline=(40, 40, 40), width=14)
    picture.save(tmp_path / "strip.png")
    picture.rotate(90, expand=True).save(tmp_path / "scroll.png")
    with OpenPiece(place) as piece:
        for name in ("strip", "scroll"):
            piece.add_photo(tmp_path / f"{name}.png", surface=name)
    page = show(1)
    painted(page)
    lay(page, "strip")
    page.wait_for_function("/upper part is shown/.test(document.querySelector('.pb .ra-live').textContent)")
    width = page.locator(".pb-view").bounding_box()["width"]
    assert scale(page) == pytest.approx(width / 600, rel=0.02)
    assert json.loads(page.locator(".pb").get_attribute("data-view"))["oy"] == 0
    labs.keep_picture(page, "strip")
    page.locator(".pb-view").focus()
    page.keyboard.press("0")
    page.wait_for_timeout(200)
    assert scale(page) < 0.1
    lay(page, "scroll")
    page.wait_for_function("/right-hand part is shown/.test(document.querySelector('.pb .ra-live').textContent)")


def overlapping(page):
    """Numbers that are shown, and pairs of them that lie over each other by more than a few screen pixels."""
    return page.evaluate(
        """() => { const all = [...document.querySelectorAll('.pb .pb-zone .pb-label')];
        const r = all.map((e) => e.getBoundingClientRect()).filter((q) => q.width > 0);
        let n = 0;
        for (let i = 0; i < r.length; i++) for (let j = i + 1; j < r.length; j++)
          if (Math.min(r[i].right, r[j].right) - Math.max(r[i].left, r[j].left) > 4
            && Math.min(r[i].bottom, r[j].bottom) - Math.max(r[i].top, r[j].top) > 7) n++;
        return [r.length, n]; }""")


def test_marks_are_thin_numbered_or_hidden_and_nothing_lies_on_the_writing(show, place):
    page = show(1)
    painted(page)
    page.wait_for_function("document.querySelector('.pb').dataset.zones === '17'")
    assert overlapping(page) == [0, 0], "no number unasked"
    expect(page.locator(".pb-ring"), "a ring and its shadow, round the chosen sign alone").to_have_count(2)
    page.locator(".pb-zone").nth(3).hover(force=True)
    assert page.locator(".pb-zone").nth(3).locator(".pb-edge").evaluate(
        "(e) => [getComputedStyle(e).fill, getComputedStyle(e).stroke]") == ["rgba(0, 0, 0, 0)", "none"]
    page.locator(".pb-view").focus()
    page.keyboard.press("m")
    assert overlapping(page) == [17, 0]
    right = page.evaluate("""() => [...document.querySelectorAll('.pb-zone')].every((g) =>
        g.querySelector('.pb-label').getBoundingClientRect().left
        >= g.querySelector('.pb-edge').getBoundingClientRect().right - 1)""")
    assert right, "numbers stand beside the signs"
    labs.keep_picture(page, "numbers")
    for _ in range(7):
        page.keyboard.press("-")
        page.wait_for_timeout(60)
        assert overlapping(page)[1] == 0
    page.keyboard.press("m")
    assert page.locator(".pb-tick:visible").count() == 0
    assert page.locator(".pb-ring").count() == 0


def test_several_marks_are_chosen_and_said_to_be_a_signature(show, place):
    page = show(1)
    painted(page)
    at(page, "marks")
    with OpenPiece(place) as piece:
        verse = piece.contents.inscriptions[0]
        last = verse.columns[-1]
        zones = {z.id: z for z in piece.contents.zones}
        signs = {k.id: k for k in piece.contents.characters}
        boxes = [zones[signs[c].zones[0]].box for c in last]
    page.get_by_role("button", name="Lasso").click()
    x0, y0 = min(b[0] for b in boxes) - 15, min(b[1] for b in boxes) - 15
    x1, y1 = max(b[0] + b[2] for b in boxes) + 15, max(b[1] + b[3] for b in boxes) + 15
    line = [point(page, *p) for p in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    page.mouse.move(*line[0])
    page.mouse.down()
    for p in line[1:]:
        page.mouse.move(*p, steps=3)
    page.mouse.up()
    page.get_by_text(f"{len(last)} marks", exact=True).wait_for()
    page.keyboard.press("Escape")
    x, y, w, h = boxes[-1]
    page.keyboard.down("Shift")
    page.mouse.click(*point(page, x + w / 2, y + h / 2))  # Shift and a click lets one of them go
    page.keyboard.up("Shift")
    page.get_by_text(f"{len(last) - 1} marks", exact=True).wait_for()
    labs.keep_picture(page, "lasso")
    page.locator("[data-key=allot-signature]").click()
    settled(page)
    with OpenPiece(place) as piece:
        made = piece.contents.inscriptions[-1]
        verse = piece.contents.inscriptions[0]
        assert made.kind == "signature"
        assert made.characters == last[:-1]
        assert verse.columns[-1] == last[-1:]
        assert [k.candidates for k in piece.contents.characters if k.id == last[0]] == [signs[last[0]].candidates]
    page.keyboard.press("Control+z")
    settled(page)
    with OpenPiece(place) as piece:
        assert piece.contents.inscriptions[0].columns[-1] == last


def test_a_ruler_is_offered_when_the_scale_is_to_be_set(show, place):
    with OpenPiece(place) as piece:
        for photo in piece.contents.photos:
            piece.change(photo, scale=None)
    page = show(1)
    painted(page)
    page.get_by_role("button", name="Set the scale").click()
    offer = page.get_by_role("group", name="A ruler was found")
    offer.wait_for(timeout=60_000)
    expect(page.locator(".pb-ruler")).to_have_count(1)
    labs.keep_picture(page, "ruler")
    offer.get_by_role("button", name="Yes, use it as the scale").click()
    page.get_by_text("(ruler in the picture)").first.wait_for()
    with OpenPiece(place) as piece:
        found = next(p for p in piece.contents.photos if p.title == "verse_left").scale
    assert 1 / found.mm_per_pixel == pytest.approx(26, rel=0.01)


def test_what_is_marked_is_chosen_and_proposals_are_looked_at(show, place):
    page = show(1)
    painted(page)
    at(page, "marks")
    choose(page, "Inscription", "New inscription …")
    kind = page.get_by_label("What it is", exact=True).first
    assert kind.evaluate("(s) => s.selectedOptions[0].text") == "Not known yet"
    kind.select_option(label="Signature")
    settled(page)
    with OpenPiece(place) as piece:
        assert piece.contents.inscriptions[-1].kind == "signature"
        photo = next(p for p in piece.contents.photos if p.title == "verse_left")
        from readaid.core.photo import Zone, rectangle

        piece.layout.draw_columns(piece.contents.inscriptions[-1], photo,
                                  [[Zone(photo.id, rectangle(1700, y, 60, 60), confidence=c)
                                    for y, c in ((200, 0.9), (300, 0.3), (400, 0.2))]])
    page.get_by_role("button", name="Look at the next (2 doubtful)").wait_for()  # another kernel wrote: seen in 2 s
    page.locator(".pb-view").focus()
    page.keyboard.press("l")
    settled(page)
    assert "Zone 2" in focused(page)
    assert "30 % sure" in focused(page)
    labs.keep_picture(page, "doubtful")
    page.keyboard.press("r")
    settled(page)
    page.get_by_role("button", name="Look at the next (1 doubtful)").wait_for()
    assert "Zone 3" in focused(page)
    page.get_by_role("button", name="It is right").click()
    settled(page)
    with OpenPiece(place) as piece:
        assert sorted(z.confidence is None for z in piece.contents.zones if z.box[0] == 1700) == [False, True, True]


def test_japanese_in_the_card_of_the_photograph_is_taken_over_when_it_is_left(show, place):
    page = show(1)
    painted(page)
    page.locator("[data-key=fold-about]").click()
    field = page.get_by_label("Which side or surface")
    field.fill("")
    page.keyboard.press("Tab")
    settled(page)
    field.focus()
    input_method = page.context.new_cdp_session(page)
    with OpenPiece(place) as piece:
        version = piece.version
    for text in ("o", "お", "おm", "おもて"):
        input_method.send(
            "Input.imeSetComposition", {"text": text, "selectionStart": len(text), "selectionEnd": len(text)})
        page.wait_for_timeout(60)
        assert field.input_value() == text
    with OpenPiece(place) as other:  # another kernel writes meanwhile: the field is not rebuilt under the hand
        other.describe(condition="worn")
    page.wait_for_timeout(2600)
    assert field.input_value() == "おもて"
    input_method.send("Input.insertText", {"text": "表"})
    page.wait_for_timeout(200)
    with OpenPiece(place) as piece:
        assert piece.version == version + 1, "nothing of ours is written before the field is left"
    field.press("Tab")
    settled(page)
    with OpenPiece(place) as piece:
        assert piece.contents.photos[0].surface == "表"
    assert page.get_by_label("Which side or surface").input_value() == "表"
