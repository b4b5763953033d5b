"""Make ``readaid/lexicon/ear.npz`` from verse and prose in historical kana.

    python data/fit/ear.py TEXTS.tsv.gz [--share 1.0] [--out FILE]
    python data/fit/ear.py TEXTS.tsv.gz --curve

``TEXTS.tsv.gz`` has the columns source (hokku, court, oldest, prose), part (fitted, chosen, examined) and kana
(lines parted by /), voiced;
``data/fit/texts.py`` makes it. The hokku that this project types from memory are added here. Texts of the part
"examined" are left out; ``--share`` takes only so much of the rest, by a hash. ``--curve`` makes nothing and prints a
learning curve: bits a kana on the texts of the part "chosen" under models of a quarter, a half and all of the others.

Each source is counted in runs of up to six kana and smoothed by absolute discounts with continuation counts; the
sources
are mixed for each kind of text by ``SHARES``, and the mix is stored in back-off form.
"""

import argparse
import gzip
import hashlib
import math
from pathlib import Path

import numpy as np

from readaid.core import places
from readaid.lexicon import ear, verses
from readaid.lexicon.ear import BASE, ORDER, Ear, Table
from readaid.lexicon.verse_model import SYMBOLS
from readaid.script import voicing

B = np.uint64(BASE)
#: Part of each source in the kinds of text, chosen on texts of the part "chosen" (``--weights`` prints them).
SHARES = {"hokku": {"hokku": 0.74, "court": 0.06, "oldest": 0.02, "prose": 0.18},
          "waka": {"hokku": 0.05, "court": 0.50, "oldest": 0.40, "prose": 0.05},
          "prose": {"hokku": 0.02, "court": 0.01, "oldest": 0.01, "prose": 0.96}}
#: Runs of four kana and more that prose holds fewer times than this are left out.
LEAST = {"prose": (2, 3, 3)}
Counts = list[tuple[np.ndarray, np.ndarray]]


def part(kana: str) -> str:
    """Part of a text by a hash of its kana without voicing marks (as ``tests/bench/verse_texts.py`` has it)."""
    number = int(hashlib.sha1(voicing.plain(kana).encode()).hexdigest()[:8], 16) % 20
    return "examined" if number < 4 else "chosen" if number < 6 else "fitted"


def counted(texts: list[list[str]], weights: list[float]) -> Counts:
    """Runs of one to six symbols within texts, sorted, with their counts."""
    coded = [np.array([ear.BEGIN, *(c for line in t for c in [*ear.codes(line), ear.END])], dtype=np.uint64)
             for t in texts]
    none = np.zeros(ORDER - 1, dtype=np.uint64)
    flat = np.concatenate([np.concatenate([none, c]) for c in coded])
    weight = np.concatenate([np.full(len(c) + ORDER - 1, w) for c, w in zip(coded, weights, strict=True)])
    out, key, whole = [], flat.copy(), flat > 0
    for n in range(1, ORDER + 1):
        if n > 1:
            before = np.concatenate([none[:n - 1], flat[:1 - n]])
            key = key + before * np.uint64(BASE ** (n - 1))
            whole = whole & (before > 0)
        kept = whole if n > 1 else whole & (flat != ear.BEGIN)
        keys, of = np.unique(key[kept], return_inverse=True)
        out.append((keys, np.bincount(of.ravel(), weight[kept])))
    return out


