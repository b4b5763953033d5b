"""Measures of verse: known verses found, voicing, line ends, look-alikes, calibration. Verses are those of
``data/verses/test.tsv``, which nothing was fitted on. Candidates and damage are simulated (fixed seeds); the figures say
how the search does on them and nothing of real objects.

``READAID_VERSES`` (a number) shortens the runs.
"""

import os
import time

import numpy as np

from readaid.core import places
from readaid.lexicon import verse_model, verses
from readaid.reading import known
from readaid.script import voicing

Row = tuple[str, float, str, str]


def test_verses() -> list[tuple[str, ...]]:
    """Lines of the verses for measuring."""
    found = [v.lines for v in verses.load(places.share("data") / "verses" / "test.tsv")]
    return found[:int(os.environ.get("READAID_VERSES", len(found)))]


def finding(unknown: float = 0.4, size: int = 5000) -> list[Row]:
    """The right verse among decoys drawn from the kana counts, half of which share a line with it."""
    random = np.random.default_rng(1829)
    drawn = verse_model.models()["unvoiced"].draw((5, 7, 5), size, seed=1830)
    first, chances, times = 0, [], []
    targets = test_verses()
    for lines in targets:
        plain = [voicing.plain(line) for line in lines]
        decoys = [list(d) for d in drawn[:size - 1]]
        for decoy in decoys[::2]:
            place = int(random.integers(0, 3))
            decoy[place] = plain[place]
        collection = tuple(verses.KnownVerse(tuple(d)) for d in decoys) + (verses.KnownVerse(lines),)
        text = "".join("?" if random.random() < unknown else c for c in "".join(plain))
        known.index(collection)  # made ready once for a collection, not at each search
        start = time.perf_counter()
        found = known.find_verse(text, collection, k=1)[0]
        times.append(time.perf_counter() - start)
        first += found.verse == " ".join(lines)
        chances.append(found.chance)
    return [(f"right verse first of {size}, {unknown:.0%} of the signs unknown (simulated)", 100 * first / len(targets), "%",
             ">= 95"),
            (f"find_verse among {size}, median", float(np.median(times)), "s", "< 1"),
            ("chance told for the right verse, median", float(np.median(chances)), "", "")]


def bench() -> list[Row]:
    return finding()
