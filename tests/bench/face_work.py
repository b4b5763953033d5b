"""The bench at work in a real browser, at two sizes of window: how much of it is photograph, what stays in sight, what
the job costs in clicks and keys, what moves by itself, how long picture and gestures take, how smoothly it pans.
"""

from __future__ import annotations

import json
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from readaid.core.photo import rectangle
from readaid.core.places import share
from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs
from tests.browser.hands import at, painted, settled
from tests.widgets.made import demo_piece

Row = tuple[str, Any, str, str]
WINDOWS = ((1440, 900), (1280, 720))
#: Area of the window that shows pixels of the photograph and nothing over them.
SHARE = """() => { const v = JSON.parse(document.querySelector('.pb').dataset.view);
  const [m, strip] = ['.pb-mat', '.pb-strip'].map((s) => document.querySelector(s).getBoundingClientRect());
  const w = window.pbSize[0] * v.s, h = window.pbSize[1] * v.s;
  const x0 = Math.max(0, v.ox), x1 = Math.min(m.width, v.ox + w);
  const y0 = Math.max(0, v.oy), y1 = Math.min(m.height - strip.height, v.oy + h);
  return (x1 - x0) * (y1 - y0) / (innerWidth * innerHeight); }"""
PARTS = {"crop": ".cp-crop", "form": ".cp-form", "proposals": ".cp-card", "reading": ".rp-text", "sheet": ".sh-paper",
         "keep": ".rp-buttons"}
WATCH = """() => { window.shifts = [];
  const name = (n) => (n?.nodeType === 1 ? n : n?.parentElement)?.className?.toString() ?? '';
  new PerformanceObserver((l) => { for (const e of l.getEntries())
    window.shifts.push([e.value, e.sources.map((s) => name(s.node))]); })
  .observe({ type: 'layout-shift', buffered: false }); }"""


