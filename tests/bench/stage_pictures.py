"""The pictures of the README: each place of the bench with the demo piece on it, at both sizes of window.

``python -m tests.bench.stage_pictures`` writes them into ``notebooks/pictures``.
"""

from __future__ import annotations

import io
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

from tests.bench.face_work import WINDOWS, opened
from tests.browser import lab as labs
from tests.browser.hands import at, painted, settled
from tests.widgets.made import demo_piece

FOLDER = labs.PROJECT / "notebooks" / "pictures"
#: Name of the picture of each place; notebook 1 has two places.
NAMES = {"photographs": "1_photograph_and_zones", "marks": "1_marks", "reading": "2_characters_and_reading",
         "school": "3_signature_and_school", "report": "4_register_and_report"}


def taken(page: Any, path: Path) -> None:
    """Keep what the window shows as a JPEG."""
    Image.open(io.BytesIO(page.screenshot())).convert("RGB").save(path, quality=88)


def main() -> None:
    """Write all pictures."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=labs.chromium(), args=labs.ARGUMENTS)
        place = demo_piece(Path(folder) / "demo")
        for window in WINDOWS:
            with opened(browser, place, "photographs", window) as (page, _):
                painted(page)
                page.wait_for_timeout(3000)  # the text face comes after the first pictures
                for stage, name in NAMES.items():
                    at(page, stage)
                    if stage == "reading":
                        page.wait_for_selector("[data-key=keep-0]")  # a reading stands there
                    page.wait_for_function("document.querySelector('.rp').dataset.busy === 'false'")
                    settled(page)
                    page.wait_for_timeout(800)
                    taken(page, FOLDER / f"{name}{'' if window == WINDOWS[0] else f'_{window[0]}'}.jpg")
        browser.close()


if __name__ == "__main__":
    main()
