"""Time to write the report of a piece with 60 characters and three photos of 12 MP, by format, in one process."""

import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

import readaid
from readaid.core.attempt import Attempt
from readaid.core.photo import rectangle


def bench() -> list[tuple[str, float, str, str]]:
    rng = np.random.default_rng(1)
    small = rng.integers(60, 200, (300, 400, 3), dtype=np.uint8)
    with tempfile.TemporaryDirectory() as place:
        with readaid.new(Path(place) / "piece", reader="bench") as piece:
            for n in range(3):
                path = Path(place) / f"photo{n}.jpg"
                Image.fromarray(np.roll(small, n, 0)).resize((4000, 3000), Image.Resampling.BICUBIC).save(path)
                photo = piece.add_photo(path)
                verse = piece.layout.inscription("verse", photo, form="hokku")
                columns = [[rectangle(3000 - 700 * c, 100 + 500 * i, 300, 400) for i in range(5)] for c in range(4)]
                piece.layout.draw_columns(verse, photo, columns)
                for column in piece.decipherment.characters(verse):
                    for character in column:
                        piece.decipherment.tag(character, "か", 0.7)
                piece.save(Attempt(inscription=verse.id, written="か" * 20, kana="か" * 20, status="preferred"))
        rows = []
        for name, goal in (("html", "< 2"), ("docx", "< 2"), ("tei", "< 0.5"), ("markdown", ""), ("iiif", ""),
                           ("annotations", ""), ("csv", "")):
            times = []
            for _ in range(3):
                with readaid.open(Path(place) / "piece") as piece:
                    start = time.perf_counter()
                    piece.report(name)
                    times.append(time.perf_counter() - start)
                    for photo in piece.contents.photos:
                        piece.pyramid(photo).close()
            rows.append((f"report as {name}, 60 characters, 3 photos of 12 MP", sorted(times)[1], "s", goal))
        return rows
