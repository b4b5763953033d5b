"""Verse and prose made ready for fitting: parts by a hash, kanji beside their kana, the texts that ``ear.py`` counts.

    python data/fit/texts.py FOLDER OUT.tsv.gz [--read]

``FOLDER`` holds the tables that ``tests/bench/verse_texts.py`` describes. ``OUT.tsv.gz``: source (hokku, court,
oldest, prose), part, kana
(lines parted by /). Court verse stands without voicing marks and printed hokku mostly without readings: with
``--read`` both are
read by the reading as it ships (court verse as waka, hokku as hokku), without it court verse is left unvoiced and
hokku out.
Hokku near one that is examined (two lines in common, or eight runs of three kana) are left out.
"""

import argparse
import gzip
import itertools
import math
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from readaid.core import places
from readaid.core.errors import TextError
from readaid.lexicon import builder, verses
from readaid.lexicon.costs import standard
from readaid.reading import hearing
from readaid.reading.solve import solve
from readaid.script import verse_forms, voicing
from tests.bench import verse_texts
from tests.bench.verse_texts import clean, part, rows

_FOLD = str.maketrans("ゐゑをぢづ", "いえおじず")


def aligned(folder: Path) -> Iterator[tuple[str, str, tuple[tuple[bool, str, str], ...]]]:
    """Texts with kanji beside their kana: (source, part, runs); in hokku a run may still hold kanji."""
    for row in rows(folder / "verse" / "waka_8c.tsv"):
        kana = clean(row["kana"].replace("/", ""))
        if runs := verse_texts.aligned(clean(row["text"].replace("/", "")), kana):
            yield "oldest", part(kana), runs
    for line in (folder / "verse" / "hundred_poets_1_50.tsv").read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            _, text, kana = line.split("\t")
            if runs := verse_texts.aligned(clean(text.replace("/", "")), clean(kana.replace("/", ""))):
                yield "oldest", "fitted", runs
    for row in rows(folder / "verse" / "hokku_printed.tsv"):
        if row["reading_status"] in ("part", "full"):
            runs = verse_texts.aligned(clean(row["text"]), clean(row["text_with_printed_readings"]))
            if runs:
                yield "hokku", part(clean(row["reading_true"] or row["reading_machine"])), runs
    for row in rows(folder / "prose" / "kana_sentences.tsv.gz"):
        kana = clean(row["kana"])
        if runs := verse_texts.aligned(clean(row["text"]), kana):
            yield "prose", part(kana), runs


class Near:
    """Is a hokku near one that is kept for measuring?"""

    def __init__(self, kept: list[tuple[str, ...]]) -> None:
        self._lines = [set(map(self._folded, lines)) for lines in kept]
        self._runs = [self._threes(self._folded("".join(lines))) for lines in kept]

    @staticmethod
    def _folded(kana: str) -> str:
        return voicing.plain(kana).translate(_FOLD)

    @staticmethod
    def _threes(kana: str) -> Counter[str]:
        return Counter(kana[i:i + 3] for i in range(len(kana) - 2))

    def __call__(self, lines: tuple[str, ...]) -> bool:
        own = set(map(self._folded, lines))
        runs = self._threes(self._folded("".join(lines)))
        return any(len(own & other) >= 2 for other in self._lines) or any(
            sum((runs & other).values()) >= 8 for other in self._runs)


def kept_hokku() -> list[tuple[str, ...]]:
    """Hokku for measuring, and the typed ones of the parts examined and chosen."""
    base = places.share("data")
    found = [v.lines for v in verses.load(base / "verses" / "test.tsv")]
    for path in (base / "verses" / "train.tsv", base / "fit" / "verses.tsv"):
        found += [v.lines for v in verses.load(path) if part("".join(v.lines)) != "fitted"]
    return found


def voiced(lines: list[str]) -> list[str]:
    """Lines of court verse with voicing marks, as the ear hears them: in waka the dictionary adds next to nothing."""
    heard = hearing.heard(builder.build("".join(lines)), verse_forms.form("tanka"), standard(), math.inf)
    kana, ends = heard.chain.best(1)[0].kana, [0, *itertools.accumulate(map(len, lines))]
    return [kana[a:b] for a, b in itertools.pairwise(ends)]


def texts(folder: Path, read: bool) -> Iterator[tuple[str, str, list[str]]]:
    for row in rows(folder / "verse" / "waka_8c.tsv"):
        yield "oldest", part(row["kana"].replace("/", "")), [clean(line) for line in row["kana"].split("/")]
    for row in rows(folder / "verse" / "waka_10c.tsv"):
        lines = row["kana"].split("/")
        own = part("".join(lines))
        yield "court", own, voiced(lines) if read else lines
    near = Near(kept_hokku())
    for row in rows(folder / "verse" / "hokku_printed.tsv") if read else ():
        own = part(clean(row["reading_true"] or row["reading_machine"]))
        if own != "examined":
            try:
                first = solve(clean(row["text"]), "hokku", 1).readings[0]
            except TextError:  # a sign that the print lacked (〓)
                continue
            if first.morae == (5, 7, 5) and not near(first.lines):
                yield "hokku", own, list(first.lines)
    for row in rows(folder / "prose" / "kana_sentences.tsv.gz"):
        yield "prose", part(clean(row["kana"])), [clean(x) for x in row["kana"].split("、")]


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--read", action="store_true")
    given = parser.parse_args()
    with gzip.open(given.out, "wt", encoding="utf-8") as out:
        for source, which, lines in texts(given.folder, given.read):
            out.write(f"{source}\t{which}\t{'/'.join(lines)}\n")