def many(place: Path, n: int) -> None:
    """A piece with ``n`` zones in columns of forty."""
    with OpenPiece.new(place, reader="bench", title="bench") as piece:
        photo = piece.add_photo(share("data") / "demo" / "photos" / "verse_left.jpg", surface="front")
        made = piece.layout.inscription("verse", photo)
        wide, high = photo.width / (n // 40 + 1), photo.height / 40
        piece.layout.draw_columns(made, photo, [
            [rectangle(wide * c + 2, 4 + k * high, wide * 0.6, high * 0.8) for k in range(min(40, n - 40 * c))]
            for c in range(n // 40 + 1) if n > 40 * c])

#: The clock of a drawn zone, in the page itself: the key, the frame with its mark, the moment the document has it as
#: kept, and the frame that shows it. Nothing asks again and again meanwhile: that would be measured, too.
CLOCK = """() => { window.saw = []; window.kept = []; window.took = [];
  const board = document.querySelector('.pb');
  let key = 0, before = board.dataset.zones;
  const since = () => performance.now() - key;
  document.addEventListener('keydown', (e) => {
    if (e.key !== 'n') return;
    key = performance.now();
    const seen = () => document.querySelector('.pb-expected') || board.dataset.zones !== before
      ? window.saw.push(since()) : requestAnimationFrame(seen);
    requestAnimationFrame(seen); }, true);
  new MutationObserver(() => {
    if (board.dataset.zones === before) return;
    before = board.dataset.zones;
    window.kept.push(since());
    requestAnimationFrame(() => window.took.push(since())); })
  .observe(board, { attributes: true, attributeFilter: ['data-zones'] }); }"""


@contextmanager
def opened(browser: Any, folder: Path, stage: str, window: tuple[int, int]) -> Iterator[tuple[Any, float]]:
    """The bench of a piece as `readaid open` starts it, at one of its places; and when its address was asked for."""
    with tempfile.TemporaryDirectory() as lent, labs.opened(folder, Path(lent)) as server:
        page = browser.new_page(viewport={"width": window[0], "height": window[1]}, bypass_csp=True)
        page.set_default_timeout(180_000)
        start = time.perf_counter()
        page.goto(f"{server.base}/readaid?stage={stage}&token={server.token}", wait_until="commit")
        yield page, start
        page.close()


def opening(browser: Any, folder: Path, window: tuple[int, int]) -> list[Row]:
    """First picture, first gesture, and the share of the window that is photograph."""
    name = f"{window[0]} x {window[1]}"
    with opened(browser, folder, "photographs", window) as (page, start):
        page.wait_for_selector("#readaid-still > div")
        first = time.perf_counter() - start
        painted(page)
        whole = time.perf_counter() - start
        page.locator(".pb-view").focus()
        page.keyboard.press("PageDown")
        settled(page)
        gesture = time.perf_counter() - start
        page.evaluate("(s) => { window.pbSize = s; }", [1976, 1430])
        part = page.evaluate(SHARE)
    return [(f"{name}: address to the piece's picture", first, "s", "< 3"),
            (f"{name}: address to the painted bench", whole, "s", ""),
            (f"{name}: address to the first gesture answered", gesture, "s", "< 7"),
            (f"{name}: share of the window that is photograph at opening", 100 * part, "%", "50")]


def sight(page: Any, name: str) -> list[Row]:
    """Where crop, proposals and reading lie; whether anything that is needed lies outside the window."""
    boxes = page.evaluate("""(all) => Object.fromEntries(all.map(([n, s]) => { const e = document.querySelector(s);
        const r = e.getBoundingClientRect();
        return [n, [r.left, r.top, r.right, r.bottom]]; }))""", list(PARTS.items()))
    high, wide = (page.viewport_size[k] for k in ("height", "width"))
    out = [n for n, (x0, y0, x1, y1) in boxes.items()
           if x0 < 0 or y0 < 0 or x1 > wide + 1 or y1 > high + 1]
    scrolls = page.evaluate("() => document.scrollingElement.scrollHeight - innerHeight")
    return [(f"{name}: crop to the first proposal, to the reading (tops)",
             f"{boxes['proposals'][1] - boxes['crop'][1]:.0f}, {boxes['reading'][1] - boxes['crop'][1]:.0f}", "px", ""),
            (f"{name}: of crop, form, proposals, sheet, reading, keep out of sight", len(out), "", "0"),
            (f"{name}: the page could be scrolled by", max(0, scrolls), "px", "0"),
            (f"{name}: crop being read, share of the window", 100 * (boxes["crop"][2] - boxes["crop"][0])
             * (boxes["crop"][3] - boxes["crop"][1]) / (wide * high), "%", "")]


def job(browser: Any, folder: Path, window: tuple[int, int]) -> list[Row]:
    """Seventeen signs nobody judged, from the open bench to a kept attempt: clicks, keys, seconds, what moved."""
    name = f"{window[0]} x {window[1]}"
    with OpenPiece(folder) as piece:
        signs = [k for column in piece.decipherment.characters(piece.contents.inscriptions[0]) for k in column]
        wanted = [k.best.character for k in signs if k.best]
        for k in signs:
            piece.decipherment.clear(k)
    clicks = keys = 0
    with opened(browser, folder, "reading", window) as (page, _):
        painted(page)
        settled(page)
        page.evaluate(WATCH)
        start = time.perf_counter()
        page.locator("[data-key=way-shape]").click()
        page.locator(".cp-type").click()
        clicks += 2
        for at_sign, sign in enumerate(wanted):
            page.wait_for_function("(n) => document.querySelector('.cp-which').textContent.startsWith(`Sign ${n} `)"
                                   " && document.querySelector('.cp').dataset.shape === 'ready'", arg=at_sign + 1)
            settled(page)
            shown = page.locator(".cp-card .cp-big").all_inner_texts()[:9]
            if sign in shown:
                page.keyboard.press(str(shown.index(sign) + 1))
                keys += 1
            else:
                page.keyboard.insert_text(sign)
                page.keyboard.press("Enter")
                keys += 2
            settled(page)
            if at_sign + 1 < len(wanted):
                page.keyboard.press("Enter")
                keys += 1
        rows = sight(page, name)
        page.wait_for_function("document.querySelector('[data-key=keep-0]') && "
                               "document.querySelector('.rp').dataset.busy === 'false'", timeout=120_000)
        page.locator("[data-key=keep-0]").click()
        page.locator("[data-key=ks-probable]").click()
        page.locator("[data-key=kev]").click()
        page.keyboard.insert_text("as seen")
        page.keyboard.press("Enter")
        clicks, keys = clicks + 3, keys + 1
        page.wait_for_function("!document.querySelector('.rp-keep')")
        spent = time.perf_counter() - start
        moved = page.evaluate("() => window.shifts")
    return [(f"{name}: 17 signs to a kept attempt: clicks (37 before)", clicks, "", "18"),
            (f"{name}: the same: keys, without the reason's letters", keys, "", ""),
            (f"{name}: the same: seconds of a hand that does not think", spent, "s", ""),
            (f"{name}: layout shifts meanwhile; their sum",
             "; ".join([str(len(moved)), f"{sum(v for v, _ in moved):.4f}", *sorted({n for _, m in moved for n in m})]),
             "", "0"), *rows]


def panning(browser: Any, place: Path) -> list[Row]:
    """Frames while the photograph is dragged under 355 marks."""
    many(place, 355)
    with opened(browser, place, "photographs", WINDOWS[0]) as (page, _):
        painted(page)
        settled(page)
        page.wait_for_timeout(1500)
        box = page.locator(".pb-view").bounding_box()
        page.evaluate("""() => { window.frames_ = []; let last = performance.now(); window.going = true;
          const step = (t) => { window.frames_.push(t - last); last = t;
            if (window.going) requestAnimationFrame(step); };
          requestAnimationFrame(step); }""")
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        for n in range(120):
            page.mouse.move(x + 2 * (n % 60), y + (n % 40))
        page.mouse.up()
        frames = sorted(page.evaluate("() => { window.going = false; return window.frames_.slice(3); }"))
    return [("355 marks, frames while panning: median, 95th percentile",
             f"{statistics.median(frames):.0f}, {frames[int(0.95 * len(frames))]:.0f}", "ms", "17, 35")]


class Work:
    """What gestures cost that a busy machine does not change much: processor time, bytes, how often the page is laid
    out. The kernel's time is that of its process, the page's that of the browser's thread of scripts and layout."""

    def __init__(self, page: Any) -> None:
        self.page, self.bytes = page, 0
        self.cdp = page.context.new_cdp_session(page)
        self.cdp.send("Performance.enable", {"timeDomain": "threadTicks"})
        self.cdp.send("Network.enable")
        self.cdp.on("Network.webSocketFrameReceived", self._heard)

    def _heard(self, event: Any) -> None:
        self.bytes += len(event["response"]["payloadData"])

    def _now(self) -> dict[str, float]:
        told = {m["name"]: m["value"] for m in self.cdp.send("Performance.getMetrics")["metrics"]}
        return {"kernel": 1000 * labs.evaluate(self.page, "__import__('time').process_time()"),
                "page": 1000 * told["TaskDuration"], "layouts": told["LayoutCount"], "bytes": self.bytes}

    def begin(self) -> None:
        """From here on."""
        self.before = self._now()

    def end(self, gestures: int) -> dict[str, float]:
        """A gesture's share of what was spent since ``begin``; ms, bytes, times."""
        now = self._now()
        return {k: (now[k] - self.before[k]) / gestures for k in now}


def gestures(browser: Any, folder: Path, n: int) -> list[Row]:
    """From the key that draws a zone to its mark on the screen, and to the state in which the register has it."""
    many(folder, n)
    with opened(browser, folder, "photographs", WINDOWS[0]) as (page, _):
        painted(page)
        at(page, "marks")
        # the text face, 3.2 MB, comes once a page, soon after the first pictures: no gesture's own
        page.wait_for_function("[...document.fonts].some((f) => f.family.includes('Readaid Text') && "
                               "f.status === 'loaded')")
        settled(page)
        page.locator(".pb-view").focus()
        page.evaluate(CLOCK)
        work = Work(page)
        for k in range(8):
            if k == 2:
                work.begin()
            page.locator(".pb-view").focus()
            page.keyboard.press("n")
            page.wait_for_function("(k) => window.took.length > k", arg=k)
            settled(page)
        spent = work.end(6)
        saw, kept, took = page.evaluate("() => [window.saw, window.kept, window.took].map((all) => all.slice(2))")
    return [(f"a zone drawn among {n}: processor time of kernel and page, a gesture",
             f"{spent['kernel']:.0f}, {spent['page']:.0f}", "ms", "flat"),
            ("the same: bytes to the page, times the page was laid out, a gesture",
             f"{spent['bytes']:.0f}, {spent['layouts']:.0f}", "", "flat"),
            (f"a zone drawn among {n}: key to mark, median of {len(saw)}", statistics.median(saw), "ms", "< 80"),
            (f"a zone drawn among {n}: key to the kept zone in the document, median of {len(kept)}",
             statistics.median(kept), "ms", "< 80"),
            (f"a zone drawn among {n}: key to the kept zone, median of {len(took)}", statistics.median(took), "ms",
             "< 80")]


def bench() -> list[Row]:
    """All rows; none where there is no Chromium."""
    path = labs.chromium()
    if path is None:
        return [("no Chromium here: nothing measured", 0, "", "")]
    from playwright.sync_api import sync_playwright

    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=labs.ARGUMENTS)
        for window in WINDOWS:
            place = demo_piece(Path(folder) / f"demo-{window[0]}")
            rows += opening(browser, place, window) + job(browser, place, window)
        rows += panning(browser, Path(folder) / "marks")
        for n in (20, 1000):
            rows += gestures(browser, Path(folder) / f"zones-{n}", n)
        browser.close()
    return rows


if __name__ == "__main__":
    print(json.dumps(bench(), indent=1, ensure_ascii=False))
