"""Make ``readaid/lexicon/kanji_runs.tsv`` from texts whose kanji stand beside their kana.

    python data/fit/kanji_runs.py FOLDER [--without examined] [--out FILE]

Runs of kanji are aligned with their kana by the kana between them; longer runs are cut into pieces by likelihood
(each round
counts the pieces that the last round's counts make likeliest). What follows a run as okurigana is told by the
dictionary:
a verb or adjective of that writing and that reading. Readings printed in today's spelling count for the old spelling
that
others have. Words from memory (``old_readings.tsv``, ``vocabulary.tsv``) and of the tables of ``script`` are added
with small counts.
"""

import argparse
import math
from collections import Counter, defaultdict
from functools import cache
from pathlib import Path

from texts import aligned  # the script beside this one

from readaid.lexicon import dictionary, kanji_runs
from readaid.script import kana as letters
from readaid.script import season_words, spelling, subjects, voicing
from readaid.script.old_words import WORDS

HERE = Path(__file__).resolve().parent
#: How much one text counts, by source.
WEIGHT = {"oldest": 3.0, "hokku": 4.0, "prose": 1.0}
ROUNDS = 4
#: Kana that end a form of a verb or adjective.
ENDINGS = "かきくけこさしすせそたちつてとはひふへまみむめもらりるれろがぎぐげばびぶべいうえゐゑ"
HEADER = """\
# Readings of runs of kanji in verse and prose, historical spelling, with weighted counts. Facts drawn from: an
# edition of the oldest anthology with its reading (silloi/manyoshu), hokku with printed readings and prose in
# historical kana (aozorahack/aozorabunko_text, commit 0984f7dc18a2; public domain by age), the first fifty of the
# Hundred Poets (tomari/ogura-hyakunin-isshu, Unlicense), and words from memory (data/fit/old_readings.tsv,
# vocabulary.tsv) and of the pillow words. Texts left out for examination are not counted. Longer runs were cut into
# pieces by likelihood. Made by data/fit/kanji_runs.py. written: kanji, with the okurigana that belong to them; full:
# it stands for just these kana; bare: it would, were okurigana left out (verbs and adjectives of the dictionary);
# heard: how often these kana were met at all, within other words too; alone: how often of ``full`` no other kanji
# stood beside it.
written\tkana\tfull\tbare\theard\talone
"""
Pairs = tuple[tuple[str, str], ...]


@cache
def _entries(written: str) -> tuple[tuple[str, str], ...]:
    return tuple((e.part.split(",")[0], letters.to_hiragana(e.kana or ""))
                 for e in dictionary.opened().look_up(written))


@cache
def inflected(written: str, kana: str, tail: str) -> bool:
    """Is this a form of a verb or adjective, with these okurigana?"""
    said = (kana + tail, spelling.modern(kana + tail))
    return any(kind in ("動詞", "形容詞", "形状詞") and read in said for kind, read in _entries(written + tail))


def pieces(runs: Counter[tuple[str, str]]) -> dict[tuple[str, str], Pairs]:
    """Each run with its reading cut into pieces of likely readings."""
    counts: Counter[tuple[str, str]] = Counter({k: n for k, n in runs.items() if len(k[0]) == 1})
    cut: dict[tuple[str, str], Pairs] = {}
    for _ in range(ROUNDS):
        total: Counter[str] = Counter()
        for (written, _), n in counts.items():
            total[written] += n

        def log(written: str, kana: str, counts: Counter[tuple[str, str]] = counts,
                total: Counter[str] = total) -> float:
            n = counts.get((written, kana), 0.0)
            n = n or 0.3 * counts.get((written, voicing.plain(kana[0]) + kana[1:]), 0.0)
            return math.log(n / (total[written] + 5)) if n > 0 else -9 - 1.5 * abs(len(kana) - 1.8 * len(written))

        fresh: Counter[tuple[str, str]] = Counter()
        for (written, kana), n in runs.items():
            cut[written, kana] = found = _cut(written, kana, log) if len(written) > 1 else ((written, kana),)
            for pair in found:
                fresh[pair] += n
        counts = fresh
    return cut


