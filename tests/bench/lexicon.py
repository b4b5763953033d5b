"""The search: time and memory for verses of 17 and 31 positions with eight candidates, growth with length, the reader.

Candidates are the signs of a verse (old collections, public domain, from memory) and seven kana drawn at random each,
with confidences drawn at random. Times are of processor time, the median of several verses, the dictionary opened.
"""

import random
import resource
import statistics
import time
from pathlib import Path

from readaid.lexicon import builder, dictionary
from readaid.lexicon.kbest import Search
from readaid.script import voicing

VERSES = ("あきのたのかりほのいほのとまをあらみわかころもてはつゆにぬれつつ",
          "はるすきてなつきにけらししろたへのころもほすてふあまのかくやま",
          "あしひきのやまとりのをのしたりをのなかなかしよをひとりかもねむ",
          "たこのうらにうちいててみれはしろたへのふしのたかねにゆきはふりつつ",
          "おくやまにもみちふみわけなくしかのこゑきくときそあきはかなしき")
KANA = "いろはにほへとちりぬるをわかよたれそつねならむうゐのおくやまけふこえてあさきゆめみしゑひもせす"


def places(text: str, many: int, seed: int) -> list[list[tuple[str, float]]]:
    """The signs of a text among ``many`` candidates each."""
    draw = random.Random(seed)
    return [[(c, draw.random()) for c in [sign, *draw.sample([k for k in KANA if k != sign], many - 1)]]
            for sign in voicing.plain(text)]


def timed(text: str, form: str, k: int, seed: int) -> tuple[float, float]:
    """Milliseconds of the search, and of the sums over all paths after it."""
    given = places(text, 8, seed)
    start = time.process_time()
    search = Search(builder.build(given))
    best = search.best(form, k)
    middle = time.process_time()
    search.weigh(best.form)
    for found in best.strings:
        search.share(found.kana)
    return 1000 * (middle - start), 1000 * (time.process_time() - middle)


def bench() -> list[tuple[str, float, str, str]]:
    rows: list[tuple[str, float, str, str]] = []
    start = time.perf_counter()
    dictionary.Dictionary(dictionary.opened().folder)
    rows.append(("dictionary opened", 1000 * (time.perf_counter() - start), "ms", ""))
    timed(VERSES[0][:17], "hokku", 10, 0)
    for count, form, goal in ((17, "hokku", "< 100"), (31, "tanka", "< 250")):
        times = [timed(v[:count], form, 10, n) for n, v in enumerate(VERSES)]
        found, weighed = (statistics.median(t[i] for t in times) for i in (0, 1))
        rows.append((f"{count} positions x 8, k = 10, with metre: search", found, "ms", goal))
        rows.append((f"{count} positions x 8: posterior and shares of 10", weighed, "ms", ""))
    for count in (50, 100, 200):
        text = "".join(VERSES)[:count] if count <= 155 else ("".join(VERSES) * 2)[:count]
        took = timed(text, "prose", 10, 1)[0]
        rows.append((f"{count} positions x 8, k = 10: search, per position", took / count, "ms", "linear"))
    rows.append(("memory at most, all of the above in one process",
                 resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, "MB", "< 400"))
    size = sum(p.stat().st_size for p in (Path(dictionary.opened().folder) / n for n in ("sys.dic", "matrix.bin")))
    rows.append(("  of which the dictionary's files may be mapped", size / 2**20, "MB", ""))
    return rows
