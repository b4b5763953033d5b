"""Measures of verse: known verses found, voicing, line ends, look-alikes, calibration. Verses are those of
``data/verses/test.tsv``, which nothing was fitted on. Candidates and damage are simulated (fixed seeds); the figures
say how the search does on them and nothing of real objects.

``READAID_VERSES`` (a number) shortens the runs.
"""

import os
import time
from collections.abc import Sequence
from typing import Any

import numpy as np

from readaid.core import places
from readaid.core.reading import Reading
from readaid.lexicon import verse_model, verses
from readaid.reading import known_verse
from readaid.reading.solve import solve
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
        collection = (*(verses.KnownVerse(tuple(d)) for d in decoys), verses.KnownVerse(lines))
        text = "".join("?" if random.random() < unknown else c for c in "".join(plain))
        known_verse.index(collection)  # made ready once for a collection, not at each search
        start = time.perf_counter()
        found = known_verse.find_verse(text, collection, k=1)[0]
        times.append(time.perf_counter() - start)
        first += found.verse == " ".join(lines)
        chances.append(found.chance)
    what = f"right verse first of {size}, {unknown:.0%} of the signs unknown (simulated)"
    return [(what, 100 * first / len(targets), "%", ">= 95"),
            (f"find_verse among {size}, median", float(np.median(times)), "s", "< 1"),
            ("chance told for the right verse, median", float(np.median(chances)), "", "")]


#: Letters that cursive hands bring near each other, two for each. Chosen from memory, no source.
ALIKE = {group[0]: group[1:] for group in (
    "あめぬ", "いりこ", "うらつ", "えみん", "おすむ", "かやう", "きさま", "くしへ", "けはに", "こいて",
    "さきち", "しくも", "すよむ", "せやを", "そろて", "たなこ", "ちらを", "つうへ", "てくそ", "とこを",
    "なたる", "にたよ", "ぬめね", "ねぬわ", "のめく", "はけを", "ひいろ", "ふぬら", "へつく", "ほはま",
    "まきよ", "みえる", "むすめ", "めぬの", "もしを", "やかわ", "ゆめわ", "よまに", "らうち", "りわい",
    "るろみ", "れわね", "ろるひ", "われり", "ゐぬる", "ゑえる", "をちも", "んえむ")}
LETTERS = "".join(ALIKE)
#: Evenness of simulated shares: the mean of the largest of eight is then 0.59, as the right letter stood first in
#: 59 per cent of crops of real kana in a trial of shape alone.
EVENNESS = 0.2


def voicing_restored(lines: Sequence[tuple[str, ...]] | None = None) -> list[Row]:
    """Verses written without voicing marks, form given; kana that could be voiced."""
    seen = right = whole = ends = of_ends = 0
    certainties: list[tuple[float, bool]] = []
    chosen = lines or test_verses()
    for verse in chosen:
        wanted = "".join(verse)
        found = solve(voicing.plain(wanted), form="hokku", k=1).readings[0]
        could = [i for i, c in enumerate(wanted) if voicing.plain(c) in voicing.READ_VOICED]
        seen += len(could)
        right += sum(found.kana[i:i + 1] == wanted[i] for i in could)
        whole += found.kana == wanted
        certainties.append((found.probability, found.kana == wanted))
        ends += sum(len("".join(found.lines[:n + 1])) == len("".join(verse[:n + 1])) and not _cut(found, n)
                    for n in range(len(verse) - 1))
        of_ends += len(verse) - 1
    return [("voicing restored, of kana that could be voiced", 100 * right / seen, "%", ">= 97"),
            ("whole verse right in voicing", 100 * whole / len(chosen), "%", ">= 80"),
            ("verse line ends on word ends", 100 * ends / of_ends, "%", ">= 99"),
            ("calibration error of the first reading (ECE, 5 bins), voicing", ece(certainties, 5), "", "")]


def _cut(found: Reading, number: int) -> bool:
    """Does a word run across the end of this line of a reading?"""
    return any(r.kind == "run on" and f"line {number + 1}" in r.note for r in found.reasons)


def look_alikes(lines: Sequence[tuple[str, ...]] | None = None) -> list[Row]:
    """Three letters a zone, none favoured."""
    random = np.random.default_rng(3)
    zones = []
    for verse in lines or test_verses():
        plain = voicing.plain("".join(verse))
        zones.append((plain, [[(c, 1 / 3) for c in random.permutation([p, *ALIKE[p]]).tolist()] for p in plain]))
    right, certain = _letters(zones)
    return [("right letter first, three look-alikes, none favoured (simulated)", 100 * right, "%", ">= 85"),
            ("calibration error of shares (ECE, 10 bins), three look-alikes (simulated)", ece(certain, 10), "", "")]


def eight(lines: Sequence[tuple[str, ...]] | None = None) -> list[Row]:
    """Eight letters a zone with shares as a shape model gives them. They are honest: the right letter stands first,
    second ... as often as they say, and it is always one of the eight (in the trial it was in about 88 per cent)."""
    random = np.random.default_rng(8)
    zones = []
    alone = total = 0
    for verse in lines or test_verses():
        plain = voicing.plain("".join(verse))
        entries = []
        for letter in plain:
            rest = random.permutation([c for c in LETTERS if c not in letter + ALIKE[letter]]).tolist()
            order = random.permutation([*ALIKE[letter], *rest][:7]).tolist()
            shares = np.sort(random.dirichlet([EVENNESS] * 8))[::-1]
            place = int(random.choice(8, p=shares))
            order.insert(place, letter)
            alone, total = alone + (place == 0), total + 1
            entries.append(list(zip(order, np.clip(shares, 0.0, 1.0).tolist(), strict=True)))
        zones.append((plain, entries))
    right, certain = _letters(zones)
    return [("right letter first by shape alone, eight candidates (simulated)", 100 * alone / total, "%", "59"),
            ("right letter first after context, eight candidates (simulated)", 100 * right, "%", ">= 90"),
            ("calibration error of shares (ECE, 10 bins), eight candidates (simulated)", ece(certain, 10), "", "")]


def _letters(zones: Sequence[tuple[str, Any]]) -> tuple[float, list[tuple[float, bool]]]:
    """Share of zones whose likeliest letter is right, and (share, right) of every likeliest letter."""
    certain: list[tuple[float, bool]] = []
    for plain, entries in zones:
        found = solve(entries, form="hokku", k=1)
        for at, letter in enumerate(plain):
            sums: dict[str, float] = {}
            for share in found.shares:
                if share.at == at:
                    sums[share.character] = sums.get(share.character, 0.0) + share.probability
            best = max(sums, key=lambda c: sums[c])
            certain.append((sums[best], best == letter))
    return float(np.mean([r for _, r in certain])), certain


def ece(certain: Sequence[tuple[float, bool]], bins: int) -> float:
    """Expected calibration error: mean distance of probability and frequency over bins of equal width."""
    p, right = np.array([c for c, _ in certain]), np.array([r for _, r in certain], dtype=float)
    which = np.minimum((p * bins).astype(int), bins - 1)
    return float(sum(abs(p[which == b].mean() - right[which == b].mean()) * (which == b).mean()
                     for b in range(bins) if (which == b).any()))


def bench() -> list[Row]:
    return finding() + voicing_restored() + look_alikes() + eight()