class Source:
    """One source, smoothed: interpolated absolute discounts, continuation counts for the shorter runs."""

    def __init__(self, counts: Counts) -> None:
        self.counts, self.levels = counts, []
        for n, (keys, count) in enumerate(counts, 1):
            if n < ORDER:
                longer = counts[n][0]
                ends, kinds = np.unique(longer % np.uint64(BASE**n), return_counts=True)
                at = np.minimum(np.searchsorted(keys, ends), len(keys) - 1)
                told = np.zeros(len(keys))
                told[at[keys[at] == ends]] = kinds[keys[at] == ends]
                begins = keys // np.uint64(BASE ** (n - 1)) == ear.BEGIN  # nothing stands before ^: its own count
                count = np.where(begins & (n > 1), count, told)
                keys, count = keys[count > 0], count[count > 0]
            self.levels.append(self._level(keys, count))

    @staticmethod
    def _level(keys: np.ndarray, count: np.ndarray) -> tuple[np.ndarray, ...]:
        met = [max(1, int(((count > i - 1) & (count <= i)).sum())) for i in (1, 2, 3, 4)]
        y = met[0] / (met[0] + 2 * met[1])
        off = [min(0.95 * i, max(0.1, i - (i + 1) * y * met[i] / met[i - 1])) for i in (1, 2, 3)]
        less = np.minimum(np.where(count <= 1, off[0], np.where(count <= 2, off[1], off[2])), count)
        heads = keys // B
        first = np.flatnonzero(np.r_[True, heads[1:] != heads[:-1]])
        total = np.add.reduceat(count, first)
        return (keys, (count - less) / np.repeat(total, np.diff(np.r_[first, len(keys)])), heads[first],
                np.add.reduceat(less, first) / total)

    def p(self, key: np.ndarray) -> np.ndarray:
        """Probability of the last symbol of runs given the others."""
        p = np.full(len(key), 1.0 / len(SYMBOLS))
        there = np.ones(len(key), dtype=bool)
        for n, (keys, own, heads, rest) in enumerate(self.levels, 1):
            run = key % np.uint64(BASE**n)
            if n > 1:
                there = there & (run // np.uint64(BASE ** (n - 1)) > 0)
            at = np.minimum(np.searchsorted(heads, run // B), len(heads) - 1)
            place = np.minimum(np.searchsorted(keys, run), len(keys) - 1)
            seen = np.where(keys[place] == run, own[place], 0.0)
            p = np.where(there & (heads[at] == run // B), seen + rest[at] * p, p)
        return p


def kept(sources: dict[str, Source]) -> list[np.ndarray]:
    """Runs of the table, shorter first."""
    out = []
    for n in range(2, ORDER + 1):
        runs = []
        for name, source in sources.items():
            keys, count = source.counts[n - 1]
            least = LEAST[name][n - 4] if name in LEAST and n >= 4 else 1
            runs.append(keys[count >= least])
        out.append(np.unique(np.concatenate(runs)))
    return out


def mixed(table: Table, sources: dict[str, Source], shares: dict[str, float],
          ) -> tuple[np.ndarray, list[np.ndarray], list[np.ndarray]]:
    """Single symbols, logarithms of the runs, and of what unseen ones cost."""
    def p(key: np.ndarray) -> np.ndarray:
        return sum((share * sources[name].p(key) for name, share in shares.items()), np.zeros(len(key)))

    single = np.zeros(BASE)
    single[1:len(SYMBOLS) + 1] = p(np.arange(1, len(SYMBOLS) + 1, dtype=np.uint64))
    single[ear.BEGIN] = 0.0
    single /= single.sum()
    seen, unseen, lower = [], [], []
    for n, keys in enumerate(table.keys, 2):
        own = p(keys)
        short = keys % np.uint64(BASE ** (n - 1))
        less = single[short.astype(int)] if n == 2 else lower[np.searchsorted(table.keys[n - 3], short)]
        heads = keys // B
        first = np.flatnonzero(np.r_[True, heads[1:] != heads[:-1]])
        left, had = 1.0 - np.add.reduceat(own, first), 1.0 - np.add.reduceat(less, first)
        rest = np.maximum(left, 1e-6) / np.maximum(had, 1e-6)
        seen.append(np.log(own))
        unseen.append(np.log(rest))
        lower = own
    return single, seen, unseen


def texts(path: Path, share: float, without: tuple[str, ...] = ("examined",),
          ) -> dict[str, tuple[list[list[str]], list[float]]]:
    """Texts of each source with their weights."""
    found: dict[str, tuple[list[list[str]], list[float]]] = {n: ([], []) for n in ("hokku", "court", "oldest", "prose")}
    with gzip.open(path, "rt", encoding="utf-8") as rows:
        for row in rows:
            source, which, kana = row.rstrip("\n").split("\t")
            if which not in without and int(hashlib.md5(kana.encode()).hexdigest()[:8], 16) < share * 2**32:
                found[source][0].append(kana.split("/"))
                found[source][1].append(1.0)
    base = places.share("data")
    for file in (base / "verses" / "train.tsv", base / "fit" / "verses.tsv"):
        for verse in verses.load(file):
            kana = "".join(verse.lines)
            if part(kana) not in without and int(hashlib.md5(kana.encode()).hexdigest()[:8], 16) < share * 2**32:
                found["hokku"][0].append(list(verse.lines))
                found["hokku"][1].append(1.0)
    return found


def fitted(path: Path, share: float = 1.0, without: tuple[str, ...] = ("examined",),
         ) -> tuple[Table, dict, dict[str, Source]]:
    sources = {name: Source(counted(*given)) for name, given in texts(path, share, without).items()}
    table = Table(kept(sources))
    return table, {name: mixed(table, sources, shares) for name, shares in SHARES.items()}, sources


def curve(path: Path) -> None:
    """Bits a kana (line ends counted in) of texts of the part "chosen", by how much of the others was counted."""
    kinds = {"hokku": "hokku", "court": "waka", "oldest": "waka", "prose": "prose"}
    held = texts(path, 1.0, ("examined", "fitted"))
    for share in (0.25, 0.5, 1.0):
        table, mixes, _ = fitted(path, share, ("examined", "chosen"))
        told = []
        for name, (lines, _) in held.items():
            heard = Ear(table, *mixes[kinds[name]])
            some = lines[:2000]
            many = sum(len(line) + 1 for text in some for line in text)
            told.append(f"{name} {-sum(map(heard.log, some)) / math.log(2) / many:.3f} (n {len(some)})")
        print(f"{share:4.0%}", ", ".join(told))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("texts", type=Path)
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--without", nargs="*", default=["examined"], help="parts left out")
    parser.add_argument("--out", type=Path, default=ear.TABLE)
    parser.add_argument("--curve", action="store_true")
    given = parser.parse_args()
    if given.curve:
        curve(given.texts)
        raise SystemExit
    table, kinds, _ = fitted(given.texts, given.share, tuple(given.without))
    arrays = ear.stored(table, kinds)
    np.savez_compressed(given.out, **arrays)
    sums = {f"{name}_most": np.array(made.sums_to()) for name, made in ear.load(given.out).items()}
    np.savez_compressed(given.out, **arrays, **sums)
    print([len(k) for k in table.keys], f"{given.out.stat().st_size / 1e6:.2f} MB")