def _cut(written: str, kana: str, log) -> Pairs:
    best: dict[tuple[int, int], tuple[float, Pairs]] = {(0, 0): (0.0, ())}
    for i in range(len(written)):
        for j in range(len(kana) + 1):
            if (i, j) not in best:
                continue
            score, before = best[i, j]
            for wide in range(1, min(4, len(written) - i) + 1):
                for long in range(1, min(5 if wide == 1 else 3 * wide, len(kana) - j) + 1):
                    pair = written[i:i + wide], kana[j:j + long]
                    if "々" in pair[0] and wide == 1:
                        continue
                    told = score + log(*pair) - 2.0 * (wide - 1)
                    if (i + wide, j + long) not in best or told > best[i + wide, j + long][0]:
                        best[i + wide, j + long] = told, (*before, pair)
    return best.get((len(written), len(kana)), (0.0, ((written, kana),)))[1]


class Counts:
    """``full`` and ``bare`` counts while they are gathered."""

    def __init__(self) -> None:
        self.full: Counter[tuple[str, str]] = Counter()
        self.alone: Counter[tuple[str, str]] = Counter()
        self.bare: Counter[tuple[str, str]] = Counter()
        self.followed: Counter[tuple[str, str]] = Counter()
        self.whole: Counter[tuple[str, str]] = Counter()
        self.printed: Counter[tuple[str, str]] = Counter()

    def add(self, source: str, found: Pairs, run: tuple[str, str], tail: str) -> None:
        weight = WEIGHT[source]
        if source == "hokku":
            self.printed.update(dict.fromkeys(found, weight))
        for pair in found[:-1]:
            self.full[pair] += weight
        written, kana = found[-1]
        fits = [n for n in (1, 2) if len(tail) >= n and inflected(written, kana, tail[:n])]
        if len(found) == 1:
            own = tail[:fits[-1]] if fits else ""
            self.alone[written + own, kana + own] += weight
        if fits:
            self.full[written + tail[:fits[-1]], kana + tail[:fits[-1]]] += weight
            for n in fits:
                self.bare[written, kana + tail[:n]] += weight
        else:
            (self.followed if tail else self.full)[written, kana] += weight
        if len(found) > 1:
            self.whole[run] += weight
            both = "".join(w for w, _ in found[-2:]), "".join(k for _, k in found[-2:])
            for n in (1, 2):
                if len(tail) >= n and inflected(*both, tail[:n]):
                    self.bare[both[0], both[1] + tail[:n]] += weight

    def finish(self) -> None:
        stems: Counter[tuple[str, str]] = Counter()
        for (written, kana), n in list(self.bare.items()):
            stems[written, kana[:-1]] += n
        for (written, stem), n in stems.items():  # forms that no text happened to hold, at a small count
            for k in ENDINGS:
                if (written, stem + k) not in self.bare and inflected(written, stem, k):
                    self.bare[written, stem + k] += 0.02 * n
                    self.full[written + k, stem + k] += 0.02 * n
        # Kana after a stem are okurigana even where the dictionary does not know them: 散 is not read ち.
        for pair, n in self.followed.items():
            self.full[pair] += n * (0.03 if stems[pair] >= 0.5 * n else 1.0)
        self._misfits()
        self._old_spelling()
        self._doubled()
        for written, kana, n in listed():
            self.full[written, kana] += n
            self.alone[written, kana] += n

    def _misfits(self) -> None:
        """A seldom reading that is a common one with something beside it (りみず of 水) is a slip of aligning."""
        common: dict[str, list[tuple[float, str]]] = defaultdict(list)
        for (written, kana), n in self.full.items():
            common[written].append((n + self.bare[written, kana], kana))
        for (written, kana), n in list(self.full.items()):
            longer = any(m >= 10 * n and len(o) < len(kana) and (kana.endswith(o) or kana.startswith(o))
                         for m, o in common[written])
            if longer and not self.bare[written, kana]:
                self.full[written, kana] = 0.0

    def _old_spelling(self) -> None:
        """Printed readings in today's spelling count for the old one that other texts have, or that the norm has."""
        others: dict[str, set[str]] = defaultdict(set)
        for written, kana in (*self.full, *self.bare):
            others[written].add(kana)
        for (written, kana), n in self.printed.items():
            if spelling.modern(kana) != kana:
                continue
            found = [(max(self.full[written, o] + self.bare[written, o] - self.printed[written, o], 0.0), o)
                     for o in others[written] if o != kana and spelling.modern(o) == kana]
            best = max(found, default=(0.0, spelling.norm(kana, written) or kana))
            own = self.full[written, kana] - n
            if best[1] != kana and best[0] >= own:
                moved = min(n, self.full[written, kana])
                self.full[written, kana] -= moved
                self.full[written, best[1]] += moved

    def _doubled(self) -> None:
        """人々 is ひとびと: the texts write the repetition without its voicing mark, the dictionary knows it."""
        for (written, kana), n in list(self.full.items()):
            half = kana[:len(kana) // 2]
            if written[1:] == "々" and kana == half * 2 and half:
                voiced = half + voicing.VOICED.get(half[0], half[0]) + half[1:]
                if any(read == spelling.modern(voiced) for _, read in _entries(written)):
                    self.full[written, voiced] += n
                    self.full[written, kana] = 0.0


def listed():
    """Words of our own lists: (written, kana, count)."""
    seen = set()
    for path, w, k, n in (("old_readings.tsv", 0, 1, 6.0), ("vocabulary.tsv", 1, 0, 4.0)):
        rows = [line.split("\t") for line in (HERE / path).read_text(encoding="utf-8").splitlines()
                if line and not line.startswith("#")]
        seen.update((r[w], r[k], n) for r in rows[1:] if len(r) > max(w, k))
    seen.update((word.kanji, word.kana, 4.0) for word in season_words.WORDS)
    seen.update((written, word.kana, 6.0) for word in subjects.PILLOW_WORDS for written in word.kanji)
    seen.update((word.kanji, word.historical, 2.0) for word in WORDS if word.kind == "word")
    best: dict[tuple[str, str], float] = {}
    for written, kana, n in sorted(seen):
        if written and not all(map(letters.is_hiragana, written)) and kana and all(map(letters.is_hiragana, kana)):
            best[written, kana] = max(n, best.get((written, kana), 0.0))
    return [(w, k, n) for (w, k), n in best.items()]


def heard(texts: list[tuple[str, tuple[tuple[bool, str, str], ...]]], wanted: set[str]) -> Counter[str]:
    """How often strings of kana stand in the texts, anywhere."""
    out: Counter[str] = Counter()
    longest = max(map(len, wanted), default=0)
    for source, runs in texts:
        kana = "".join(k for _, _, k in runs)
        for start in range(len(kana)):
            for end in range(start + 1, min(len(kana), start + longest) + 1):
                if kana[start:end] in wanted:
                    out[kana[start:end]] += WEIGHT[source]
    return out


def counted(folder: Path, without: set[str]) -> tuple[Counts, list[tuple[str, tuple[tuple[bool, str, str], ...]]]]:
    texts = [(source, runs) for source, which, runs in aligned(folder) if which not in without]
    runs: Counter[tuple[str, str]] = Counter()
    for source, found in texts:
        for kanji, written, kana in found:
            if kanji and all(map(letters.is_hiragana, kana)):
                runs[written, kana] += WEIGHT[source]
    cut = pieces(runs)
    out = Counts()
    for source, found in texts:
        for n, (kanji, written, kana) in enumerate(found):
            if kanji and (written, kana) in cut:
                out.add(source, cut[written, kana], (written, kana), found[n + 1][1] if n + 1 < len(found) else "")
    out.finish()
    return out, texts


def rows(counts: Counts) -> list[tuple[str, str, float, float, float]]:
    out = []
    for written, kana in {*counts.full, *counts.bare}:
        full, bare = counts.full[written, kana], counts.bare[written, kana]
        kanji = sum(not letters.is_hiragana(c) for c in written)
        enough = full >= 2 or bare >= 0.2 or (full >= 1 and kanji > 1) or (full >= 0.1 and len(written) > kanji)
        if enough and len(written) <= kanji_runs.LONGEST and len(kana) <= 12 and all(map(letters.is_hiragana, kana)):
            out.append((written, kana, full, bare, min(full, counts.alone[written, kana])))
    known = {(w, k) for w, k, *_ in out}
    out += [(w, k, n / 2, 0.0, n / 2) for (w, k), n in counts.whole.items()
            if n >= 3 and len(w) < kanji_runs.LONGEST and (w, k) not in known and all(map(letters.is_hiragana, k))]
    return sorted(out)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--without", nargs="*", default=["examined"])
    parser.add_argument("--out", type=Path, default=kanji_runs.TABLE)
    given = parser.parse_args()
    counts, texts = counted(given.folder, set(given.without))
    found = rows(counts)
    said = heard(texts, {k for _, k, *_ in found})
    told = ("\t".join((w, k, *(f"{n:.2f}".rstrip("0").rstrip(".") for n in (a, b, said[k], c))))
            for w, k, a, b, c in found)
    given.out.write_text(HEADER + "\n".join(told) + "\n", encoding="utf-8")
    print(len(found), "rows")
