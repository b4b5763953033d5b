"""Fingers on the photograph: two zoom, one moves, a tap chooses; through the browser's own touch events (CDP)."""

from __future__ import annotations

import json

import pytest

from tests.browser.hands import at, painted, settled

pytestmark = pytest.mark.browser


def view(page):
    return json.loads(page.locator(".pb").get_attribute("data-view"))


def test_two_fingers_zoom_one_moves_and_a_tap_chooses(show, place):
    page = show(1)
    painted(page)
    at(page, "marks")
    cdp = page.context.new_cdp_session(page)
    cdp.send("Emulation.setTouchEmulationEnabled", {"enabled": True, "maxTouchPoints": 2})

    def touch(kind, *points):
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [
            {"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]})

    box = page.locator(".pb-view").bounding_box()
    cx, cy = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before = view(page)
    touch("touchStart", (cx - 40, cy), (cx + 40, cy))
    for step in range(1, 6):
        touch("touchMove", (cx - 40 - 16 * step, cy), (cx + 40 + 16 * step, cy))
    touch("touchEnd")
    page.wait_for_timeout(200)
    zoomed = view(page)
    assert zoomed["s"] == pytest.approx(before["s"] * 3, rel=0.1), "fingers three times as far apart"
    touch("touchStart", (cx, cy))
    for step in range(1, 6):
        touch("touchMove", (cx + 12 * step, cy + 8 * step))
    touch("touchEnd")
    page.wait_for_timeout(200)
    moved = view(page)
    assert moved["ox"] - zoomed["ox"] == pytest.approx(60, abs=2)
    assert moved["oy"] - zoomed["oy"] == pytest.approx(40, abs=2)
    page.locator(".pb-view").focus()
    page.keyboard.press("0")
    page.wait_for_timeout(200)
    mark = page.locator(".pb-zone").nth(3)
    edge = mark.locator(".pb-edge").bounding_box()
    spot = (edge["x"] + edge["width"] / 2, edge["y"] + edge["height"] / 2)
    touch("touchStart", spot)
    touch("touchEnd")
    settled(page)
    assert mark.get_attribute("aria-pressed") == "true"
