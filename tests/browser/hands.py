"""What a hand does on the panels: points in the photograph, drawing, waiting until Python has answered."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any


def settled(page: Any) -> None:
    """Wait until every panel's askings are answered."""
    page.wait_for_function("[...document.querySelectorAll('.ra')].every((r) => (r.dataset.pending ?? '0') === '0')")


def painted(page: Any) -> None:
    """Wait for the photograph."""
    page.wait_for_selector(".pb[data-painted='1']")


def point(page: Any, x: float, y: float) -> tuple[float, float]:
    """Screen position of a full-size image pixel on the board."""
    box = page.locator(".pb-view").bounding_box()
    view = json.loads(page.locator(".pb").get_attribute("data-view"))
    return box["x"] + view["ox"] + x * view["s"], box["y"] + view["oy"] + y * view["s"]


def scale(page: Any) -> float:
    """Screen pixels of one image pixel."""
    return float(json.loads(page.locator(".pb").get_attribute("data-view"))["s"])


def drag(page: Any, a: tuple[float, float], b: tuple[float, float]) -> None:
    """Drag from one screen position to another."""
    page.mouse.move(*a)
    page.mouse.down()
    page.mouse.move((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, steps=4)
    page.mouse.move(*b, steps=4)
    page.mouse.up()


def focused(page: Any) -> str:
    """What has the focus, in words for a failure."""
    return str(
        page.evaluate(
            "() => { const e = document.activeElement;"
            " return `${e.tagName} ${e.className} ${e.getAttribute('aria-label') ?? e.textContent.slice(0, 30)}`; }"
        )
    )


def at(page: Any, stage: str) -> None:
    """Go to a place of the bench."""
    page.locator(f"[data-key=stage-{stage}]").click()
    settled(page)


#: Panels that share a place of the bench, under one row of names.
ROOMS = {"school": ("sp", "xp", "lp"), "report": ("gp", "ip", "tp", "hp")}


def unfold(page: Any, panel: str) -> None:
    """Open a panel of a place that several share."""
    page.locator(f"[data-key=fold-{panel}]").click()
    page.wait_for_function("(p) => !document.querySelector(`.${p}`).classList.contains('ra-folded')", arg=panel)


def walked(page: Any, stages: Iterable[str]) -> Iterator[str]:
    """Go to each place and open each of its panels; yields the name of what is in sight."""
    for stage in stages:
        at(page, stage)
        for panel in ROOMS.get(stage, ("",)):
            if panel:
                unfold(page, panel)
            settled(page)
            yield f"{stage} {panel}".strip()


def lay(page: Any, title: str) -> None:
    """Lay another photograph on the mat."""
    page.get_by_role("button", name=f"Show {title}", exact=True).click()
    settled(page)


def shown(page: Any, title: str) -> None:
    """Wait until the photograph of this title lies on the mat; one that is computed first takes its time."""
    page.wait_for_function(
        "(t) => document.querySelector('.pb-photo.pb-here small')?.textContent.split(' · ').pop() === t", arg=title,
        timeout=120_000)


def more(page: Any) -> None:
    """Open what is more than the reading line."""
    page.locator("[data-key=more]").click()
    page.locator(".rp-drawer").wait_for()
