"""A second reader, checks and the archive in a real browser; forms compared as traced."""

from __future__ import annotations

import pytest

import readaid
from readaid.copies.reader_copy import receive
from readaid.core.photo import Tracing
from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import settled, unfold

pytestmark = pytest.mark.browser


def done(page) -> None:
    """Wait until the panel is at rest."""
    settled(page)  # heard first: only then is it seen whether something runs
    page.wait_for_function("!document.querySelector('.hp progress')")
    settled(page)


def test_a_copy_goes_out_and_comes_back(show, place, tmp_path):
    with OpenPiece(place) as piece:
        copy = piece.custody.copy(tmp_path / "copy.zip")
    receive(copy, tmp_path / "theirs")
    with readaid.open(tmp_path / "theirs", reader="Tanaka") as theirs:
        theirs.decipherment.tag(theirs.contents.characters[0], "う", 0.9)
        back = theirs.custody.copy(tmp_path / "back.zip")
    page = show(4)
    page.set_viewport_size({"width": 1280, "height": 800})
    panel = page.locator(".hp")
    unfold(page, "hp")
    panel.get_by_role("button", name="Blind copy").click()
    page.wait_for_selector(".hp-file[data-what='Blind copy']")
    done(page)
    with page.expect_download() as download:
        panel.get_by_role("link", name="Save blind-copy.zip").click()
    assert download.value.suggested_filename == "blind-copy.zip"
    panel.get_by_role("button", name="Blind copy").click()
    done(page)
    assert page.locator(".hp-file[data-what='Blind copy']").count() == 1, "written again: the newer one stands"
    panel.locator("input[type=file]").set_input_files(str(back))
    page.wait_for_selector(".hp-wide td:text('う 0.90')")
    panel.get_by_role("button", name="Compare the readers").click()
    page.wait_for_selector(".hp-card p:has-text('Demo reader, Tanaka')")
    done(page)
    panel.get_by_role("button", name="How sure were they rightly?").click()
    page.wait_for_selector(".hp-card p:has-text('no sign is settled yet')")
    panel.get_by_role("button", name="Check register and photographs").click()
    page.wait_for_selector(".hp-good")
    assert page.locator(".hp .ra-fault span").count() == 0
    labs.keep_picture(page, "sharing")


def test_forms_are_compared_as_traced(show, place):
    with OpenPiece(place) as piece:
        mine = next(s for s in piece.contents.specimens if s.zone)
        piece.save(Tracing(mine.zone, (((0.0, 5.0), (10.0, 5.0)), ((5.0, 0.0), (5.0, 10.0)))), reason="tracing kept")
    page = show(3)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.wait_for_function(
        "document.querySelector('.xp').dataset.likeness && document.querySelector('.xp').dataset.forms")
    unfold(page, "xp")
    first = page.locator(".xp").get_attribute("data-likeness")
    page.get_by_role("button", name="First as traced").click()
    page.wait_for_function(
        "(first) => { const now = document.querySelector('.xp').dataset.likeness; return now && now !== first; }",
        arg=first)
    counted = page.locator(".xp-counts tr").all_inner_texts()
    assert any(row.split("\t")[:2] == ["crossings", "1"] for row in counted), counted
    labs.keep_picture(page, "as_traced")
