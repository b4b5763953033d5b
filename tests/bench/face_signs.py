"""Words and signs of life on the real screen: time from gesture to mark, texts too faint, pictures of every place.

Conventions: milliseconds from the browser's event to the mark on the panel that was asked (a mutation observer in the
page); contrast by WCAG 2.2; pictures at two sizes, in both languages, on both mats, lie where CI picks them up.
"""

from __future__ import annotations

import os
import statistics
import tempfile
from pathlib import Path
from typing import Any

from tests.bench.face_work import WINDOWS, Row, opened
from tests.browser import lab as labs
from tests.browser.hands import at, painted, settled
from tests.widgets.made import demo_piece

WATCH = """() => {
  window.signs = [];
  let at = 0;
  for (const kind of ['pointerdown', 'keydown', 'change'])
    document.addEventListener(kind, () => { at = performance.now(); }, true);
  new MutationObserver((all) => { if (at && all.some((m) => m.target.hasAttribute('data-step'))) {
    window.signs.push(performance.now() - at); at = 0; } })
    .observe(document.querySelector('.ra-bench'), { subtree: true, attributes: true, attributeFilter: ['data-step'] });
}"""
STAGES = ("photographs", "marks", "reading", "school", "report")
#: Everything with a name that can be pressed where the hand is; what leaves the page or opens another piece stays out.
PRESSABLE = """() => [...document.querySelectorAll('.ra-bench button[data-key]')]
  .filter((e) => !e.disabled && e.checkVisibility?.({ checkVisibilityCSS: true }))
  .map((e) => e.dataset.key).filter((k) => !/^(stage-|speak|full|new$|open$|p-|add-photo|add$)/.test(k))"""
PRESS = """(key) => {
  const found = [...document.querySelectorAll(`.ra-bench button[data-key="${CSS.escape(key)}"]`)]
    .find((e) => !e.disabled && e.checkVisibility?.({ checkVisibilityCSS: true }));
  if (!found) return false;
  found.dispatchEvent(new PointerEvent('pointerdown', { bubbles: true }));
  found.click();
  return true;
}"""
FAINT = (Path(__file__).parents[1] / "browser" / "faint_text.js").read_text(encoding="utf-8")


def pictures(page: Any, name: str) -> set[str]:
    """A picture of every place; returns the texts that are too faint."""
    faint: set[str] = set()
    for stage in STAGES:
        at(page, stage)
        page.wait_for_timeout(500)
        labs.keep_picture(page, f"{name}_{stage}")
        faint |= set(page.evaluate(FAINT))
    return faint


def pressed(page: Any) -> dict[str, float]:
    """Every control of every place pressed once: milliseconds to the sign of life of each that asks Python."""
    took: dict[str, float] = {}
    for stage in STAGES:
        at(page, stage)
        for key in dict.fromkeys(page.evaluate(PRESSABLE)):
            before = page.evaluate("window.signs.length")
            if not page.evaluate(PRESS, key):
                continue  # an earlier press put it away
            page.wait_for_timeout(120)
            after = page.evaluate("window.signs")
            if len(after) > before:
                took[f"{stage}: {key}"] = after[before]
            page.keyboard.press("Escape")
        settled(page)
    return took


def bench() -> list[Row]:
    """All rows; none where there is no Chromium."""
    path = labs.chromium()
    if path is None:
        return [("no Chromium here: nothing measured", 0, "", "")]
    from playwright.sync_api import sync_playwright

    faint: set[str] = set()
    signs: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=labs.ARGUMENTS)
        for window in WINDOWS:
            os.environ["XDG_CONFIG_HOME"] = f"{folder}/{window[0]}"  # no choice of the account's own, nor of before
            place = demo_piece(Path(folder) / f"demo-{window[0]}")
            with opened(browser, place, "photographs", window) as (page, _):
                painted(page)
                page.wait_for_timeout(3000)  # the text face comes after the first pictures
                page.evaluate(WATCH)
                for language in ("en", "ja"):
                    if language == "ja":
                        page.locator("[data-key=speak]").click()
                        page.wait_for_function("document.querySelector('.hd')?.lang === 'ja'")
                        settled(page)
                    for mat in ("dark", "light"):
                        faint |= pictures(page, f"{window[0]}_{language}_{mat}")
                        at(page, "photographs")
                        page.locator("[data-key=mat]").click()
                        settled(page)
                signs |= {f"{window[0]} {gesture}": ms for gesture, ms in pressed(page).items()}
        browser.close()
    for text in sorted(faint):
        print(f"faint: {text}")
    for gesture, ms in sorted(signs.items(), key=lambda s: -s[1])[:12]:
        print(f"sign of life: {ms:.1f} ms {gesture}")
    return [(f"sign of life after a gesture, median of {len(signs)}", statistics.median(signs.values()), "ms", "< 100"),
            (f"sign of life after a gesture, longest of {len(signs)}", max(signs.values()), "ms", "< 100"),
            ("texts below the contrast of WCAG AA, both languages, both mats", len(faint), "", "0")]
