"""First paint, bytes to the browser and tiles of photographs of 24 and 60 megapixels, in a real browser.

The photographs are made here: a textured ground with strokes, of the size and file size a camera gives.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from readaid.piece.open_piece import OpenPiece
from tests.browser import lab as labs

SIZES = {"24 MP": (6000, 4000), "60 MP": (9504, 6336)}
NOTEBOOK = "1_photograph_and_zones.ipynb"


def photograph(path: Path, width: int, height: int) -> None:
    """A textured photograph with a column of strokes."""
    rng = np.random.default_rng(7)
    coarse = Image.fromarray(rng.integers(120, 200, (height // 16, width // 16), dtype=np.uint8)).resize(
        (width, height)
    )
    fine = Image.fromarray(rng.integers(0, 256, (height // 2, width // 2), dtype=np.uint8)).resize((width, height))
    picture = Image.blend(coarse, fine, 0.12).convert("RGB")
    pen = ImageDraw.Draw(picture)
    for i in range(6):
        y = height * (i + 1) // 8
        pen.line([(width // 2 - 80, y), (width // 2 + 90, y + 120)], fill=(40, 30, 25), width=24)
    picture.save(path, "JPEG", quality=90)


def measure(name: str, size: tuple[int, int], browser: Any) -> list[tuple[str, Any, str, str]]:
    """Figures for one photograph."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        photograph(place / "photo.jpg", *size)
        photograph(place / "second.jpg", size[0] - 16, size[1])
        with OpenPiece.new(place / "root", reader="bench", title="bench") as piece:
            for one in ("photo", "second"):
                piece.add_photo(place / f"{one}.jpg", surface=one)
        source = (labs.PROJECT / "notebooks" / NOTEBOOK).read_text(encoding="utf-8")
        (place / "root" / NOTEBOOK).write_text(source, encoding="utf-8")
        (place / "home").mkdir()
        around = {"READAID_PIECE": str(place / "root")}
        with labs.serve(place / "root", place / "home", extension=False, env=around) as lab:
            page = browser.new_page(viewport={"width": 1280, "height": 860})
            received = [0]
            page.on(
                "websocket",
                lambda socket: socket.on(
                    "framereceived", lambda data: received.__setitem__(0, received[0] + len(data))
                ),
            )
            labs.open_notebook(page, lab, NOTEBOOK)
            before = received[0]
            start = time.perf_counter()
            labs.run_all(page)
            page.wait_for_selector(".pb[data-painted='1']")
            paint, sent = time.perf_counter() - start, received[0] - before
            before, start = received[0], time.perf_counter()
            page.get_by_role("button", name="Full size").click()
            page.wait_for_function("document.querySelector('.pb').boardStats.tiles > 0")
            first = time.perf_counter() - start
            page.wait_for_function("document.querySelector('.pb').dataset.waiting === '0'")
            full, tiles = time.perf_counter() - start, received[0] - before
            count = page.evaluate("document.querySelector('.pb').boardStats.tiles")
            memory = "__import__('resource').getrusage(__import__('resource').RUSAGE_SELF).ru_maxrss / 1024"
            peak = labs.evaluate(page, memory)
            # looking for a ruler begins by itself
            for stage, work in (("marks", "Propose zones"), ("photographs", "Set the scale")):
                page.locator(f"[data-key=stage-{stage}]").click()
                page.get_by_role("button", name=work).click()
                page.wait_for_timeout(500)
                page.wait_for_function("!document.querySelector('.pb-work progress')", timeout=300_000)
            page.get_by_role("button", name="Show second", exact=True).click()
            page.wait_for_timeout(500)
            page.get_by_role("button", name="Full size").click()
            page.wait_for_timeout(500)
            page.wait_for_function("document.querySelector('.pb').dataset.waiting === '0'", timeout=60_000)
            worked = labs.evaluate(page, memory)
            page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.shutdown()")
            page.close()
    return [
        (f"{name}: run all cells to first paint", paint, "s", "< 2"),
        (f"{name}: bytes to the browser by then", sent / 1e6, "MB", "< 3"),
        (f"{name}: first tile at full size", first, "s", ""),
        (f"{name}: all {count} tiles at full size", full, "s", ""),
        (f"{name}: bytes of these tiles", tiles / 1e6, "MB", ""),
        (f"{name}: peak memory of the kernel", peak, "MB", "< 1000"),
        (f"{name}: the same after zones proposed, a ruler sought, a second photograph", worked, "MB", "< 1000"),
    ]


def bench() -> list[tuple[str, Any, str, str]]:
    """Rows for both sizes; none where there is no Chromium."""
    path = labs.chromium()
    if path is None:
        return [("no Chromium here: nothing measured", 0, "", "")]
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=labs.ARGUMENTS)
        rows = [row for name, size in SIZES.items() for row in measure(name, size, browser)]
        browser.close()
    return rows
