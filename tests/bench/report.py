"""The report of a piece with 60 characters and three photos of 12 MP: time, memory and pages; pages of the demo's
entry; what share of a Japanese report's own strings is Japanese.

Each format is written in a process of its own, three times; the median and the process's largest memory are told.
"""

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

import readaid
from readaid.core.attempt import Attempt
from readaid.core.photo import rectangle

#: Seconds a format may take, "" where none was set.
GOALS = {"html": "< 3", "pdf": "< 3", "docx": "< 3", "tei": "< 0.5", "markdown": "", "iiif": "", "annotations": "",
         "csv": ""}
_CHILD = """
import json, resource, sys, time
import readaid
times, worked = [], []
for _ in range(3):
    with readaid.open(sys.argv[1]) as piece:
        start, busy = time.perf_counter(), time.process_time()
        piece.report(sys.argv[2])
        times.append(time.perf_counter() - start)
        worked.append(time.process_time() - busy)
        for photo in piece.contents.photos:
            piece.pyramid(photo).close()
print(json.dumps([sorted(times)[1], sorted(worked)[1], resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""


def sixty(place: Path) -> Path:
    """A piece of three inscriptions of twenty signs each, on photos of 12 MP."""
    rng = np.random.default_rng(1)
    small = rng.integers(60, 200, (300, 400, 3), dtype=np.uint8)
    with readaid.new(place / "piece", reader="bench") as piece:
        for n in range(3):
            path = place / f"photo{n}.jpg"
            Image.fromarray(np.roll(small, n, 0)).resize((4000, 3000), Image.Resampling.BICUBIC).save(path)
            photo = piece.add_photo(path)
            verse = piece.layout.inscription("verse", photo, form="hokku")
            columns = [[rectangle(3000 - 700 * c, 100 + 500 * i, 300, 400) for i in range(5)] for c in range(4)]
            piece.layout.draw_columns(verse, photo, columns)
            for column in piece.decipherment.characters(verse):
                for character in column:
                    piece.decipherment.tag(character, "か", 0.7)
            piece.save(Attempt(inscription=verse.id, written="か" * 20, kana="か" * 20, status="preferred"))
        return piece.folder


def pages(path: Path) -> int:
    """Pages of a PDF."""
    import pypdf

    return len(pypdf.PdfReader(path).pages)


def japanese_share(path: Path) -> tuple[int, int]:
    """Headings and labels of a Japanese HTML report that hold no Latin word, and all of them."""
    from lxml import html

    tree = html.fromstring(path.read_text(encoding="utf-8"))
    heads = "//h2/text() | //h3/text() | //th/text() | //dt/text() | //caption/text()"
    told = [t for t in tree.xpath(heads) if t.strip()]
    own = [t for t in told if not re.search(r"[A-Za-z]{3,}", re.sub(r"SHA-256|photos/\S+", "", t))]
    return len(own), len(told)


def bench() -> list[tuple[str, float, str, str]]:
    rows: list[tuple[str, float, str, str]] = []
    with tempfile.TemporaryDirectory() as place:
        folder = sixty(Path(place))
        for name, goal in GOALS.items():
            out = subprocess.run([sys.executable, "-c", _CHILD, str(folder), name], capture_output=True, text=True,
                                 check=True).stdout
            seconds, worked, memory = json.loads(out.splitlines()[-1])
            rows.append((f"report as {name}, 60 characters, 3 photos of 12 MP", seconds, "s", goal))
            if goal == "< 3":
                rows.append((f"of that, processor time of {name}", worked, "s", ""))
                rows.append((f"largest memory while it is written as {name}", memory, "MB", ""))
        rows.append(("pages of the PDF of 60 characters", pages(folder / "exports" / "report.pdf"), "", "< 6"))
        from readaid.piece.demo import build

        with build(Path(place) / "demo") as demo:
            rows.append(("pages of the demo's entry (PDF)", pages(demo.report("pdf", part="entry")), "", "1-2"))
            rows.append(("pages of the demo's full record (PDF)", pages(demo.report("pdf")), "", "< 8"))
            for n, inscription in enumerate(demo.contents.inscriptions, 1):
                demo.change(inscription, title=f"銘{n}")  # the reader's own English is no string of ours
            own, told = japanese_share(demo.report(language="ja"))
            what = f"share of the {told} headings and labels of the Japanese report that are Japanese"
            rows.append((what, own / told, "", "1"))
    return rows
